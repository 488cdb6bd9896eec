"""A running review page and a real browser on it, for the tests, the benchmarks and the pictures of the docs."""

from __future__ import annotations

import queue
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from playwright.sync_api import Browser, Page, expect, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "samples"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
NO_CHROMIUM = "no Chromium on this machine (Debian package chromium)"

ARGUMENTS = [
    "--no-sandbox",  # a container's root may not start Chromium otherwise
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
START_S = 120
expect.set_options(timeout=30_000)  # milliseconds: many tests may share few cores
DESK = {"width": 1280, "height": 800}
PHONE = {"width": 390, "height": 844}


def copy_of(sample: str, folder: Path) -> Path:
    """The sample's job file in `folder`, its drawing beside it."""
    for ending in ("dxf", "toml"):
        shutil.copy(SAMPLES / f"{sample}.{ending}", folder)
    return folder / f"{sample}.toml"


@contextmanager
def served(*named: Path | str) -> Iterator[str]:
    """`takeoff review` running on what is named; gives the address it prints."""
    command = [sys.executable, "-m", "takeoff", "review", *map(str, named), "--no-open"]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT, "text": True}
    with subprocess.Popen(command, cwd=ROOT, **pipes) as process:
        try:
            yield _address(process.stdout)
        finally:
            process.terminate()
            process.wait(20)


def _address(output: IO[str] | None) -> str:
    """What follows "Review page: " on the program's output, which is read on lest it fill up."""
    assert output is not None
    lines: queue.Queue[str] = queue.Queue()
    threading.Thread(target=lambda: [lines.put(line) for line in output], daemon=True).start()
    said = ""
    while "http://" not in said:
        said = lines.get(timeout=START_S)
    return said[said.index("http://") :].strip()


@contextmanager
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield chromium
        chromium.close()


def shown(page: Page, address: str) -> None:
    """Goes to the page and waits until the plan is drawn."""
    page.goto(address)
    page.locator(".plan canvas").wait_for(timeout=START_S * 1000)
    until(page, "performance.getEntriesByName('takeoff-lines-drawn').length > 0")


def until(page: Page, expression: str) -> None:
    """Waits until `expression` holds on the page. (The driver's own way of waiting evaluates text inside the page,
    which the page's content security policy forbids, rightly.)"""
    end = time.monotonic() + START_S
    while not page.evaluate(expression):
        assert time.monotonic() < end, f"never came true: {expression}"
        page.wait_for_timeout(20)
