"""Whether a text names a room, and what kind of room. Words are data: ``takeoff/data/room_words.toml``.

Terms:
  head    the word that carries the meaning of a name of several words: 'bathroom store' is a store, 'cocina comedor'
          a kitchen; languages differ in where they put it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from takeoff.data import load
from takeoff.plan.layers import REMEMBERED, by_first_letter, fold, within_one_edit

__all__ = ["NOT_PLASTERED", "ROOM_KINDS", "RoomName", "is_note", "is_object", "numbered_room", "room_name"]

ROOM_KINDS = (
    "room",
    "wet room",
    "kitchen",
    "hall",
    "stair",
    "garage",
    "store",
    "plant",
    "shaft",
    "void",
    "outdoor",
    "dwelling",
)
NOT_PLASTERED = frozenset({"outdoor", "void", "shaft"})
"""Kinds that are no rooms to plaster."""

_LONGEST_NAME_WORDS = 6
_ABBREVIATION = 2
"""So short a word ('du', 'ch', 'st') names a room among more words only where it is printed in capitals."""
_SHORTEST_COMPOUND = 4
_SHORTEST_TYPO = 6
_OWN_SCRIPT = re.compile(r"[\u0590-\u06ff\u3040-\u30ff\u3400-\u9fff\uff66-\uff9f]")
_COUNTED = re.compile(r"([^\W\d_]{2,}) ?\d{1,2}")
_LIVED_IN = frozenset({"room", "wet room"})
_SAYS_LITTLE = frozenset({"room", "rm", "raum", "rum", "ruimte", "sala", "salle"})
_LIST = re.compile(r"[/+&]|\by\b|\band\b|\bund\b|\bet\b")


@dataclass(frozen=True, slots=True)
class RoomName:
    """What a text says when it names a room."""

    kind: str
    """One of `ROOM_KINDS`."""
    confidence: float
    """0-1: 0.95 for a word known as it stands, less for a part of a word or a misspelling."""
    word: str
    """The word that was recognised."""


@dataclass(frozen=True, slots=True)
class _Words:
    whole: dict[str, tuple[str, bool]]
    """word or phrase -> (kind, its language puts the head first)."""
    own_script: tuple[tuple[str, str], ...]
    endings: frozenset[str]
    """Words that may end a longer one."""
    longest: int
    long: dict[str, tuple[str, ...]]
    """The words that may be misspelt, by their first letter."""


@cache
def _table() -> _Words:
    data = load("room_words")
    head_first = set(data["head_first"])
    whole: dict[str, tuple[str, bool]] = {}
    own: list[tuple[str, str]] = []
    endings = {*data["compound_endings"], *data["short_endings"]}
    for kind, languages in data["rooms"].items():
        for language, words in languages.items():
            for word in words:
                if _OWN_SCRIPT.search(word):
                    own.append((word, kind))
                for spelling in _spellings(word):
                    whole.setdefault(spelling, (kind, language in head_first))
                    if language in data["compounding"] and len(spelling) >= _SHORTEST_COMPOUND:
                        endings.add(spelling)
    own.sort(key=lambda pair: -len(pair[0]))
    longest = max(w.count(" ") + 1 for w in whole)
    long = by_first_letter(w for w in whole if len(w) >= _SHORTEST_TYPO)
    return _Words(whole, tuple(own), frozenset(endings & whole.keys()), longest, long)


def _spellings(word: str) -> set[str]:
    plain = " ".join(re.findall(r"\w+", fold(word)))
    return {plain, re.sub(r"(?<=[aou])e", "", plain)} if len(plain) > 3 else {plain}


@cache
def _listed(name: str) -> frozenset[str]:
    return frozenset(s for word in load("room_words")[name]["any"] for s in _spellings(word))


@lru_cache(maxsize=REMEMBERED)
def room_name(text: str) -> RoomName | None:
    """What room `text` names, or None when no known word is in it or it reads like a note.

    >>> room_name("MSTR. BATH").kind, room_name("Schlafzimmer 2").kind, room_name("see detail")
    ('wet room', 'room', None)
    """
    if _OWN_SCRIPT.search(text):
        own = _own_script_name(text)
        if own is not None:
            return own
    tokens = [t for t in re.findall(r"[^\W\d_]+", fold(text)) if t]
    if not tokens or len(tokens) > _LONGEST_NAME_WORDS:
        return None
    found = [f for f in _known(tokens) if len(tokens) <= 2 or len(f[4]) > _ABBREVIATION or f[4].upper() in text]
    void = next((f for f in found if f[1] == "void" and f[3] > 0.9), None)
    if void is not None:
        return RoomName("void", void[3], void[4])
    if not found or (len(tokens) > 2 and is_note(text)):
        return None
    kind, confidence, word = _head(text, found)
    if len(tokens) == 1 and is_object(text) and len(word) <= 2:
        return None
    return RoomName(kind, confidence, word)


@lru_cache(maxsize=REMEMBERED)
def numbered_room(text: str) -> RoomName | None:
    """What room `text` names when it is a short word for a room and its count, which might be a code: 'Bed 1', 'WC 2'.

    >>> numbered_room("Bed 1").word, numbered_room("BR2").word, numbered_room("A 101"), numbered_room("RM 2")
    ('bed', 'br', None, None)
    """
    match = _COUNTED.fullmatch(text)
    known = room_name(match[1]) if match else None
    if match is None or known is None or known.word != fold(match[1]) or known.word in _SAYS_LITTLE:
        return None
    if len(known.word) <= _ABBREVIATION and not (match[1].isupper() and known.kind in _LIVED_IN):
        return None
    return None if known.kind == "dwelling" else known


def is_note(text: str) -> bool:
    """Whether `text` holds a word that only notes, titles and specifications have."""
    return _holds(text, _listed("notes"))


def is_object(text: str) -> bool:
    """Whether `text` as a whole names a thing in a room ('UP', 'fridge'), not the room."""
    plain = " ".join(re.findall(r"\w+", fold(text)))
    return plain in _listed("objects")


def _holds(text: str, listed: frozenset[str]) -> bool:
    if _OWN_SCRIPT.search(text) and any(w in text for w in listed if _OWN_SCRIPT.search(w)):
        return True
    tokens = re.findall(r"\w+", fold(text).replace("walk in", "walkin"))
    return any(" ".join(tokens[i : i + n]) in listed for n in (1, 2, 3) for i in range(len(tokens) - n + 1))


def _own_script_name(text: str) -> RoomName | None:
    for word, kind in _table().own_script:
        if word in text:
            sure = 0.95 if len(text) <= len(word) + 4 else 0.6
            return RoomName(kind, sure, word) if len(text) <= 4 * len(word) + 4 else None
    return None


def _known(tokens: list[str]) -> list[tuple[int, str, bool, float, str]]:
    """(place, kind, head first, confidence, word) of every known word or phrase, longest phrases first."""
    table = _table()
    taken: set[int] = set()
    found = []
    for size in range(min(table.longest, len(tokens)), 0, -1):
        for i in range(len(tokens) - size + 1):
            places = set(range(i, i + size))
            phrase = " ".join(tokens[i : i + size])
            if not places & taken and phrase in table.whole:
                kind, first = table.whole[phrase]
                found.append((i, kind, first, 0.95, phrase))
                taken |= places
    for i, token in enumerate(tokens):
        if i not in taken and (part := _compound(token)):
            found.append((i, *part))
    return sorted(found)


@lru_cache(maxsize=REMEMBERED)
def _compound(token: str) -> tuple[str, bool, float, str] | None:
    """Kind, head first, confidence and word for a token that ends with, or nearly is, a known word."""
    whole = _table().whole
    for start in range(1, len(token) - 2):
        if (tail := token[start:]) in _table().endings:
            return (*whole[tail], 0.8, tail)
    if len(token) > _SHORTEST_COMPOUND and token.endswith("s") and token[:-1] in whole:
        return (*whole[token[:-1]], 0.9, token[:-1])
    if len(token) >= _SHORTEST_TYPO:
        near = [w for w in _table().long.get(token[0], ()) if within_one_edit(token, w)]
        if near:
            return (*whole[min(near)], 0.7, min(near))
    return None


def _head(text: str, found: list[tuple[int, str, bool, float, str]]) -> tuple[str, float, str]:
    """Kind, confidence and word of the head of the name."""
    outdoors = [f for f in found if f[1] == "outdoor" and f[3] > 0.9]
    dwelling = [f for f in found if f[1] != "dwelling"] or found
    if _LIST.search(fold(text)):
        chosen = dwelling[0]
    elif len(outdoors) == len(dwelling) or (outdoors and dwelling[-1] == outdoors[-1]):
        chosen = outdoors[-1]
    else:
        telling = [f for f in dwelling if f[4] not in _SAYS_LITTLE] or dwelling
        chosen = telling[0] if telling[0][2] else telling[-1]
    return chosen[1], chosen[3], chosen[4]
