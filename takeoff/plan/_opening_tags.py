"""Sizes written in a door's or window's own tag: 2668, 900x2100, 90/210, F1 120/150 BRH 90, MH:2190.

Terms:
  mark   the name of an opening on the drawing: D01, W3, F12.
  code   four or five figures, feet and inches of width then of height: 2668 is 2'6" by 6'8" (common practice in
         the US).
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from takeoff.data import load
from takeoff.drawing.lengths import IMPERIAL, METRES, Length, read_lengths
from takeoff.plan._headings import columns
from takeoff.plan._height_texts import height_in
from takeoff.plan._room_words import numbered_room
from takeoff.plan.layers import REMEMBERED, fold, tokens_of

__all__ = [
    "OpeningSize", "is_mark", "kind_noted", "kind_of_mark", "kind_of_words", "labelled_size", "mark_key",
    "opening_size", "style_of_words", "tag_size",
]

_LONGEST, _LONGEST_NOTE = 120, 40
_LEAST_INCHES = 12
_WIDTHS = (0.3, 8.0)
_HEIGHTS = (0.3, 5.0)
_SILLS = (0.0, 3.0)
"""Metres: what an opening may measure (common practice)."""


@dataclass(frozen=True, slots=True)
class OpeningSize:
    """What a text or a schedule says of an opening; None where it says nothing. Metres."""

    width_m: float | None = None
    height_m: float | None = None
    sill_m: float | None = None
    kind: str = ""
    """'door', 'window' or '' when it does not say."""
    text: str = ""
    """As printed."""
    handles: tuple[str, ...] = ()


_LETTER = "[A-ZА-ЯΑ-Ω]"
_MARK = re.compile(rf"^({_LETTER}{{1,3}})\s?[-.]?\s?(\d{{1,3}})\s?({_LETTER}?)$")
_CODE = re.compile(r"^(\d{1,2})(\d|1[01])(\d)(\d|1[01])$")
_FOOT_M = METRES["ft"]
_SLASHED = re.compile(
    r"(?<![\d.,/])(\d{1,4}(?:[.,]\d{1,3})?)\s*(mm|cm|m)?\s*[x×*/]\s*(\d{1,4}(?:[.,]\d{1,3})?)\s*(mm|cm|m)?"
    r"(?:\s*[x×*/]\s*(\d{1,4}(?:[.,]\d{1,3})?)\s*(?:mm|cm|m)?)?(?![\d.,/])"
)
"""Width / height (/ cill), which only openings write with a stroke."""


@lru_cache(maxsize=REMEMBERED)
def tag_size(text: str, metres_per_unit: float | None = None) -> OpeningSize | None:
    """The size that an opening's tag `text` states, or None.

    `metres_per_unit` of the drawing settles what bare figures leave open: in a drawing in feet or inches any four or
    five figures are a US code, elsewhere only those that a usual door height (6'8", 7'0", 8'0") or a word makes one;
    in a drawing in millimetres a cill of 130 is 0.13 m.

    >>> size = tag_size("2668"); round(size.width_m, 3), round(size.height_m, 3)
    (0.762, 2.032)
    >>> tag_size("F1 120/150 BRH 90").sill_m
    0.9
    """
    if len(text) > _LONGEST or not re.search(r"\d", text):
        return None
    imperial = metres_per_unit in IMPERIAL
    in_mm = metres_per_unit is not None and metres_per_unit < 0.005
    coded = _code_size(text, imperial) or _decimetre_code(text)
    return coded or _pair_size(text, imperial) or _height_size(text, in_mm)


def is_mark(text: str) -> bool:
    """Whether `text` looks like the mark of an opening."""
    return _MARK.match(text.strip().upper()) is not None and numbered_room(text.strip()) is None


def mark_key(text: str) -> str:
    """A mark as it is compared: 'd-01' and 'D1' are the same."""
    text = unicodedata.normalize("NFKC", text).strip(" ()[]<>").upper()
    match = _MARK.match(text)
    return f"{match.group(1)}{int(match.group(2))}{match.group(3)}" if match else re.sub(r"[\s\-_.]", "", text)


def kind_of_mark(text: str) -> str:
    """'door', 'window' or '' by the letters of a mark."""
    match = re.match(rf"^({_LETTER}{{1,3}})(?!{_LETTER})", text.strip().upper())
    if match:
        for kind, row in load("opening_words")["kinds"].items():
            if match.group(1) in row["marks"]:
                return str(kind)
    return ""


@lru_cache(maxsize=REMEMBERED)
def kind_of_words(text: str) -> str:
    """'door', 'window' or '' by the words in `text`."""
    return _row_said(text, "kinds")


@lru_cache(maxsize=REMEMBERED)
def _style_said(text: str) -> str:
    return _row_said(text, "styles")


def style_of_words(*texts: str) -> str:
    """How an opening works, as `Opening.style`, by the words in the first of the `texts` that says; else ''."""
    return next((style for text in texts if (style := _style_said(text))), "")


@lru_cache(maxsize=REMEMBERED)
def kind_noted(text: str) -> str:
    """'window' or 'opening' where a note says that an opening is a hatch, an arch and so on; else ''."""
    said = _row_said(text, "notes") if len(text) <= _LONGEST_NOTE else ""
    return "" if said == "none" else said


def _row_said(text: str, table: str) -> str:
    """The row of a table of words of which `text` holds a word, '' for none."""
    plain = fold(text)
    padded = f" {' '.join(tokens_of(text))} "
    undotted = f" {' '.join(re.findall(r'[a-z]+', plain.replace('.', '')))} "
    for name, words in _row_words(table):
        if any((w in plain if not w.isascii() else f" {w} " in padded or f" {w} " in undotted) for w in words):
            return name
    return ""


@cache
def _row_words(table: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The words of each row of a table, folded as texts are: 'ue' also stands for the 'u' that a folded umlaut is."""
    rows = []
    for name, row in load("opening_words")[table].items():
        folded = [fold(word) for word in row["words"]]
        spelt = [re.sub(r"(?<=[aou])e", "", word) for word in folded if len(word) > 3]
        rows.append((str(name), tuple(dict.fromkeys([*folded, *spelt]))))
    return tuple(rows)


