"""The files of the page: a list made once from the package, by which alone they are asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable

from starlette.responses import Response

from takeoff.review.answers import fault_answer

__all__ = ["StaticFiles"]

MEDIA = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".woff2": "font/woff2",
    ".ttf": "font/ttf",
    ".txt": "text/plain; charset=utf-8",
}
SHELL = "index.html"


class StaticFiles:
    """The page and what it loads. A name that is not on the list is not there, whatever it spells."""

    def __init__(self, folder: Traversable | None = None) -> None:
        self._files: Mapping[str, Traversable] = dict(_listed(folder or files("takeoff.review").joinpath("page"), ""))

    def names(self) -> list[str]:
        return sorted(self._files)

    def answer(self, name: str) -> Response:
        """The file called `name`, or a refusal."""
        if name not in self._files:
            return fault_answer(404, "There is no such file.")
        media = MEDIA[name[name.rindex(".") :]]
        return Response(self._files[name].read_bytes(), media_type=media, headers={"Cache-Control": "no-cache"})

    def shell(self) -> Response:
        return self.answer(SHELL)


def _listed(folder: Traversable, before: str) -> Iterator[tuple[str, Traversable]]:
    for entry in folder.iterdir() if folder.is_dir() else ():
        if entry.is_dir():
            yield from _listed(entry, f"{before}{entry.name}/")
        elif any(entry.name.endswith(ending) for ending in MEDIA):
            yield before + entry.name, entry
