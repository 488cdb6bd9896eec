"""The command as a person runs it: a real server on a real port of this machine."""

from __future__ import annotations

import contextlib
import http.client
import json
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from takeoff.cli import main
from takeoff.errors import TakeoffError
from takeoff.review.begin import begun
from tests.review.conftest import SAMPLES

ROOT = SAMPLES.parent


class Running:
    """`takeoff review` in a process of its own."""

    def __init__(self, *args: str, cwd: Path) -> None:
        command = [sys.executable, "-m", "takeoff", "review", "--no-open", *args]
        self.process = subprocess.Popen(
            command, cwd=cwd, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={"PYTHONPATH": str(ROOT)}
        )
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:(\d+)/#key=(\S+)", line)
        assert found, line + self.process.communicate(timeout=20)[1]
        self.port, self.key = int(found[1]), found[2]

    def get(self, path: str, **headers: str) -> tuple[int, bytes]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        connection.request("GET", path, headers={"X-Takeoff-Key": self.key, **headers})
        answer = connection.getresponse()
        return answer.status, answer.read()


@contextlib.contextmanager
def running(*args: str, cwd: Path) -> Iterator[Running]:
    program = Running(*args, cwd=cwd)
    try:
        yield program
    finally:
        program.process.kill()
        program.process.communicate()


def test_it_serves_this_machine_alone_and_ends_cleanly(folder: Path) -> None:
    with running("upstairs_flat.toml", cwd=folder) as program:
        end = time.monotonic() + 60
        while not json.loads(program.get("/api/state")[1])["has_drawing"]:
            assert time.monotonic() < end
            time.sleep(0.1)
        status, rooms = program.get("/api/rooms")
        assert status == 200 and json.loads(rooms)["rooms"]
        assert program.get("/api/rooms", Host="rebound.example")[0] == 403
        assert program.get("/api/rooms", **{"X-Takeoff-Key": "guessed"})[0] == 401
        for address in {row[4][0] for row in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}:
            if not address.startswith("127."):
                with pytest.raises(OSError), socket.create_connection((address, program.port), timeout=2):
                    pass
        mark = json.loads(program.get("/api/state")[1])["mark"]
        waiting = http.client.HTTPConnection("127.0.0.1", program.port, timeout=60)
        waiting.request("GET", f"/api/state?after={mark}", headers={"X-Takeoff-Key": program.key})
        time.sleep(0.3)
        start = time.monotonic()
        program.process.send_signal(signal.SIGINT)
        out, err = program.process.communicate(timeout=20)
        assert program.process.returncode == 0
        assert time.monotonic() - start < 10
        assert "Traceback" not in err and "Ended." in out


def test_a_port_that_is_taken_is_told(folder: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        done = CliRunner().invoke(main, ["review", str(folder / "upstairs_flat.toml"), "--no-open", "--port", port])
    assert done.exit_code == 1
    assert f"Port {port} cannot be used" in done.output


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["not-there.toml"], "There is no file"),
        (["."], "is a folder"),
        (["broken.toml"], "broken.toml"),
    ],
)
def test_what_cannot_be_reviewed_is_told(
    args: list[str], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("broken.toml").write_text("[rooms\n")
    done = CliRunner().invoke(main, ["review", "--no-open", *args])
    assert done.exit_code == 1 and says in done.output


def test_a_drawing_gets_the_job_file_beside_it(folder: Path) -> None:
    session = begun(folder / "upstairs_flat.dxf", Path())
    assert session.job_file == (folder / "upstairs_flat.toml").resolve()


def test_a_drawing_without_a_job_file_begins_one(tmp_path: Path) -> None:
    shutil.copy(SAMPLES / "upstairs_flat.dxf", tmp_path)
    (tmp_path / "upstairs_flat.toml").write_text('[drawing]\nfile = "another.dxf"\n')
    session = begun(tmp_path / "upstairs_flat.dxf", Path())
    assert session.job_file is not None and session.job_file.name == "upstairs_flat 2.toml"
    session.look()
    assert session.shown is not None and session.fault is None
    assert "another" in (tmp_path / "upstairs_flat.toml").read_text()


def test_begun_without_a_name_waits_for_a_drawing(tmp_path: Path) -> None:
    session = begun(None, tmp_path)
    assert (session.job_file, session.folder) == (None, tmp_path)
    with pytest.raises(TakeoffError):
        begun(tmp_path / "no.dxf", tmp_path)