def _code_size(text: str, imperial: bool) -> OpeningSize | None:
    figures, _, words = text.strip().partition(" ")
    match = _CODE.match(figures)
    if not match:
        return None
    wide_ft, wide_in, high_ft, high_in = (int(g) for g in match.groups())
    width, height = (wide_ft + wide_in / 12) * _FOOT_M, (high_ft + high_in / 12) * _FOOT_M
    usual_door = (high_ft, high_in) in {(6, 8), (7, 0), (8, 0)}
    kind = kind_of_words(words) or ("door" if usual_door and not words else "window" if imperial else "")
    if not (imperial or kind_of_words(words) or (usual_door and 1.9 <= wide_ft <= 9 and not words)):
        return None
    return _checked(OpeningSize(round(width, 4), round(height, 4), None, kind, text))


_DECIMETRES = re.compile(r"^(?:[A-Z]{0,2}(M|C))[- ]?(\d{2})(\d{2})[a-z]?$")


def _decimetre_code(text: str) -> OpeningSize | None:
    """M0921, C1515: a door or window with width and height in decimetres (common practice in China)."""
    match = _DECIMETRES.match(text.strip())
    if not match:
        return None
    kind = "door" if match.group(1) == "M" else "window"
    return _checked(OpeningSize(int(match.group(2)) / 10, int(match.group(3)) / 10, None, kind, text))


def _pair_size(text: str, imperial: bool) -> OpeningSize | None:
    """Width and height, perhaps a cill: 900x2100, 90/210, 3'-0" x 6'-8", 1.20x1.00/0.90."""
    kind = kind_of_words(text) or kind_of_mark(re.split(r"[\s:=]", text.strip())[0])
    pairs = read_lengths(text).pairs
    if pairs:
        lengths = [pairs[0].first, pairs[0].second]
    elif match := _SLASHED.search(text):
        first, unit_a, second, unit_b, third = match.groups()
        unit = unit_b or unit_a
        lengths = [Length(_value(figure), unit, figure) for figure in (first, second, third) if figure]
    else:
        return None
    scales = _scales_of(lengths, imperial)
    width, height, *rest = (length.metres(scale) for length, scale in zip(lengths, scales, strict=True))
    if width is None or height is None:
        return None
    sill = rest[0] if rest else _sill_in(text)
    return _checked(OpeningSize(round(width, 4), round(height, 4), sill, kind, text))


def _value(figure: str) -> float:
    return float(figure.replace(",", "."))


def _scales_of(lengths: list[Length], imperial: bool) -> list[float | None]:
    """Metres per unit of each bare figure. Where one with decimals below ten stands beside one of ten to a hundred, as
    in '88,5/2,01' and '1,01/76', lengths of a metre and more are in metres, shorter ones in centimetres (DIN 1356-1,
    from memory)."""
    mixed = {_in_metres(n) for n in lengths if _in_metres(n) or 10 <= n.value < 100}
    if len(mixed) == 2 and all(n.unit is None for n in lengths):
        return [1.0 if _in_metres(n) else 0.01 for n in lengths]
    return [_scale_of(lengths[:2], imperial)] * len(lengths)


def _in_metres(length: Length) -> bool:
    return 1.0 <= length.value < 10 and re.search(r"[.,]", length.text) is not None


def _scale_of(lengths: list[Length], imperial: bool) -> float | None:
    """Metres per unit of bare figures: millimetres, centimetres or metres, whichever makes an opening; inches in a
    drawing in feet or inches."""
    largest = max(length.value for length in lengths)
    if largest >= 500:
        return 0.001
    if imperial and largest >= _LEAST_INCHES:
        return METRES["in"]
    if largest >= 40:
        return 0.01
    return 1.0 if largest < 10 and any(re.search(r"[.,]", length.text) for length in lengths) else None


