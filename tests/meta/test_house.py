"""The house keeps its own rules: what is public, what is loaded when, what is made from what."""

from __future__ import annotations

import re
import subprocess
import sys
import zipfile

import rwtools


def test_the_public_surface_is_pinned():
    assert rwtools.__all__ == sorted(rwtools.__all__)
    for name in rwtools.__all__:
        assert getattr(rwtools, name) is not None
    assert set(rwtools._HOME) == set(rwtools.__all__)


def test_help_loads_no_heavy_library():
    code = (
        "import sys\n"
        "from rwtools.cli.app import app\n"
        "try:\n    app(['--help'], standalone_mode=False)\nexcept SystemExit:\n    pass\n"
        "heavy = {'spacy', 'sklearn', 'onnxruntime', 'numpy', 'polars', 'matplotlib', 'pydantic'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_importing_the_package_loads_no_room():
    code = "import sys, rwtools; print([m for m in sys.modules if m.startswith('rwtools.')])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_made_files_are_up_to_date(root):
    done = subprocess.run(
        [sys.executable, "scripts/build_shared.py", "--check"],
        cwd=root,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_readme_names_every_command_and_the_cautions(root):
    from rwtools.cli import app

    readme = (root / "README.md").read_text()
    import typer

    for name in typer.main.get_command(app).commands:
        assert f"`rwtools {name}" in readme
    words = " ".join(readme.lower().split())
    for caution in ("practice aid", "not affiliated", "not official scores", "sleep"):
        assert caution in words


def test_lock_files_have_hashes_and_no_addresses(root):
    for name in ("requirements.lock", "requirements-dev.lock"):
        text = (root / name).read_text()
        assert "--hash=sha256:" in text
        assert "://" not in text
        assert "index-url" not in text
        for entry in re.split(r"\n(?=\S)", text.strip()):
            assert "--hash=" in entry, entry[:60]


def test_no_pickle_is_shipped(root):
    files = [p for p in (root / "models").rglob("*") if p.is_file() and p.suffix != ".pyc"]
    assert len(files) > 20
    for path in files:
        assert path.suffix not in {".pkl", ".pickle", ".joblib", ".pt"}
        with path.open("rb") as stream:
            start = stream.read(2)
        assert not (start[:1] == b"\x80" and start[1:] in b"\x02\x03\x04\x05"), path
        if path.suffix == ".npz":
            assert not any(name.endswith(".pkl") for name in zipfile.ZipFile(path).namelist())
