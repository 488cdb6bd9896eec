"""What one printed line of text says: a room's name, its number, an area, a size, a height, a tag, a note ...

Terms:
  line     one text of the drawing, freed of control codes.
  wrapped  a line that goes on from the one before it, because its box is no wider.
  reading  what the line is (`KINDS`) and the figures in it. A line is read alone; `labels` weighs it with its
           neighbours.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from takeoff.drawing.model import Drawing, Text, as_read
from takeoff.plan._height_texts import height_in, height_words_of
from takeoff.plan._printed import Area, area_of, size_of
from takeoff.plan._room_words import RoomName, is_note, is_object, numbered_room, room_name
from takeoff.plan.layers import REMEMBERED, fold

__all__ = ["KINDS", "Reading", "lines_of", "plain", "read_line"]

KINDS = (
    "name",
    "number",
    "area",
    "size",
    "height",
    "level",
    "opening",
    "dwelling",
    "object",
    "scale",
    "coordinate",
    "note",
    "value",
    "word",
    "other",
)

_LONGEST_READ = 120
"""A longer text is a note, whatever is in it."""
_LONGEST_NUMBER = 4
_LONGEST_NAME = 40
_MOST_NAME_WORDS = 5

_NUMBER = re.compile(
    r"^(?:no?\.?|nr\.?|#|r\.?|room|raum|rm)?\s*[a-z]{0,3}[-. ]?\d{1,4}(?:[.\-/]\d{1,3}){0,2}\s?[a-z]?$", re.IGNORECASE
)
_NUMBERED_NAME = re.compile(
    r"^\(?([A-Z]{0,2}\d{1,4}(?:\.\d{1,3})?[A-Z]?(?=\)?\s*[-–:.)])|[A-Z]?\d{3,4}[A-Z]?|\d{1,2}\.\d{1,3})"
    r"\)?\s*[-–:.)]?\s+(\D.{2,})$"
)
"""'1 - Living room', '101 Entry', '0.12 Flur'; but '2 Car garage' is all name."""
_NAME_NUMBERED = re.compile(r"^(\D.{2,}?)\s*[-–:,]\s*([A-Z]{0,2}\d{2,4}(?:\.\d{1,3})?[A-Z]?)$")
_LEVEL = re.compile(
    r"^(?:ffl|ssl|fcl|okff?|okrf|ukd|ffb|n\.?p\.?t\.?|nivel|niv|el|lvl|level|n)?\.?\s*[:=]?\s*[+\-±−]\s*\d{1,4}(?:[.,]\d{1,3})?\s*m?$"
    r"|^(?:ffl|ssl|okff?|okrf)\b|^±",
    re.IGNORECASE,
)
_OPENING = re.compile(
    r"^(?:d|w|t|f|dr|wd|win|v|p|j|pv|ft|dk|o|ed|id|gd)[-. ]?\d{1,3}[a-z]?$|^[1-9]\d?\d{2}[068]8\b"
    r"|\b(?:s\.?g\.?d|o\.?h\.? door|xo|bifold)\b",
    re.IGNORECASE,
)
_SCALE = re.compile(
    r"^(?:scale|m|masstab|massstab|esc|escala|ech|echelle|scala|skala|schaal)?\.?\s*[:=]?\s*1\s?[:/]\s?\d{1,4}(?:\s*@\s*a\d)?$",
    re.IGNORECASE,
)
_COORDINATE = re.compile(
    r"^(?:[(\[]\s*-?\d+(?:\.\d+)?\s*[,;]\s*-?\d+(?:\.\d+)?\s*[)\]]|[xyen]\s*[=:]\s*-?\d+(?:\.\d+)?.*"
    r"|-?\d+(?:\.\d+)?\s*[,;]\s+-?\d+(?:\.\d+)?)$",
    re.IGNORECASE,
)
_VALUE = re.compile(r"^[<~≈ø∅φ@]?\s*\d+(?:[.,]\d+)*\s*(?:mm|cm|m|%|°|kg|kn|w)?\.?$", re.IGNORECASE)
_DWELLING = re.compile(
    r"^(?:type|unit|apt|apartment|flat|wohnung|whg|we|typ|tipo|lot|logement|dpto|depto|mieszkanie|appartement)\b",
    re.IGNORECASE,
)
_CODES = re.compile(r"%%[uoUO]|\^[IJM ]|\\[PpLlOoKk]")


@dataclass(frozen=True, slots=True)
class Reading:
    """What a line of text says when read alone."""

    kind: str
    """One of `KINDS`."""
    name: str = ""
    number: str = ""
    room: RoomName | None = None
    area: Area | None = None
    size: tuple[float, float] | None = None
    """Printed figures as they stand; metres when `size_unit` says so."""
    sized_in_metres: bool = False


_FIGURES = frozenset({"area", "size", "height"})


def lines_of(drawing: Drawing) -> tuple[Text, ...]:
    """The texts of `drawing` that say anything, wrapped lines joined; but what was wrapped before a figure that says
    something by itself stays apart: 'Living room 21.50 m2' in a narrow box is a name and an area."""
    texts = tuple(text for text in drawing.texts if plain(text.value))
    if not any(text.wraps for text in texts):
        return texts
    return as_read(tuple(_apart(text) if text.wraps else text for text in texts))


def _apart(text: Text) -> Text:
    return replace(text, wraps=read_line(plain(text.value)).kind not in _FIGURES)


@lru_cache(maxsize=REMEMBERED)
def plain(text: str) -> str:
    """`text` freed of underline and other control codes, spaces run together."""
    text = _CODES.sub(" ", text).replace("%%d", "°").replace("%%c", "ø").replace("%%p", "±")
    return re.sub(r"\s+", " ", text).strip(" \t_;") if text.strip(". ") else ""


@lru_cache(maxsize=REMEMBERED)
def read_line(text: str) -> Reading:
    """What `text` (already `plain`) says.

    >>> read_line("12.5 m2").kind, read_line("Bedroom 2").kind, read_line("1 - Living room").number
    ('area', 'name', '1')
    """
    if not re.search(r"\w", text):
        return Reading("other")
    if len(text) > _LONGEST_READ:
        return Reading("note")
    if text.isdigit() and len(text) <= _LONGEST_NUMBER:
        return Reading("number", number=text)
    for kind, pattern in (("scale", _SCALE), ("coordinate", _COORDINATE)):
        if pattern.match(text):
            return Reading(kind)
    if (area := area_of(text)) is not None:
        return Reading("area", area=area)
    if (size := size_of(text)) is not None:
        return Reading("size", size=size.lengths, sized_in_metres=size.in_metres)
    if _DWELLING.match(text) and len(text) < 20:
        return Reading("dwelling", number=text)
    if _states_height(text):
        return Reading("height")
    for kind, pattern in (("level", _LEVEL), ("opening", _OPENING)):
        if pattern.search(fold(text)):
            return Reading(kind)
    return _name_reading(text)


def _states_height(text: str) -> bool:
    """A height, or the words for one whose figure stands beside them."""
    if re.search(r"\d", text):
        return height_in(text) is not None
    kind = height_words_of(fold(text))
    return kind in {"ceiling", "beam"} or (kind != "" and not text.isascii() and room_name(text) is None)


def _name_reading(text: str) -> Reading:
    for pattern, name_at, number_at in ((_NUMBERED_NAME, 2, 1), (_NAME_NUMBERED, 1, 2)):
        match = pattern.match(text)
        if match and (room := room_name(match.group(name_at))):
            return Reading("name", name=match.group(name_at), number=match.group(number_at), room=room)
    if room := numbered_room(text):
        return Reading("name", name=text, room=room)
    if _NUMBER.match(text):
        return Reading("number", number=text)
    if _VALUE.match(text):
        return Reading("value")
    if is_object(text):
        return Reading("object")
    if len(text) <= _LONGEST_NAME and (room := room_name(text)):
        return Reading("dwelling" if room.kind == "dwelling" else "name", name=text, room=room)
    words = re.findall(r"[^\W\d_]{2,}", text)
    if is_note(text) or len(text) > _LONGEST_NAME or len(words) > _MOST_NAME_WORDS:
        return Reading("note")
    letters = sum(c.isalpha() for c in text)
    return Reading("word", name=text) if words and letters >= 0.6 * len(text.replace(" ", "")) else Reading("other")
