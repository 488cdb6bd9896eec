"""What a text says of a height: whose it is, and how high. Words are data: ``takeoff/data/height_words.toml``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from takeoff.data import load
from takeoff.drawing.lengths import Length, read_lengths
from takeoff.plan.layers import REMEMBERED, fold

__all__ = ["HeightText", "bare_figure_m", "height_in", "height_words_of", "slopes"]

_SPEAKS_FIRST = ("lowest", "highest", "other", "beam", "sill", "door", "window", "ceiling", "bare")
_PLAUSIBLE = {
    "ceiling": (1.5, 20.0), "bare": (1.8, 20.0), "beam": (1.2, 20.0), "sill": (0.0, 2.5), "door": (1.2, 8.0),
    "window": (0.2, 8.0), "other": (0.0, 50.0), "lowest": (0.0, 20.0), "highest": (1.0, 20.0),
}
"""Metres: what each height may be (common practice); a figure outside is no such height."""
_CENTIMETRES = (100.0, 1000.0)
"""Bare whole figures in this range are centimetres: no ceiling is 250 mm high."""
_LONGEST = 120
_MOST_WORDS = 6
"""A longer text is a specification: 'board on ceiling and wall between garage and house'."""
_LEVEL = re.compile(r"[+±]\s*\d")
"""A signed figure is a height above a datum, not above the floor."""
_COUNT = re.compile(r"[^\d=:]*(?<![\d.,])\d\s*")
"""A word and one digit count rooms, 'CH. 2': a height of whole metres has a sign or a unit, 'CH=3', 'CH 3 m'."""
_OWN_SCRIPT = re.compile(r"[\u0590-\u06ff\u3040-\u30ff\u3400-\u9fff\uff66-\uff9f]")


@dataclass(frozen=True, slots=True)
class HeightText:
    """A height that a text states."""

    kind: str
    """'ceiling', 'bare' (only 'h=...'), 'beam', 'door', 'window', 'sill', 'lowest', 'highest' or 'other'."""
    value_m: float
    text: str


@lru_cache(maxsize=REMEMBERED)
def height_in(text: str, in_mm: bool = False) -> HeightText | None:
    """The height that `text` states by itself, or None; `in_mm` reads bare figures from 100 to 999 as millimetres
    where both millimetres and centimetres would do.

    >>> height_in("CH=2785").value_m, height_in("RH 2,50").value_m, height_in("9'-0\\" CLG HT").kind
    (2.785, 2.5, 'ceiling')
    """
    if len(text) > _LONGEST or _LEVEL.search(text) or _COUNT.fullmatch(text):
        return None
    folded = fold(text)
    words, value = _taken_apart(folded)
    if value is None or not words:
        return None
    kind = height_words_of(words)
    if not kind:
        return None
    low, high = _PLAUSIBLE[kind]
    in_hundreds = re.search(r"(?<![\d.,])\d{3}(?![\d.,]|\s*(?:cm|m))", folded)
    if in_hundreds and (in_mm or value > high) and low <= value / 10 <= high:
        value /= 10
    if kind == "sill" and 10 <= value < _CENTIMETRES[0]:
        value /= 100
    if not low <= value <= high:
        return None
    return HeightText(kind, value, text)


def bare_figure_m(text: str) -> float | None:
    """The height in metres of a text that is nothing but a figure ('5.80', '2785'), or None."""
    words, value = _taken_apart(fold(text))
    return value if value is not None and not words and 1.2 <= value <= 20.0 else None


@lru_cache(maxsize=REMEMBERED)
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


@lru_cache(maxsize=REMEMBERED)
def slopes(text: str) -> bool:
    """Whether `text` says that a ceiling slopes."""
    return _slope_words().search(" ".join(re.findall(r"\w+", fold(text)))) is not None


@cache
def _slope_words() -> re.Pattern[str]:
    words = _words()["slope"]
    return re.compile("|".join(re.escape(w) if _OWN_SCRIPT.search(w) else rf"\b{re.escape(w)}\b" for w in words))


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
    """The words and the figure in metres of a folded text: the figure after its label, else the last one, or the
    first when the words follow it. Fractions of an inch and ratios are no heights."""
    spaced = re.sub(r"(?<=[^\W\d_])(?=\d{3,5}(?!\d)|\d[.,]\d)", " ", folded)
    found = read_lengths(spaced)
    lengths = [labelled.length for labelled in found.labelled] or list(found.lengths)
    if not lengths or found.pairs or found.areas or re.search(r"\d\s*%", folded):
        return folded.strip(), None
    length = lengths[0] if spaced.startswith(lengths[0].text) or found.labelled else lengths[-1]
    words = spaced.replace(length.text, " ", 1).strip(" =:~≈+-()[]，：.")
    return words, _metres(length)


def _metres(length: Length) -> float:
    """A bare figure is millimetres from 1000 up, centimetres from 100 up when whole, else metres."""
    if length.unit is not None or re.search(r"[.,]", length.text):
        return length.metres(1.0) or 0.0
    if length.value >= _CENTIMETRES[1]:
        return length.value / 1000
    return length.value / 100 if length.value >= _CENTIMETRES[0] else length.value
