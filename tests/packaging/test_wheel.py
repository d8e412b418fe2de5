"""sdist -> wheel -> an empty environment -> `rwtools hint` from another folder."""

from __future__ import annotations

import json
import subprocess
import sys
import tarfile
import venv
import zipfile

import pytest


@pytest.mark.slow
@pytest.mark.xdist_group("packaging")
def test_the_wheel_works_outside_the_checkout(root, tmp_path):
    build = [sys.executable, "-m", "build", "--no-isolation"]
    # As from a release: the wheel is built from what the sdist holds, not from the checkout.
    subprocess.run([*build, "--sdist", "-o", tmp_path, root], check=True, capture_output=True)
    sdist = next(tmp_path.glob("*.tar.gz"))
    with tarfile.open(sdist) as archive:
        archive.extractall(tmp_path / "src", filter="data")
    source = next((tmp_path / "src").iterdir())
    subprocess.run([*build, "--wheel", "-o", tmp_path, source], check=True, capture_output=True)
    wheel = next(tmp_path.glob("*.whl"))

    names = zipfile.ZipFile(wheel).namelist()
    assert any(n.startswith("rwtools/_data/shared/rules/") for n in names)
    assert any(n.startswith("rwtools/_data/corpus/passages/") for n in names)
    assert not [n for n in names if n.startswith("rwtools/_data/models/") and n.endswith(".py")]

    home = tmp_path / "env"
    venv.create(home, with_pip=True)
    python = home / "bin" / "python"
    install = [python, "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    locked = ["--require-hashes", "-r", root / "requirements.lock"]
    subprocess.run([*install, *locked], check=True, capture_output=True)
    subprocess.run([*install, "--no-deps", wheel], check=True, capture_output=True)

    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    passage = "The pith, or soft core, is light; however, it is strong."
    done = subprocess.run(
        [home / "bin" / "rwtools", "hint", "-", "--json"],
        input=passage,
        cwd=elsewhere,
        capture_output=True,
        text=True,
        check=True,
    )
    clues = json.loads(done.stdout)["clues"]
    assert {"transition", "meaning"} <= {c["kind"] for c in clues}
