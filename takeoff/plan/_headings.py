"""What the heading of a table's column says: which column it is, of the opening or of its leaf, in which unit.

Words are data: ``takeoff/data/opening_words.toml``.

Terms:
  opening   the hole in the wall (rough, structural opening): what is deducted from the wall.
  leaf      what hangs in it, with or without its frame: smaller, and no size of the opening where both are given.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from takeoff.data import load
from takeoff.drawing.lengths import METRES
from takeoff.plan.layers import REMEMBERED, fold

__all__ = ["LEAF", "OPENING", "TELLING", "Heading", "columns", "heading_of", "spellings"]

TELLING = frozenset({"size", "width", "height"})
"""Columns that give an opening its size."""
OPENING, PLAIN, LEAF = 0, 1, 2
"""Whose size a column gives, the best first: the opening's by name, not said, the leaf's."""
_SHORTEST_INSIDE = 4
_LONGEST = 40
_UNIT = re.compile(r"[(\[\s,](?:in |en |w )?(mm|cm|m|inches|inch|ins|in|feet|ft|мм|см|м|毫米)\b\.?[)\]]?\s*$")
_UNITS = {"мм": "mm", "毫米": "mm", "см": "cm", "м": "m", "inches": "in", "inch": "in", "ins": "in", "feet": "ft"}
_BY = re.compile(r"\s*[x×*/]\s*|\s+by\s+")


@dataclass(frozen=True, slots=True)
class Heading:
    """What a heading says; `column` is '' for a text that is none."""

    column: str = ""
    """'mark', 'width', 'height', 'size', 'sill' or 'other'."""
    unit: float | None = None
    """Metres per unit, where it is stated."""
    whose: int = PLAIN
    high_first: bool = False
    """A size whose height is written before its width."""


@lru_cache(maxsize=REMEMBERED)
def heading_of(text: str) -> Heading:
    """What the heading `text` says: 'Width (mm)' is the column 'width' in 0.001 m."""
    if len(text) > _LONGEST or text.replace(".", "").isdigit():
        return Heading()
    folded = fold(text)
    stated = _UNIT.search(folded)
    bare = folded[: stated.start()] if stated else folded
    words = " ".join(re.findall(r"\w+", bare))
    unit = METRES[_UNITS.get(stated[1], stated[1])] if stated else None
    whose = _whose(words)
    if order := _order(bare):
        return Heading("size", unit, whose, high_first=order == "height")
    column = _column(words)
    if column == "" and whose != PLAIN and words in columns()["opening"] | columns()["leaf"]:
        column = "size"
    return Heading(column, unit, whose) if column else Heading()


def _column(words: str) -> str:
    known = columns()
    for column in ("sill", "size", "width", "height", "mark", "other"):
        if words in known[column]:
            return column
    if words.count(" ") > 3:
        return ""
    for column in ("sill", "size", "width", "height", "mark"):
        if any(len(w) >= _SHORTEST_INSIDE and w in known[column] for w in words.split(" ")):
            return column
    last = words.rpartition(" ")[2]
    named = " " in words and _whose(words) != PLAIN
    return next((c for c in ("width", "height") if named and last in known[c]), "")


def _whose(words: str) -> int:
    """`OPENING`, `PLAIN` or `LEAF`."""
    padded = f" {words} "
    for whose, name in ((OPENING, "opening"), (LEAF, "leaf")):
        if any(f" {w} " in padded if w.isascii() else w in padded for w in columns()[name]):
            return whose
    return PLAIN


def _order(folded: str) -> str:
    """Which comes first in a heading of both: 'W x H' -> 'width', 'Size (height x width)' -> 'height'; else ''."""
    parts = [re.findall(r"\w+", part) for part in _BY.split(folded)]
    if len(parts) != 2 or not all(parts):
        return ""
    pair = [next((c for c in ("width", "height") if w in columns()[c]), "") for w in (parts[0][-1], parts[1][0])]
    return pair[0] if set(pair) == {"width", "height"} else ""


@cache
def columns() -> dict[str, frozenset[str]]:
    """The words of each column, folded as headings are."""
    return {
        name: frozenset(s for word in row["words"] for s in spellings(word))
        for name, row in load("opening_words")["columns"].items()
    }


def spellings(word: str) -> set[str]:
    """`word` folded, and its German form without the e that stands for dots."""
    folded = " ".join(re.findall(r"\w+", fold(word)))
    return {folded, re.sub(r"(?<=[aou])e", "", folded)} if len(folded) > 3 else {folded}
