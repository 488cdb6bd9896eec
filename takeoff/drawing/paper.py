"""What lies on the paper layouts of a text DXF: nothing of it is measured, and it can be a quarter of a file.

Terms:
  chunk   the lines of one entity, from its group code 0 to the next one's.
  paper   said of an entity of the active paper layout (group code 67 is 1), and of what a block *PAPER_SPACE holds (DXF
          reference, common group codes and BLOCKS section).
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator

from takeoff.drawing.count import PARTS, TAG, sections_of

__all__ = ["without_paper"]

_ON_PAPER = re.compile(rb"67[ \t]*\r?\n[ \t]*1[ \t]*\r?\n")
_PAPER_NAME = re.compile(rb"\*[Pp][Aa][Pp][Ee][Rr]_[Ss][Pp][Aa][Cc][Ee]")
"""What may say so; whether it does is looked at in the entity. (Patterns begin with fixed bytes: that makes them fast.)
"""
_FEW = 20
"""So few entities on paper are not worth looking for."""
_STAYS = PARTS | {"VIEWPORT", "ENDBLK"}
"""Parts go with what they belong to; the views of a layout are part of its make-up."""


def without_paper(data: bytes) -> tuple[bytes, Counter[str]]:
    """The text DXF `data` without what is drawn on paper, and how many entities of each kind that was, their parts not
    counted. A file in which a paper layout is used as a block, or little is drawn on paper, comes back as it is.
    """
    gone: list[tuple[int, int]] = []
    counts: Counter[str] = Counter()
    for section, start, end, _ in sections_of(data):
        if section not in ("ENTITIES", "BLOCKS"):
            continue
        drawn = section == "ENTITIES"
        named = [m.start() for m in _PAPER_NAME.finditer(data, start, end)]
        marked = [m.start() for m in _ON_PAPER.finditer(data, start, end)] if drawn else []
        if not named and len(marked) <= _FEW:
            continue
        chunks = _Chunks(data, start, end)
        heads = chunks.named(named)
        if any(chunks.name(n) != "BLOCK" for n in heads):
            return data, Counter()
        for n in chunks.marked(marked) if drawn else chunks.in_blocks(heads):
            gone.append((chunks.starts[n], chunks.starts[n + 1]))
            counts[chunks.name(n)] += chunks.name(n) not in PARTS
    return _cut(data, gone), +counts


class _Chunks:
    """The chunks of a section of `data`, but for the last one, of which the end is not known."""

    def __init__(self, data: bytes, start: int, end: int) -> None:
        self.data = data
        self.starts = [tag.start() + 1 for tag in TAG.finditer(data, start, end)]

    def name(self, n: int) -> str:
        """What chunk `n` is."""
        tag = TAG.match(self.data, self.starts[n] - 1)
        return tag[1].strip().decode("ascii", "replace") if tag else ""

    def holding(self, places: list[int]) -> list[int]:
        """Numbers of the chunks in which the `places` are."""
        return sorted({bisect_right(self.starts, place) - 1 for place in places} - {-1})

    def pairs(self, n: int) -> Iterator[tuple[bytes, bytes]]:
        """Group codes and values of chunk `n`."""
        lines = [line.strip() for line in self.data[self.starts[n] : self.starts[n + 1]].split(b"\n")]
        return zip(lines[::2], lines[1::2], strict=False)

    def named(self, hits: list[int]) -> list[int]:
        """Chunks of what is called, or refers to, a paper layout, among those with such a word at one of the `hits`."""
        return [
            n
            for n in self.holding(hits)
            if any(code == b"2" and _PAPER_NAME.match(value) for code, value in self.pairs(n))
        ]

    def marked(self, hits: list[int]) -> Iterator[int]:
        """Chunks that are on paper, among those with a line at one of the `hits` that may say so, and their parts."""
        for n in self.holding(hits):
            if self.name(n) in _STAYS or n + 1 >= len(self.starts) or not self._says_paper(n):
                continue
            yield n
            while (n := n + 1) + 1 < len(self.starts) and self.name(n) in PARTS:
                yield n

    def _says_paper(self, n: int) -> bool:
        markers = 0
        for code, value in self.pairs(n):
            markers += code == b"100"
            if markers > 1:  # what comes now is the entity's own
                return False
            if code == b"67":
                return value == b"1"
        return False

    def in_blocks(self, heads: list[int]) -> Iterator[int]:
        """Chunks inside the blocks that begin at the `heads`."""
        for n in heads:
            while (n := n + 1) + 1 < len(self.starts) and self.name(n) not in ("BLOCK", "ENDBLK"):
                if self.name(n) != "VIEWPORT":
                    yield n


def _cut(data: bytes, gone: list[tuple[int, int]]) -> bytes:
    """`data` without the stretches `gone`, in order of place."""
    kept, at = [], 0
    for start, end in sorted(gone):
        if start > at:
            kept.append(data[at:start])
        at = end
    return b"".join([*kept, data[at:]])
