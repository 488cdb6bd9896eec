"""What a text says of a height: whose height it is, and how high. Words are data: ``takeoff/data/height_words.toml``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from takeoff.data import load
from takeoff.plan._printed import FOOT_M
from takeoff.plan.layers import fold

__all__ = ["HeightText", "bare_figure_m", "height_in", "height_words_of", "slopes"]

_SPEAKS_FIRST = ("lowest", "highest", "other", "beam", "sill", "door", "window", "ceiling", "bare")
_PLAUSIBLE = {
    "ceiling": (1.5, 20.0), "bare": (1.8, 20.0), "beam": (1.2, 20.0), "sill": (0.0, 2.5), "door": (1.2, 8.0),
    "window": (0.2, 8.0), "other": (0.0, 50.0), "lowest": (0.0, 20.0), "highest": (1.0, 20.0),
}
"""Metres: what each height may be (common practice); a figure outside is no such height."""
_CENTIMETRES = (100.0, 1000.0)
"""Bare whole figures in this range are centimetres: no ceiling is 250 mm high."""
_MOST_WORDS = 6
"""A longer text is a specification: 'board on ceiling and wall between garage and house'."""
_OWN_SCRIPT = re.compile(r"[\u0590-\u06ff\u3040-\u30ff\u3400-\u9fff\uff66-\uff9f]")
_FEET = re.compile(r"(\d{1,2})\s*(?:'|ft|feet)\s*-?\s*(?:(\d{1,2}(?:\.\d+)?)?(?:\s+(\d+)/(\d+))?\s*(?:\"|''|in)?)?", re.IGNORECASE)
_METRIC = re.compile(r"(?<![\d.,/])(\d{1,3}[.,]\d{1,3}|\d{1,5})\s*(mm|cm|m)?(?![a-z\d²2/%\"'])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class HeightText:
    """A height that a text states."""

    kind: str
    """'ceiling', 'bare' (only 'h=...'), 'beam', 'door', 'window', 'sill', 'lowest', 'highest' or 'other'."""
    value_m: float
    text: str


@cache
def height_in(text: str, in_mm: bool = False) -> HeightText | None:
    """The height that `text` states by itself, or None; `in_mm` reads bare figures from 100 to 999 as millimetres
    where both millimetres and centimetres would do.

    >>> height_in("CH=2785").value_m, height_in("RH 2,50").value_m, height_in("9'-0\\" CLG HT").kind
    (2.785, 2.5, 'ceiling')
    """
    folded = fold(text).replace("’", "'").replace("”", '"')
    words, value = _taken_apart(folded)
    if value is None or not words:
        return None
    kind = height_words_of(words)
    if not kind:
        return None
    low, high = _PLAUSIBLE[kind]
    if (in_mm or value > high) and re.search(r"(?<![\d.,])\d{3}(?![\d.,]|\s*(?:cm|m))", folded) and low <= value / 10 <= high:
        value /= 10
    if not low <= value <= high:
        return None
    return HeightText(kind, value, text)


def bare_figure_m(text: str) -> float | None:
    """The height in metres of a text that is nothing but a figure ('5.80', '2785'), or None."""
    words, value = _taken_apart(fold(text))
    return value if value is not None and not words and 1.2 <= value <= 20.0 else None


@cache
def height_words_of(words: str) -> str:
    """Whose height the `words` (folded, figure taken out) name; '' when they name none."""
    plain = " ".join(re.findall(r"\w+", words))
    own_script = bool(_OWN_SCRIPT.search(plain))
    short = plain.count(" ") < _MOST_WORDS
    data = _words()
    for kind in _SPEAKS_FIRST:
        for word in data[kind]:
            if _OWN_SCRIPT.search(word):
                if own_script and word in plain:
                    return kind
            elif plain == word or (len(word) >= 4 and short and f" {word} " in f" {plain} "):
                return kind
    return ""


def slopes(text: str) -> bool:
    """Whether `text` says that a ceiling slopes."""
    plain = " ".join(re.findall(r"\w+", fold(text)))
    return any(f" {w} " in f" {plain} " or (_OWN_SCRIPT.search(w) and w in plain) for w in _words()["slope"])


@cache
def _words() -> dict[str, tuple[str, ...]]:
    return {
        kind: tuple(sorted({s for word in row["words"] for s in _spellings(word)}, key=lambda w: (-len(w), w)))
        for kind, row in load("height_words").items()
    }


def _spellings(word: str) -> set[str]:
    """Folded, and without the e that stands for German dots: 'hoehe' and 'hohe'."""
    folded = " ".join(re.findall(r"\w+", fold(word)))
    return {folded, re.sub(r"(?<=[aou])e", "", folded)} if len(folded) > 4 else {folded}


def _taken_apart(folded: str) -> tuple[str, float | None]:
    """The words and the figure in metres of a folded text: the last figure, or the first when the words follow it."""
    if match := _FEET.search(folded):
        inches = float(match.group(2) or 0) + (int(match.group(3)) / int(match.group(4)) if match.group(4) not in (None, "0") else 0)
        return _rest(folded, match), (int(match.group(1)) + inches / 12) * FOOT_M
    found = list(_METRIC.finditer(_spaced(folded)))
    if not found:
        return folded.strip(), None
    match = found[0] if found[0].start() == 0 else found[-1]
    return _rest(_spaced(folded), match), _metres(match.group(1), (match.group(2) or "").lower())


def _spaced(folded: str) -> str:
    """'h2.50' and 'rh250' taken apart, 'h1 940' and 'h2窗' left as they are."""
    return re.sub(r"(?<=[a-z])(?=\d{3,5}\b|\d[.,]\d)", " ", folded)


def _rest(folded: str, match: re.Match[str]) -> str:
    return (folded[: match.start()] + " " + folded[match.end() :]).strip(" =:~≈+-()[]，：.")


def _metres(figure: str, unit: str) -> float:
    value = float(figure.replace(",", "."))
    if unit:
        return value * {"mm": 0.001, "cm": 0.01, "m": 1.0}[unit]
    if "." in figure or "," in figure:
        return value
    if value >= _CENTIMETRES[1]:
        return value / 1000
    return value / 100 if value >= _CENTIMETRES[0] else value
