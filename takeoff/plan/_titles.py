"""What a drawing on a sheet is, from its title, its level marks, its door swings and the words in it.

Terms:
  title   a text that names the drawing: 'Ground floor plan', 'Schnitt A-A', 'Planta baja'. Words are data:
          ``takeoff/data/sheet_words.toml``.
  level   a text that states a height above a datum: '+2.70', 'FFL 0.00'. One above the other they make a section.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache, lru_cache

import numpy as np

from takeoff.data import load
from takeoff.drawing.model import Text
from takeoff.plan._room_words import room_name
from takeoff.plan.layers import REMEMBERED, fold

__all__ = ["Bounds", "distance_to", "kind_of_region", "title_of"]

Bounds = tuple[float, float, float, float]

_LEAST_LEVELS = 3
"""So many level marks, one above the other, make a section or an elevation."""
_LEAST_BLOCK_WORDS = 3
_SURE_SWINGS = 3
"""So many door swings make a plan, whatever a title beside it says."""
_LONGEST_TITLE = 60
_ABBREVIATION = 3
"""A title word of so few letters (EG, RDC) counts only when it stands alone or as 'Grundriss EG'."""
_LARGER = 1.2
"""Inside a drawing its title is printed so much larger than most of its texts."""
_LEVEL = re.compile(
    r"[+\-±−]\s?\d{1,3}[.,]\d{2,3}\b|[(]\d{1,3}[.,]\d{2}\s?m[)]|\b(?:FFL|SSL|OKFF|OKRF|EL\.?)\b", re.IGNORECASE
)


def kind_of_region(texts: Sequence[Text], bounds: Bounds, swings: int, alone: bool) -> tuple[str, str, str]:
    """Title, kind and what decided it, for the drawing within `bounds`.

    `texts` those nearest to it, `swings` how many door swings it holds, `alone` whether it is the only drawing.
    What cannot be told is a plan.
    """
    title, kind = title_of(texts, bounds)
    if kind == "plan" or (kind and swings < _SURE_SWINGS):
        return title, kind, f"titled '{title}'"
    if swings:
        return "", "plan", f"{swings} door swings"
    levels = sorted({round(t.at[1], 2) for t in texts if _LEVEL.search(t.value)})
    if not alone and len(levels) >= _LEAST_LEVELS and levels[-1] - levels[0] > (bounds[3] - bounds[1]) / 3:
        return "", "section", f"{len(levels)} level marks one above the other, no door swing"
    inside = [t for t in texts if distance_to(t.at, bounds) == 0]
    words = sum(1 for t in inside if _kind_of(t.value) == "title block")
    if words >= _LEAST_BLOCK_WORDS and not any(room_name(t.value) for t in inside):
        return "", "title block", "words of a title block"
    return "", "plan", "nothing speaks against it"


def distance_to(at: tuple[float, float], bounds: Bounds) -> float:
    """Distance of a point from bounds, 0 inside."""
    dx = max(bounds[0] - at[0], 0.0, at[0] - bounds[2])
    dy = max(bounds[1] - at[1], 0.0, at[1] - bounds[3])
    return float(np.hypot(dx, dy))


def title_of(texts: Sequence[Text], bounds: Bounds) -> tuple[str, str]:
    """The title among `texts` and the kind it names: the largest print wins, outside before inside.

    Inside the drawing only a plan's title counts, in print larger than most: 'Section A-A' or 'Detail 3' there
    marks where something is cut.
    """
    common = float(np.median([t.height for t in texts])) if texts else 0.0
    best: tuple[float, str, str] | None = None
    for text in texts:
        kind = "" if text.tag and len(text.value) <= _ABBREVIATION else _kind_of(text.value)
        if not kind or kind == "title block" or len(text.value) > _LONGEST_TITLE or _LEVEL.search(text.value):
            continue
        outside = distance_to(text.at, bounds) > 0
        if not outside and (kind != "plan" or text.height < _LARGER * common):
            continue
        rank = text.height * (1.5 if outside else 1.0)
        if best is None or rank > best[0]:
            best = (rank, text.value, kind)
    if best is None:
        return "", ""
    return best[1], "detail" if best[2] == "other plan" else best[2]


@cache
def _titles() -> dict[str, str]:
    """Folded title words -> kind."""
    table: dict[str, str] = {}
    for kind, row in load("sheet_words")["titles"].items():
        for word in row["words"]:
            plain = " ".join(re.findall(r"\w+", fold(word)))
            table[plain] = kind
            table.setdefault(re.sub(r"(?<=[aou])e", "", plain), kind)
    return table


@lru_cache(maxsize=REMEMBERED)
def _kind_of(text: str) -> str:
    """The kind of drawing a text names, by the longest title words in it; '' when it names none, or names a room."""
    if len(text) > _LONGEST_TITLE:
        return ""
    kind = _titled(text)
    return "" if kind and room_name(text) is not None else kind


def _titled(text: str) -> str:
    tokens = re.findall(r"\w+", fold(text))
    table = _titles()
    for size in range(min(5, len(tokens)), 0, -1):
        for i in range(len(tokens) - size + 1):
            phrase = " ".join(tokens[i : i + size])
            alone = len(tokens) == size or len(phrase) > _ABBREVIATION
            if phrase in table and alone and len(tokens) <= size + 5:
                return table[phrase]
    plain = fold(text)
    if plain.isascii():
        return ""
    own = [w for w in table if not w.isascii() and w in plain]
    return table[max(own, key=len)] if own and len(plain) <= 20 else ""