_SILL = re.compile(
    r"(?:brh|brüstung|bruestung|sill|cill|alf|ant|peit|all|s|h1)\.?\s*[=:]?\s*[+]?"
    r"(\d{1,4}(?:[.,]\d{1,3})?)\s*(mm|cm|m)?\s*$",
    re.IGNORECASE,
)


def _sill_in(text: str) -> float | None:
    """A cill named in the tag, such as BRH 90."""
    match = _SILL.search(text)
    return _sill_of(match.group(1), (match.group(2) or "").lower()) if match else None


def _sill_of(figure: str, unit: str) -> float:
    value = _value(figure)
    return value * (METRES[unit] if unit else 0.001 if value >= 300 else 0.01 if value >= 10 else 1.0)


_LABELLED = re.compile(r"(\d[\d.,]*)\s*(mm\b|cm\b|m\b)?|([^\W\d_]+)")
_BETWEEN = frozenset({"x", "by", "×"})


@lru_cache(maxsize=REMEMBERED)
def labelled_size(text: str) -> OpeningSize | None:
    """Width and height that are called so: 'W 910 H 2110', '900(w) x 2100(h)', 'Breite 90 / Höhe 210'; else None."""
    tokens = [m for m in _LABELLED.finditer(fold(text)) if m[3] not in _BETWEEN]
    figures = [n for n, m in enumerate(tokens) if m[1]]
    if not 2 <= len(figures) <= 3:
        return None
    step = 1 if figures[0] == 0 else -1
    told: dict[str, Length] = {}
    for n in figures:
        word = tokens[n + step][3] if 0 <= n + step < len(tokens) else None
        column = next((c for c in ("width", "height", "sill") if word in columns()[c]), "")
        if column in told:
            return None
        if column:
            told[column] = Length(_value(tokens[n][1].strip(".,")), tokens[n][2], tokens[n][1])
    if not {"width", "height"} <= told.keys():
        return None
    scale = _scale_of([told["width"], told["height"]], imperial=False)
    width, height = told["width"].metres(scale), told["height"].metres(scale)
    if width is None or height is None:
        return None
    sill = told["sill"].metres(scale) if "sill" in told else None
    return _checked(OpeningSize(_rounded(width), _rounded(height), _rounded(sill), kind_of_words(text), text))


def _height_size(text: str, in_mm: bool) -> OpeningSize | None:
    """A height or a sill alone: MH:2190, BRH 90."""
    found = height_in(text, in_mm)
    if found is None or found.kind not in {"door", "window", "sill"}:
        return None
    if found.kind == "sill":
        return OpeningSize(sill_m=found.value_m, text=text)
    return OpeningSize(height_m=found.value_m, kind=found.kind, text=text)


def _checked(size: OpeningSize) -> OpeningSize | None:
    """`size` if an opening may measure so; a sill out of range is dropped."""
    if size.width_m is not None and not _WIDTHS[0] <= size.width_m <= _WIDTHS[1]:
        return None
    if size.height_m is not None and not _HEIGHTS[0] <= size.height_m <= _HEIGHTS[1]:
        return None
    if size.sill_m is not None and not _SILLS[0] <= size.sill_m <= _SILLS[1]:
        return replace(size, sill_m=None)
    return size


def opening_size(
    width: str, height: str, sill: str, unit: float | None, imperial: bool = False
) -> OpeningSize | None:
    """A size from the cells of a schedule; `unit` metres per unit where a heading says, else what makes an opening."""
    width, height = (cell if re.search(r"\d", cell) else "" for cell in (width, height))
    cells = [_cell_length(cell) for cell in (width, height) if cell]
    lengths = [length for length in cells if length is not None]
    if not lengths or len(lengths) < len(cells):
        return None
    scale = unit or _scale_of(lengths, imperial)
    values = [length.metres(scale) for length in lengths]
    if any(v is None for v in values):
        return None
    sized = OpeningSize(_rounded(values[0]) if width else None, _rounded(values[-1]) if height else None)
    bottom = _cell_length(sill) if sill else None
    if bottom is not None:
        low = bottom.metres(unit) if unit or bottom.unit else _sill_of(str(bottom.value), "")
        sized = replace(sized, sill_m=_rounded(low))
    return _checked(sized)


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def _cell_length(cell: str) -> Length | None:
    """The one length that a cell holds, or None: '910', '1 500', '2 x 750'."""
    cell = _THOUSANDS.sub("", cell)
    if several := _SEVERAL.fullmatch(cell.strip()):
        return Length(int(several[1]) * _value(several[2]), None, cell)
    lengths = read_lengths(cell).lengths
    if len(lengths) != 1 or re.search(r"[^\W\d_]{3,}", cell.replace(lengths[0].text, "", 1)):
        return None
    return lengths[0]


_THOUSANDS = re.compile(r"(?<=\b\d)[  '](?=\d{3}\b)")
"""A space or stroke that parts thousands."""
_SEVERAL = re.compile(r"([2-4])\s*[x×]\s*(\d{3,4})")
"""Leaves of one width side by side."""
