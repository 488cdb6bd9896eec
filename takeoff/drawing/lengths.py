"""Lengths and areas printed as text: metric, feet and inches, with a unit or bare.

`read_lengths` is the face. It finds, in this order, and never reads the same characters twice:

  areas      15.00 m2, 12,5 m², 855 SQ. FT.
  pairs      13'6 x 11', 3.20 x 4.10, 3200x4100 mm: two lengths of one size, a unit at the end serves both
  labelled   CH=2785, h=2.90, H: 2.80: a short label and a length
  lengths    13'-6", 7ft10in, 5'7, 3'6 1/2", 5/8", 2.40 m, 2400 mm, and bare figures such as 2400 or 2,40

A bare figure has unit None: it is in whatever the drawing's figures mean, often not the drawing unit. Feet and
inches are summed into inches (unit "in"). A comma before exactly three figures parts thousands (1,250), save
before "m" where it is a decimal comma (1,250 m); any other comma is a decimal comma.

Conversions: the inch is 25.4 mm exactly and the foot 0.3048 m (international yard and pound agreement, 1959).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

__all__ = ["IMPERIAL", "METRES", "SQUARE_METRES", "Area", "Labelled", "Length", "Pair", "Readings", "read_lengths"]

METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}
"""Metres in each unit of length."""
IMPERIAL = (METRES["in"], METRES["ft"])
"""Metres in the units of drawings in feet and inches."""
SQUARE_METRES = {"m2": 1.0, "ft2": 0.3048**2}
"""Square metres in each unit of area."""


@dataclass(frozen=True, slots=True)
class Length:
    """One length as printed: `value` in `unit` ("mm", "cm", "m", "in"), or in no stated unit (None)."""

    value: float
    unit: str | None
    text: str

    def metres(self, bare: float | None = None) -> float | None:
        """In metres; a bare figure counts `bare` metres each, None where that is not known."""
        if self.unit is not None:
            return self.value * METRES[self.unit]
        return None if bare is None else self.value * bare


@dataclass(frozen=True, slots=True)
class Area:
    """An area as printed: `value` in `unit` ("m2" or "ft2")."""

    value: float
    unit: str
    text: str

    def square_metres(self) -> float:
        return self.value * SQUARE_METRES[self.unit]


@dataclass(frozen=True, slots=True)
class Pair:
    """A size as printed, such as 13'6 x 11'."""

    first: Length
    second: Length
    text: str


@dataclass(frozen=True, slots=True)
class Labelled:
    """A length with a label before it, such as CH=2785: `label` as printed."""

    label: str
    length: Length


@dataclass(frozen=True, slots=True)
class Readings:
    """All that `read_lengths` found, each kind in the order of the text."""

    lengths: tuple[Length, ...] = ()
    areas: tuple[Area, ...] = ()
    pairs: tuple[Pair, ...] = ()
    labelled: tuple[Labelled, ...] = ()


_FIGURE = r"\d+(?:[.,]\d+)*"
_FEET_SIGN = r"(?:['’′´`‘](?!['’′])|(?i:ft)(?![^\W\d_])\.?|(?i:feet|foot)\b)"
_INCH_SIGN = r"(?:[\"”″“]|''|(?i:in)\b(?!\s+[^\W\d_])\.?|(?i:inch(?:es)?)\b)"
_FRACTION = r"\d+\s*/\s*\d+"
_INCHES = rf"(?:{_FRACTION}|\d+(?:\.\d+)?(?:\s*[ -]\s*{_FRACTION})?)"
_IMPERIAL = (
    rf"(?:(?P<feet{{n}}>\d+(?:\.\d+)?)\s*{_FEET_SIGN}(?:\s*-?\s*(?P<inches{{n}}>{_INCHES})\s*(?:{_INCH_SIGN})?)?"
    rf"|(?P<only{{n}}>{_INCHES})\s*{_INCH_SIGN})"
)
_METRIC = rf"(?:(?P<figure{{n}}>{_FIGURE})(?:\s*(?P<unit{{n}}>mm|cm|m|ｍ|㎜|㎝|毫米|厘米|米|мм|см|м)(?![\w²2^/]))?)"
_LENGTH = rf"(?:{_IMPERIAL}|{_METRIC})"
_BEFORE = r"(?<![\w.,/'\"])"
_AFTER = r"(?![\w/]|[.,]\d)"

_UNITS = {"ｍ": "m", "米": "m", "м": "m", "㎜": "mm", "毫米": "mm", "мм": "mm", "㎝": "cm", "厘米": "cm", "см": "cm"}


def _one(n: int) -> str:
    return _LENGTH.replace("{n}", str(n))


_AREA = re.compile(
    rf"{_BEFORE}(?P<figure>{_FIGURE})\s*"
    r"(?:(?P<metric>m\s*[²2](?!\d)|m\^2|㎡|qm\b|mq\b|sq\.?\s*m\b(?:etres?|eters?)?|sqm\b|平方米|平米|кв\.?\s*м)"
    r"|(?P<imperial>sq\.?\s*-?\s*f(?:ee|oo)?t\b\.?|sqft\b|s\.?f\.?(?!\w)|ft\s*[²2]|ft\^2|square\s+feet))",
    re.IGNORECASE,
)
_PAIR = re.compile(rf"{_BEFORE}{_one(1)}\s*(?:[xX×*]|by)\s*{_one(2)}{_AFTER}")
_LABELLED = re.compile(rf"(?<!\w)(?P<label>[^\W\d_][^\W\d_.]{{0,11}}\.?)\s*[=:：]\s*[±+~≈]?\s*{_one(1)}{_AFTER}")
_HEIGHT = re.compile(rf"(?<!\w)(?P<label>[hH]|CH|ch|Ch)\.?\s*{_one(1)}{_AFTER}")
_SINGLE = re.compile(rf"{_BEFORE}{_one(1)}{_AFTER}")


@lru_cache(maxsize=4096)
def read_lengths(text: str) -> Readings:
    """Every length, area, pair and labelled length in `text`. Nothing is raised: what is no length is passed over."""
    areas = [_area(m) for m in _AREA.finditer(text)]
    text = _AREA.sub(_blank, text)
    pairs = [_pair(m) for m in _PAIR.finditer(text)]
    text = _PAIR.sub(_blank, text)
    labelled = []
    for pattern, plain in ((_LABELLED, False), (_HEIGHT, True)):
        found = [m for m in pattern.finditer(text) if not plain or _looks_measured(m)]
        labelled += [(m.start(), Labelled(m["label"].rstrip("."), _length(m, 1))) for m in found]
        for m in found:
            text = text[: m.start()] + _blank(m) + text[m.end() :]
    lengths = [_length(m, 1) for m in _SINGLE.finditer(text)]
    in_order = tuple(item for _, item in sorted(labelled, key=lambda pair: pair[0]))
    return Readings(tuple(lengths), tuple(areas), tuple(pairs), in_order)


def _blank(match: re.Match[str]) -> str:
    """Holds the place of what was read, and keeps its neighbours apart."""
    return " " * len(match.group())


def _looks_measured(match: re.Match[str]) -> bool:
    """A height without a sign between (h2.90, CH 2785) needs a figure that is no mere number or mark."""
    figure = match["figure1"]
    return figure is None or match["unit1"] is not None or "." in figure or "," in figure or len(figure) >= 3


def _area(match: re.Match[str]) -> Area:
    metric = match["metric"] is not None
    return Area(_number(match["figure"], metres=metric), "m2" if metric else "ft2", match.group().strip())


def _pair(match: re.Match[str]) -> Pair:
    first, second = _length(match, 1), _length(match, 2)
    if first.unit is None and second.unit in ("mm", "cm", "m"):
        first = Length(_number(match["figure1"], metres=second.unit == "m"), second.unit, first.text)
    if first.unit == "in" and second.unit is None:  # 13'6 x 11: feet
        second = Length(second.value * 12, "in", second.text)
    return Pair(first, second, match.group().strip())


def _length(match: re.Match[str], n: int) -> Length:
    figure = match[f"figure{n}"]
    if figure is not None:
        unit = match[f"unit{n}"]
        unit = _UNITS.get(unit, unit) if unit else None
        start, end = match.start(f"figure{n}"), match.end(f"unit{n}" if unit else f"figure{n}")
        return Length(_number(figure, metres=unit == "m"), unit, match.string[start:end])
    feet, inches, only = match[f"feet{n}"], match[f"inches{n}"], match[f"only{n}"]
    total = float(feet or 0) * 12 + _inches(inches) + _inches(only)
    start = match.start(f"feet{n}" if feet else f"only{n}")
    end = match.start("figure2") if n == 1 and match.re is _PAIR and match["figure2"] else match.end()
    return Length(total, "in", match.string[start:end].strip())


def _inches(text: str | None) -> float:
    """Whole inches, a fraction, or both."""
    if not text:
        return 0.0
    total = 0.0
    fraction = re.search(_FRACTION, text)
    if fraction:
        above, below = fraction.group().split("/")
        total = float(above) / float(below) if float(below) else 0.0
        text = text[: fraction.start()].strip(" -")
    return total + (float(text) if text else 0.0)


def _number(figure: str, *, metres: bool) -> float:
    """The value of figures with points and commas, see the module's rule."""
    last = max(figure.rfind(","), figure.rfind("."))
    if last < 0:
        return float(figure)
    sign, tail = figure[last], figure[last + 1 :]
    alone = figure.count(",") + figure.count(".") == 1
    parts_thousands = figure.count(sign) > 1 or (alone and sign == "," and len(tail) == 3 and not metres)
    digits = figure.replace(",", "").replace(".", "")
    return float(digits) if parts_thousands else float(f"{digits[: len(digits) - len(tail)]}.{tail}")
