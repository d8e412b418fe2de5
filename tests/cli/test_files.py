"""Files, pipes and interrupts, for all commands: one clear line, the right status, nothing lost."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from types import SimpleNamespace

import pytest

from rwtools import lines
from rwtools.cli.app import main
from rwtools.cli.files import BadLines, check_not_input, count_lines, json_lines, write_whole
from rwtools.drills.spread import processes
from rwtools.errors import ArtifactError, InputError, UnreadableFileError, WorkerError

ITEM = {
    "id": "a1",
    "skill": "grammar",
    "passage": "The boats ____ late.",
    "question": "Which form fits?",
    "choices": ["are", "is"],
    "answer": "A",
}


@pytest.fixture
def run(monkeypatch, capsys):
    """The command in this process: its status, output and errors."""

    def go(*arguments):
        monkeypatch.setattr(sys, "argv", ["rwtools", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            main()
        told = capsys.readouterr()
        assert "Traceback" not in told.err
        return SimpleNamespace(status=end.value.code, out=told.out, err=told.err.splitlines())

    return go


@pytest.fixture
def command(tmp_path, root):
    """The arguments of each command that reads a batch, for a file to be read."""
    answers = root / "corpus" / "drills" / "answers.csv"
    return {
        "solve": lambda file: ["solve", file],
        "solve on two processes": lambda file: ["solve", file, "--jobs", "2"],
        "vet": lambda file: ["vet", file],
        "vet on two processes": lambda file: ["vet", file, "--jobs", "2"],
        "hint": lambda file: ["hint", "--batch", file],
        "make": lambda file: ["make", file, "-o", tmp_path / "made.jsonl"],
        "grade": lambda file: ["grade", file, answers, "--quick"],
    }


COMMANDS = [
    "solve",
    "solve on two processes",
    "vet",
    "vet on two processes",
    "hint",
    "make",
    "grade",
]


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize(
    ("content", "why"),
    [
        (None, "there is no such file"),
        (b"", "there is no "),
        (b" \n\n", "there is no "),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\n" * 40, "this is not a text file"),
        (bytes(range(1, 256)) * 30, "this is not a text file"),
        ('{"id": "a"}\n'.encode("utf-16"), "this is UTF-16 text; save it as UTF-8"),
    ],
)
def test_a_file_that_is_no_batch_gets_one_line(run, command, tmp_path, name, content, why):
    path = tmp_path / "batch.jsonl"
    if content is not None:
        path.write_bytes(content)
    done = run(*command[name](path))
    assert (done.status, done.out, len(done.err)) == (2, "", 1)
    assert done.err[0].startswith(f"rwtools: {path}: {why}")
    assert not (tmp_path / "made.jsonl").exists()


@pytest.mark.parametrize("name", [name for name in COMMANDS if name != "make"])
def test_a_folder_is_no_batch(run, command, tmp_path, name):
    done = run(*command[name](tmp_path))
    assert (done.status, done.out) == (2, "")
    assert done.err == [f"rwtools: {tmp_path}: this is a folder, not a file"]


@pytest.mark.parametrize("name", COMMANDS)
def test_an_empty_name(run, command, name):
    done = run(*command[name](""))
    assert (done.status, done.out, len(done.err)) == (2, "", 1)


@pytest.mark.parametrize(("bad", "told"), [(3, 3), (20, 20), (21, 21), (400, 21)])
def test_of_many_bad_lines_the_first_are_named_and_the_rest_counted(run, tmp_path, bad, told):
    path = tmp_path / "items.jsonl"
    path.write_text("no json here\n" * bad)
    for name in ("vet", "solve"):
        done = run(name, path)
        assert done.status == 2
        assert len(done.err) == told
        assert done.err[0].startswith(f"rwtools: {path}, line 1: this line is not JSON")
        if bad > 20:
            more = "1 more bad line" if bad == 21 else "380 more bad lines"
            assert done.err[-1] == f"rwtools: {more}"
    assert run("vet", path).out.startswith(
        f"{bad} lines: 0 items with problems, {bad} that are no item"
    )
    done = run("hint", "--batch", path)
    assert (done.status, done.out, len(done.err)) == (2, "", told)
    done = run("make", path, "-o", tmp_path / "o.jsonl")
    assert (done.status, len(done.err)) == (2, told + 1)
    assert "no usable passage" in done.err[-1]


def test_good_lines_among_bad_ones_are_done(run, tmp_path):
    path = tmp_path / "batch.jsonl"
    good = [json.dumps({"id": n, "passage": "However, it rained."}) for n in range(2)]
    path.write_text("\n".join([good[0], *["oops"] * 30, good[1]]))
    done = run("hint", "--batch", path)
    assert done.status == 2
    assert [json.loads(line)["id"] for line in done.out.splitlines()] == [0, 1]
    assert done.err[-1] == "rwtools: 10 more bad lines"


def test_bad_lines_are_counted_beyond_those_shown(capsys):
    bad = BadLines()
    bad.end()
    for number in range(1_234):
        bad.tell(f"line {number}")
    bad.end()
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 21
    assert told[-1] == "rwtools: 1,214 more bad lines"


def test_a_line_beyond_all_measure_is_cut_and_the_next_is_read(tmp_path, monkeypatch):
    monkeypatch.setattr(lines, "LONGEST", 1000)
    path = tmp_path / "batch.jsonl"
    path.write_text('"' + "x" * 5000 + '"\n{"id": 1}\n')
    (first, error), (second, record) = json_lines(str(path))
    assert (first, second) == (1, 2)
    assert "longer than" in str(error)
    assert record == {"id": 1}


def test_counting_lines_uses_no_pipe_up(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    assert count_lines(str(tmp_path / "pipe")) is None
    assert count_lines(str(tmp_path / "none")) is None
    assert count_lines("-") is None
    (tmp_path / "two").write_text("a\nb\n")
    assert count_lines(str(tmp_path / "two")) == 2


# Output


def test_a_file_is_written_whole_or_not_at_all(tmp_path):
    path = tmp_path / "out.txt"
    path.write_text("old")
    with pytest.raises(ZeroDivisionError), write_whole(path) as stream:
        stream.write(str(1 / 0))
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["out.txt"]
    with write_whole(path) as stream:
        stream.write("new")
    assert path.read_text() == "new"


def test_a_link_stays_a_link_and_a_device_a_device(tmp_path):
    (tmp_path / "file").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "file")
    with write_whole(tmp_path / "link") as stream:
        stream.write("new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "file").read_text() == "new"
    with write_whole(os.devnull) as stream:
        stream.write("new")
    assert not os.path.isfile(os.devnull)


@pytest.mark.parametrize("name", ["no/out.txt", "file/out.txt", ".", "x" * 300])
def test_a_place_where_no_file_can_be(tmp_path, name):
    (tmp_path / "file").write_text("")
    with pytest.raises(UnreadableFileError, match="written"), write_whole(tmp_path / name):
        pass


def test_the_output_must_not_take_the_place_of_the_input(run, tmp_path):
    path = tmp_path / "passages.jsonl"
    path.write_text(json.dumps({"id": "a", "passage": "A mill."}))
    before = path.read_text()
    done = run("make", path, "-o", path)
    assert (done.status, len(done.err)) == (2, 1)
    assert path.read_text() == before
    with pytest.raises(InputError):
        check_not_input(f"{tmp_path}/./passages.jsonl", str(path))
    check_not_input(str(tmp_path / "other"), str(path))
    assert run("make", path, "-o", "-").status == 2


@pytest.mark.parametrize("place", ["file", "file/report", "x" * 300])
def test_a_report_that_cannot_be_written_is_told_before_the_work(run, root, tmp_path, place):
    (tmp_path / "file").write_text("")
    demo = root / "corpus" / "drills"
    done = run("grade", tmp_path / "none.jsonl", demo / "answers.csv", "--out", tmp_path / place)
    assert (done.status, len(done.err)) == (2, 1)
    assert str(tmp_path / place) in done.err[0]


# Processes, pipes and interrupts


def shell(script: str, *arguments: object) -> subprocess.CompletedProcess:
    command = ["bash", "-c", script, "bash", sys.executable, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full")
def test_a_full_disk_gets_one_line():
    done = shell('"$1" -m rwtools --help > /dev/full')
    assert done.returncode == 2
    assert done.stderr == "rwtools: writing failed (no space left on device)\n"


def test_a_reader_that_has_enough_ends_the_work_quietly(tmp_path):
    path = tmp_path / "items.jsonl"
    path.write_text("oops\n" * 20_000)
    done = shell('"$1" -m rwtools vet "$2" --json 2> "$3" | head -1; exit ${PIPESTATUS[0]}',
                 path, tmp_path / "errors")  # fmt: skip
    assert done.returncode == 0
    assert len(done.stdout.splitlines()) == 1
    assert "Error" not in (tmp_path / "errors").read_text()
    done = shell('"$1" -m rwtools hint - <<< "However, it rained." | true; exit ${PIPESTATUS[0]}')
    assert (done.returncode, done.stderr) == (0, "")


def test_streams_that_are_closed(tmp_path):
    for command in ("hint -", "hint", "vet -", "solve -", f"make - -o {tmp_path}/o"):
        done = shell(f'"$1" -m rwtools {command} <&-')
        assert done.returncode == 2, command
        assert len(done.stderr.splitlines()) == 1, command
    assert shell('"$1" -m rwtools hint - <<< "It rained." >&-').stderr == ""


def test_an_interrupt_ends_all_processes_with_one_line(tmp_path):
    path = tmp_path / "items.jsonl"
    path.write_text("".join(json.dumps({**ITEM, "id": str(n)}) + "\n" for n in range(2000)))
    command = [sys.executable, "-m", "rwtools", "solve", str(path), "--json", "--jobs", "2"]
    going = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        # Tests that run in the background are deaf to interrupts, and so would be their children.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509
    )
    time.sleep(3)
    os.killpg(going.pid, signal.SIGINT)
    _, told = going.communicate(timeout=20)
    assert going.returncode == 130
    assert told.decode() == "rwtools: stopped\n"
    for _ in range(50):  # the tracker of resources goes a moment after the rest
        if not _alive(going.pid):
            break
        time.sleep(0.1)
    assert not _alive(going.pid)


def _alive(group: int) -> list[str]:
    """The processes of a group that still run."""
    said = subprocess.run(["ps", "-eo", "pgid=,stat="], capture_output=True, text=True, check=True)
    rows = [row.split() for row in said.stdout.splitlines()]
    return [state for number, state in rows if int(number) == group and "Z" not in state]


def test_a_worker_that_dies_is_told():
    with pytest.raises(WorkerError, match="has died"), processes(2) as spread:
        list(spread(os._exit, [(3,)]))


def test_an_error_of_a_worker_comes_home_whole():
    import pickle

    error = pickle.loads(pickle.dumps(ArtifactError("a/b", "it is missing", "fetch it")))
    assert str(error) == "a/b: it is missing. To mend it: fetch it"
    assert error.rebuild == "fetch it"
