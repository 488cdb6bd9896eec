"""Every test has a job of its own, served by the program itself, in a real browser that must stay silent."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed (extra: test)")

from tests.review_page.opened import CHROMIUM, DESK, NO_CHROMIUM, browser, copy_of, served, shown  # noqa: E402


@pytest.fixture(scope="session")
def chromium() -> Iterator[playwright.Browser]:
    if CHROMIUM is None:
        pytest.skip(NO_CHROMIUM)
    with browser() as opened:
        yield opened


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return copy_of("new_house", tmp_path)


@pytest.fixture
def named(job: Path) -> tuple[Path | str, ...]:
    """What the command is given."""
    return (job,)


@pytest.fixture
def address(chromium: playwright.Browser, named: tuple[Path | str, ...]) -> Iterator[str]:
    with served(*named) as where:
        yield where


@pytest.fixture
def tab(chromium: playwright.Browser, address: str) -> Iterator[Callable[..., playwright.Page]]:
    """Opens the job in a new tab. In the end no tab may have had a fault on its console or asked another server."""
    wrong: list[str] = []
    contexts = []

    def opened(
        size: dict[str, int] = DESK, where: str = address, ready: bool = True, **wishes: object
    ) -> playwright.Page:
        context = chromium.new_context(viewport=size, accept_downloads=True, **wishes)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.on("console", lambda m: wrong.append(m.text) if m.type in ("error", "warning") else None)
        page.on("pageerror", lambda fault: wrong.append(str(fault)))
        page.on("request", lambda r: wrong.append(f"asked {r.url}") if _foreign(r.url, address) else None)
        if ready:
            shown(page, where)
        else:
            page.goto(where)
        return page

    opened.wrong = wrong
    yield opened
    for context in contexts:
        context.close()
    assert wrong == []


def _foreign(url: str, address: str) -> bool:
    return not url.startswith(("blob:", "data:")) and urlsplit(url).netloc != urlsplit(address).netloc
