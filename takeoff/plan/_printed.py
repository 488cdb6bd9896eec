"""Areas and sizes printed in rooms, with how finely they are rounded. Figures are read by `takeoff.drawing.lengths`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from takeoff.data import load
from takeoff.drawing.lengths import SQUARE_METRES, Length, read_lengths
from takeoff.plan.layers import fold

__all__ = ["Area", "Size", "area_of", "bare_metres", "size_of"]

_AREAS_M2 = (0.2, 100_000.0)
_SPELT = re.compile(r"\b(?:kvm|mts?2|m2s|م2|م²)(?!\w)|(?<=\d)\s*q\.?\s?m\.?(?!\w)", re.IGNORECASE)
"""Spellings of m2 that are only seen on plans: Scandinavian kvm, Spanish mts2, German qm, Arabic."""


@dataclass(frozen=True, slots=True)
class Area:
    """A printed area."""

    m2: float
    step_m2: float
    """What one unit of its last printed digit is worth: 1.0 for '12 m2', 0.01 for '12.50 m2'."""
    text: str


@dataclass(frozen=True, slots=True)
class Size:
    """Two printed lengths."""

    lengths: tuple[float, float]
    in_metres: bool
    """False: bare figures whose unit the drawing must tell."""
    text: str


def area_of(text: str) -> Area | None:
    """The area that `text` states, in m2, or None.

    >>> area_of("12,5 m²").m2, area_of("Sup: 40").m2, area_of("Bedroom 2")
    (12.5, 40.0, None)
    """
    found = read_lengths(_SPELT.sub(" m2", text))
    if found.areas:
        printed = found.areas[0]
        value, scale, figure = printed.value, SQUARE_METRES[printed.unit], printed.text
    else:
        named = next((n for n in found.labelled if n.length.unit is None and _names_area(n.label)), None)
        if named is None:
            return None
        value, scale, figure = named.length.value, 1.0, named.length.text
    if not _AREAS_M2[0] <= value * scale <= _AREAS_M2[1]:
        return None
    return Area(value * scale, 10.0 ** -_decimals(figure) * scale, text)


@cache
def _names_area(label: str) -> bool:
    return fold(label).strip(".") in load("room_words")["area_labels"]


def _decimals(figure: str) -> int:
    """Digits after the decimal point or comma; a comma before exactly three digits parts thousands."""
    match = re.search(r"\d[.,](\d+)(?!\d|[.,]\d)", figure)
    if match is None or ("," in figure and len(match.group(1)) == 3):
        return 0
    return len(match.group(1))


def size_of(text: str) -> Size | None:
    """The two lengths that `text` is made of, or None where it says anything else.

    >>> size_of("13'6 x 11'").lengths, size_of("3,60 x 4,20 m").lengths
    ((4.1148, 3.3528), (3.6, 4.2))
    """
    pairs = read_lengths(text).pairs
    if len(pairs) != 1 or re.search(r"\w", text.replace(pairs[0].text, "", 1)):
        return None
    scales = bare_metres(pairs[0].first, pairs[0].second)
    a, b = (length.metres(scales) for length in (pairs[0].first, pairs[0].second))
    if a is None or b is None:
        return Size((pairs[0].first.value, pairs[0].second.value), False, text)
    return Size((round(a, 4), round(b, 4)), True, text)


def bare_metres(first: Length, second: Length) -> float | None:
    """Metres per unit of the bare figures of a room's size: thousands are millimetres, small decimals metres."""
    values = [length.value for length in (first, second)]
    if min(values) >= 1000:
        return 0.001
    decimal = all(re.search(r"[.,]", length.text) for length in (first, second))
    return 1.0 if decimal and max(values) < 100 else None
