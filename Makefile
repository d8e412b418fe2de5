# Two commands need nothing but Python 3.11+, make and a package index: `make demo`, `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
export PIP_DISABLE_PIP_VERSION_CHECK = 1
export OMP_NUM_THREADS ?= 2

.PHONY: demo test check format lint types layers bench shared screenshots clean

demo: $(VENV)/.runtime
	$(BIN)/rwtools hint corpus/passages/tide-mill.txt

test: $(VENV)/.develop
	$(BIN)/pytest -n 2 --dist loadgroup

check: $(VENV)/.develop format lint types layers test

format: $(VENV)/.develop
	$(BIN)/ruff format --check .

lint: $(VENV)/.develop
	$(BIN)/ruff check .

types: $(VENV)/.develop
	$(BIN)/mypy

layers: $(VENV)/.develop
	$(BIN)/lint-imports

bench: $(VENV)/.develop
	$(BIN)/pytest tests/benchmarks --benchmark-enable --benchmark-only -p no:xdist

shared: $(VENV)/.develop
	$(BIN)/python scripts/build_shared.py

screenshots: $(VENV)/.develop
	$(BIN)/python scripts/screenshots.py

$(VENV)/bin/python:
	$(PYTHON) -c 'import sys; sys.exit("rwtools needs Python 3.11 or newer" if sys.version_info < (3, 11) else 0)'
	$(PYTHON) -m venv $(VENV)

# The locked packages, hashes required; then rwtools itself, which needs its build tool only.
$(VENV)/.runtime: requirements.lock pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install -q --require-hashes -r requirements.lock
	$(BIN)/python -m pip install -q --no-deps -e .
	touch $@

$(VENV)/.develop: requirements-dev.lock $(VENV)/.runtime
	$(BIN)/python -m pip install -q --require-hashes -r requirements-dev.lock
	touch $@

clean:
	rm -rf $(VENV) dist build .pytest_cache .mypy_cache .ruff_cache .hypothesis
