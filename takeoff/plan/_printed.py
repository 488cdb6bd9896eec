"""Areas and sizes printed in rooms, with how finely they are rounded."""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = ["Area", "Size", "area_of", "size_of"]

SQUARE_FOOT_M2 = 0.09290304
"""The foot is 0.3048 m exactly (international yard and pound agreement, 1959)."""
FOOT_M = 0.3048


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


_FIGURE = r"(\d{1,3}(?:[ '’.,]\d{3})*(?:[.,]\d{1,3})?|\d+(?:[.,]\d+)?)"
_M2 = r"(?:m\s?2|m²|㎡|qm|q\.?m\.?|mq|sq\.?\s?m(?:trs|ts|etres?|eters?)?|sqm|m\^2|mts2|m2s|平方米|平米|kvm|م2|م²)"
_FT2 = r"(?:sq\.?\s?(?:ft|feet)\.?|sqft|ft\s?2|ft²|s\.?f\.?)"
_AREA = re.compile(rf"(?:^|[\s=:~≈(]){_FIGURE}\s*({_M2}|{_FT2})(?![a-z0-9])", re.IGNORECASE)
_NAMED_AREA = re.compile(
    rf"^(?:area|a|s|sup|superficie|surface|fl(?:aeche|äche)?|ngf|nrf|nuf|nf|wfl|gfa|nia|gia|pow|p|opp|oppervlakte|areal|面积|面積|مساحة)\.?\s*[:=：]\s*{_FIGURE}$",
    re.IGNORECASE,
)


def area_of(text: str) -> Area | None:
    """The area that `text` states, in m2, or None.

    >>> area_of("12,5 m²").m2, area_of("855 SQ. FT.").step_m2
    (12.5, 0.09290304)
    """
    match = _AREA.search(text)
    unit = match.group(2).lower() if match else ""
    if match is None and (match := _NAMED_AREA.match(text.strip())) is None:
        return None
    value, decimals = _number(match.group(1))
    scale = SQUARE_FOOT_M2 if re.fullmatch(_FT2, unit, re.IGNORECASE) else 1.0
    if not 0.2 <= value * scale <= 100_000:
        return None
    return Area(value * scale, 10.0**-decimals * scale, text)


def _number(figure: str) -> tuple[float, int]:
    """Value and count of decimals of a printed number, comma or point."""
    figure = re.sub(r"[ '’]", "", figure)
    if re.fullmatch(r"\d{1,3}(?:,\d{3})+", figure) or re.fullmatch(r"\d{1,3}(?:\.\d{3})+", figure) and len(figure) > 7:
        return float(re.sub(r"[.,]", "", figure)), 0
    if "," in figure and "." in figure:
        figure = figure.replace("," if figure.rfind(".") > figure.rfind(",") else ".", "")
    figure = figure.replace(",", ".")
    return float(figure), len(figure.partition(".")[2])


_FEET = r"(\d+)\s*'\s*(?:-?\s*(\d+(?:\.\d+)?)?(?:\s+(\d+)/(\d+))?\s*(?:\"|''|”)?)?"
_FEET_SIZE = re.compile(rf"^\W*{_FEET}\s*[x×X*]\s*{_FEET}\s*$")
_METRIC = r"(\d+(?:[.,]\d+)?)\s*(mm|cm|m)?"
_METRIC_SIZE = re.compile(rf"^\(?{_METRIC}\s*[x×X*]\s*{_METRIC}\)?$", re.IGNORECASE)


def size_of(text: str) -> Size | None:
    """The two lengths that `text` states, or None.

    >>> size_of("13'6 x 11'").lengths, size_of("3,60 x 4,20 m").lengths
    ((4.1148, 3.3528), (3.6, 4.2))
    """
    text = text.strip().replace("’", "'").replace("′", "'").replace("″", '"')
    if match := _FEET_SIZE.match(text):
        a, b = (_feet(*match.groups()[n : n + 4]) for n in (0, 4))
        return Size((round(a, 4), round(b, 4)), True, text)
    match = _METRIC_SIZE.match(text)
    if not match:
        return None
    first, unit_a, second, unit_b = match.groups()
    unit = (unit_b or unit_a or "").lower()
    a, b = _number(first)[0], _number(second)[0]
    if unit:
        scale = {"mm": 0.001, "cm": 0.01, "m": 1.0}[unit]
        return Size((round(a * scale, 4), round(b * scale, 4)), True, text)
    if min(a, b) >= 1000:
        return Size((a / 1000, b / 1000), True, text)
    if re.search(r"[.,]", first) and re.search(r"[.,]", second) and max(a, b) < 100:
        return Size((a, b), True, text)
    return Size((a, b), False, text)


def _feet(feet: str, inches: str | None, over: str | None, under: str | None) -> float:
    fraction = int(over) / int(under) if over and under and int(under) else 0.0
    return (int(feet) + (float(inches or 0) + fraction) / 12) * FOOT_M
