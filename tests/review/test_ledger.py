"""The job file's history: nothing lost by undo, by a second writer, by an editor or by a crash."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.errors import JobError, OutputError
from takeoff.review.ledger import OUTSIDE, Ledger, Stale

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_bytes(b"# as found\r\n[heights]\ndefault = 2.4")
    return path


def test_write_undo_redo(job: Path) -> None:
    ledger = Ledger(job)
    first = job.read_bytes()
    assert (ledger.version, ledger.can_undo, ledger.can_redo) == (1, None, None)
    assert ledger.write(1, "a = 1\n", "One") == 2
    assert ledger.write(2, "a = 2\n", "Two") == 3
    assert (ledger.can_undo, ledger.can_redo) == ("Two", None)
    assert ledger.undo(3) == 4
    assert job.read_bytes() == b"a = 1\n" and (ledger.can_undo, ledger.can_redo) == ("One", "Two")
    assert ledger.undo(4) == 5 and job.read_bytes() == first and ledger.can_undo is None
    assert ledger.redo(5) == 6 and ledger.text == "a = 1\n"
    assert ledger.write(6, "a = 3\n", "Three") == 7 and ledger.can_redo is None
    with pytest.raises(JobError):
        ledger.redo(7)


def test_the_history_outlives_the_session(job: Path) -> None:
    first = job.read_bytes()
    Ledger(job).write(1, "a = 1\n", "One")
    again = Ledger(job)
    assert again.can_undo == "One"
    again.undo(again.version)
    assert job.read_bytes() == first


def test_a_stale_writer_is_refused_and_writes_nothing(job: Path) -> None:
    one, two = Ledger(job), Ledger(job)
    one.write(1, "a = 1\n", "One")
    with pytest.raises(Stale) as stale:
        two.write(1, "b = 1\n", "Other")
    assert stale.value.version == 2 and job.read_bytes() == b"a = 1\n"
    for step in (two.undo, two.redo):
        with pytest.raises(Stale):
            step(1)


def test_an_edit_from_outside_is_adopted_and_can_be_undone(job: Path) -> None:
    ledger = Ledger(job)
    ledger.write(1, "a = 1\n", "One")
    job.write_text("a = 'by hand'\n")
    with pytest.raises(Stale) as stale:
        ledger.write(2, "a = 2\n", "Two")
    assert stale.value.version == 3
    assert (ledger.version, ledger.text, ledger.can_undo) == (3, "a = 'by hand'\n", OUTSIDE)
    ledger.undo(3)
    assert job.read_bytes() == b"a = 1\n"


def test_the_same_text_is_no_step(job: Path) -> None:
    ledger = Ledger(job)
    assert ledger.write(1, "a = 1\n", "One") == ledger.write(2, "a = 1\n", "Again") == 2
    assert ledger.can_undo == "One"


def test_permissions_and_links_stay(job: Path, tmp_path: Path) -> None:
    job.chmod(0o600)
    link = tmp_path / "link.toml"
    link.symlink_to(job)
    Ledger(link).write(1, "a = 1\n", "One")
    assert link.is_symlink() and job.read_text() == "a = 1\n" and job.stat().st_mode & 0o777 == 0o600


def test_faults_are_told(job: Path, tmp_path: Path) -> None:
    with pytest.raises(JobError, match="Cannot read"):
        Ledger(tmp_path / "none.toml")
    assert not (tmp_path / "none.toml.undo").exists()
    with pytest.raises(JobError, match="there already"):
        Ledger.start(job, "")
    assert Ledger.start(tmp_path / "new.toml", "x = 1\n").text == "x = 1\n"
    with pytest.raises(OutputError):
        Ledger.start(tmp_path / "no" / "folder.toml", "")
    (tmp_path / "job.toml.undo").write_bytes(b"not a history" * 100)
    with pytest.raises(JobError, match="the job file is whole"):
        Ledger(job)


def test_a_file_that_cannot_be_written_leaves_the_history_as_it_was(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ledger = Ledger(job)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", full)
        with pytest.raises(OutputError):
            ledger.write(1, "a = 1\n", "One")
    assert (ledger.version, ledger.can_undo, ledger.can_redo) == (1, None, None)


_steps = st.lists(
    st.one_of(
        st.tuples(st.sampled_from(["write", "edit"]), st.binary(max_size=12).map(lambda b: b.hex())),
        st.tuples(st.sampled_from(["undo", "redo"]), st.just("")),
    ),
    max_size=12,
)


@settings(max_examples=40, deadline=None)
@given(_steps)
def test_undo_after_any_steps_gives_every_state_back(steps: list[tuple[str, str]]) -> None:
    """Against a list of states kept in memory."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job.toml"
        job.write_bytes(b"first\r\n\r\n")
        ledger, states, at = Ledger(job), [job.read_bytes()], 0
        for what, text in steps:
            if what in ("write", "edit"):
                if what == "write":
                    ledger.write(ledger.version, text, "w")
                else:
                    job.write_text(text)
                if text.encode() != states[at]:
                    states[at + 1 :] = [text.encode()]
                    at += 1
                ledger.look()
            elif 0 <= at + (-1 if what == "undo" else 1) < len(states):
                getattr(ledger, what)(ledger.version)
                at += -1 if what == "undo" else 1
            assert job.read_bytes() == states[at]
        while ledger.can_undo:
            ledger.undo(ledger.version)
            at -= 1
            assert job.read_bytes() == states[at]
        assert at == 0 and job.read_bytes() == b"first\r\n\r\n"


_COUNTING = """
import sys
from pathlib import Path
from takeoff.review.ledger import Ledger, Stale
ledger, done = Ledger(Path(sys.argv[1])), 0
while done < int(sys.argv[2]):
    state = ledger.look()
    try:
        ledger.write(state.version, str(int(state.text) + 1), "one more")
    except Stale:
        continue
    done += 1
"""


def _started(program: str, *words: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, "-c", program, *words], cwd=ROOT, stdout=subprocess.PIPE)


def test_two_processes_lose_no_update(tmp_path: Path) -> None:
    job = tmp_path / "count.toml"
    job.write_text("0")
    running = [_started(_COUNTING, str(job), "40") for _ in range(2)]
    assert [p.wait(120) for p in running] == [0, 0]
    assert job.read_text() == "80" and Ledger(job).version == 81


_WRITING = """
import sys
from pathlib import Path
from takeoff.review.ledger import Ledger
ledger = Ledger(Path(sys.argv[1]))
n = 0
while True:
    n += 1
    version = ledger.write(ledger.version, f"{n} " * 100_000, "long")
    print(n, version, flush=True)
"""


@pytest.mark.skipif(os.name != "posix", reason="needs SIGKILL")
def test_a_kill_in_mid_write_leaves_the_old_or_the_new(tmp_path: Path) -> None:
    for round_number in range(6):
        job = tmp_path / f"job{round_number}.toml"
        job.write_text("0 ")
        running = _started(_WRITING, str(job))
        assert running.stdout is not None
        running.stdout.readline()
        time.sleep(0.013 * (round_number + 1))
        running.send_signal(signal.SIGKILL)
        told = [line for line in running.stdout.read().splitlines() if line]
        running.wait()
        numbers = job.read_text().split()
        assert len(numbers) == 100_000 and len(set(numbers)) == 1, "half a file"
        last = int(told[-1].split()[0]) if told else 1
        assert last <= int(numbers[0]) <= last + 1, "what was told to be written is there"
        ledger = Ledger(job)
        assert ledger.text.split()[0] == numbers[0]
        ledger.undo(ledger.version)
        assert int(ledger.text.split()[0]) == int(numbers[0]) - 1
