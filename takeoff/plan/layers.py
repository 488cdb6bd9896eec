"""What each layer of a drawing seems to be for, from its name: a hint beside the geometry, never a gate.

Terms:
  role      what the things on a layer are: wall, door, text, furniture ... (`ROLES`).
  token     one word of a layer name, folded: lower case, accents off, split at punctuation, digits and capitals.
  code      a published classification inside the name: US National CAD Standard groups, CI/SfB or Uniclass elements,
            ISO 13567 fields.
  detail    what else the name says: 'low' (stops below the ceiling), 'overhead', 'external', 'internal'.

Words and codes are data: ``takeoff/data/layer_words.toml``.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from takeoff.data import load
from takeoff.drawing.model import Drawing, Layer

__all__ = [
    "NOT_FABRIC", "REMEMBERED", "ROLES", "Role", "by_first_letter", "fold", "layer_roles", "role_of", "tokens_of",
    "within_one_edit",
]

ROLES = (
    "wall", "column", "door", "window", "opening", "furniture", "services", "stairs", "text", "dimension", "grid",
    "hatch", "sheet", "roof", "outdoor", "ceiling", "structure", "room outline", "unknown",
)

NOT_FABRIC = frozenset({"text", "dimension", "grid", "sheet", "furniture", "services", "roof", "outdoor", "ceiling"})
"""Roles whose line work bounds no room (if the geometry does not say otherwise)."""

_SPEAKS_FIRST = (
    "dimension", "text", "hatch", "sheet", "grid", "structure", "services", "furniture", "stairs", "outdoor", "roof",
    "opening", "door", "window", "ceiling", "column", "room outline", "wall",
)
"""Which role a name with several means: 'wall text' is text, 'garden wall' is outdoors, 'stair wall' is stairs."""

REMEMBERED = 1 << 15
"""So many texts are remembered with what they mean: drawings repeat themselves."""
_EXACT, _COMPOUND, _TYPO, _WEAK = 0.9, 0.75, 0.6, 0.35
_CODE = 0.85
_SHORTEST_INSIDE = 5
"""A shorter word counts only at the start or end of a token ('mur' inside 'demure' is no wall)."""
_SHORTEST_AFFIX = 4
_SHORTEST_TYPO = 6
_LETTERS = str.maketrans({"ø": "o", "æ": "ae", "å": "a", "ł": "l", "ß": "ss", "đ": "d", "œ": "oe", "ı": "i"})
_XREF = re.compile(r"^.*(?:\$\d+\$|\|)")
_OWN_SCRIPT = re.compile(r"[\u0590-\u06ff\u3040-\u30ff\u3400-\u9fff]")


@dataclass(frozen=True, slots=True)
class Role:
    """What a layer seems to be for."""

    name: str = "unknown"
    """One of `ROLES`."""
    confidence: float = 0.0
    """0-1: 0 when the name says nothing."""
    status: str = ""
    """'new', 'existing', 'remove', 'temporary' or '' when the name does not say."""
    detail: str = ""
    """'low', 'overhead', 'external', 'internal' or ''."""
    why: str = ""
    """The word or code that decided, for people."""


def layer_roles(drawing: Drawing) -> tuple[Role, ...]:
    """One `Role` per layer of `drawing`, in the order of ``drawing.layers``: by its name, unless it is known to hold
    walls. A pen has no name that could say anything.
    """
    return tuple(Role() if layer.pen_of else _known(layer) or role_of(layer.name) for layer in drawing.layers)


def _known(layer: Layer) -> Role | None:
    """The role of a layer that is known to hold walls, whatever it is called."""
    own = role_of(layer.name)
    if not layer.walls or own.name in ("wall", "column"):
        return None
    return Role("wall", _EXACT, own.status, own.detail, "its drawing read by itself")


@lru_cache(maxsize=REMEMBERED)
def role_of(name: str) -> Role:
    """The role that the layer name `name` suggests.

    >>> role_of("house$0$A-WALL").name, role_of("TÜREN").name, role_of("A-DOOR-IDEN").name
    ('wall', 'door', 'text')
    """
    own = _XREF.sub("", name)
    words = tokens_of(own)
    joined = " ".join(words)
    coded, code_status = _code_hits(own)
    named_by_code = bool(coded) and _NCS.match(own.strip().upper()) is not None
    hits = [] if named_by_code else _word_hits(own, words, joined)
    status = code_status or _first_named(_table().status, words, joined, own)
    detail = _first_named(_table().detail, words, joined, own)
    role, confidence, why = _decide(hits, coded)
    return Role(role, confidence, status, detail, why)


@lru_cache(maxsize=REMEMBERED)
def fold(text: str) -> str:
    """`text` in lower case without accents: 'TÜR' -> 'tur', 'Żaluzja' -> 'zaluzja'."""
    if text.isascii():
        return text.lower()
    plain = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    return "".join(c for c in plain if not unicodedata.combining(c)).casefold().translate(_LETTERS)


def tokens_of(text: str) -> list[str]:
    """The folded words of `text`, split at punctuation, digits and inner capitals."""
    spaced = re.sub(r"(?<=[a-zß-ÿ])(?=[A-Z])", " ", text)
    return re.findall(r"[^\W\d_]+", fold(spaced))


def by_first_letter(words: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """The `words` by their first letter, which a misspelling leaves alone."""
    found: dict[str, list[str]] = {}
    for word in words:
        found.setdefault(word[0], []).append(word)
    return {letter: tuple(own) for letter, own in found.items()}


def within_one_edit(a: str, b: str) -> bool:
    """Whether one letter added, dropped, changed or swapped with its neighbour turns `a` into `b`."""
    if abs(len(a) - len(b)) > 1:
        return False
    start = next((i for i, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    x, y = a[start:], b[start:]
    return x[1:] == y[1:] or x[1:] == y or x == y[1:] or (x[1::-1] == y[:2] and x[2:] == y[2:])


@dataclass(frozen=True, slots=True)
class _Words:
    """The shipped words, folded and arranged for look-up."""

    strong: dict[str, frozenset[str]]
    weak: dict[str, frozenset[str]]
    long: dict[str, tuple[str, ...]]
    """The strong words that may be misspelt, by their first letter."""
    phrases: tuple[tuple[str, str], ...]
    """(phrase, role), longest first."""
    own_script: tuple[tuple[str, str], ...]
    """(word, role) in scripts written without spaces, longest first."""
    status: tuple[tuple[str, str], ...]
    detail: tuple[tuple[str, str], ...]


@cache
def _table() -> _Words:
    data = load("layer_words")
    strong: dict[str, set[str]] = {}
    weak: dict[str, set[str]] = {}
    phrases: list[tuple[str, str]] = []
    own_script: list[tuple[str, str]] = []
    for role, languages in data["words"].items():
        for word in _spellings(w for words in languages.values() for w in words):
            if _OWN_SCRIPT.search(word):
                own_script.append((word, role))
            elif " " in word:
                phrases.append((word, role))
            else:
                strong.setdefault(word, set()).add(role)
    for role, languages in data["weak"].items():
        for word in _spellings(w for words in languages.values() for w in words):
            weak.setdefault(word, set()).add(role)
    return _Words(
        {w: frozenset(r) for w, r in strong.items()},
        {w: frozenset(r) for w, r in weak.items()},
        by_first_letter(w for w in strong if len(w) >= _SHORTEST_TYPO),
        _longest_first(phrases),
        _longest_first(own_script),
        _named(data["status"]),
        _named(data["detail"]),
    )


def _spellings(words: Iterable[str]) -> list[str]:
    """Each word folded, and its German form without the e that stands for dots: 'tuer' and 'tur'."""
    found: dict[str, None] = {}
    for word in words:
        folded = " ".join(fold(word).replace("-", " ").split())
        found[folded] = None
        found[re.sub(r"(?<=[aou])e", "", folded) if re.search(r"[aou]e", folded) else folded] = None
    return list(found)


def _longest_first(pairs: list[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(pairs, key=lambda pair: (-len(pair[0]), pair)))


def _named(table: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    return tuple((word, name) for name, row in table.items() for word in _spellings(row["words"]))


def _word_hits(own: str, words: list[str], joined: str) -> list[tuple[str, float, str]]:
    """(role, confidence, word) for every word of the name that is known."""
    table = _table()
    hits = [(role, _EXACT, phrase) for phrase, role in table.phrases if f" {phrase} " in f" {joined} "]
    rest = joined
    for phrase, _role in table.phrases:
        rest = f" {rest} ".replace(f" {phrase} ", " ").strip()
    for token in rest.split():
        hits += _token_hits(token)
    if _OWN_SCRIPT.search(own):
        hits += _own_script_hits(fold(own))
    weak = [(role, _WEAK, w) for w in dict.fromkeys([joined, *words]) for role in sorted(table.weak.get(w, ()))]
    return [hit for hit in hits if hit[1] > _TYPO] or weak or hits


@lru_cache(maxsize=REMEMBERED)
def _token_hits(token: str) -> list[tuple[str, float, str]]:
    strong = _table().strong
    if token in strong:
        return [(role, _EXACT, token) for role in sorted(strong[token])]
    inside = sorted((w for w in _parts_of(token) if w in strong), key=lambda w: (-len(w), w))
    covered: list[str] = []
    for word in inside:
        if not any(word in longer for longer in covered):
            covered.append(word)
    if covered:
        return [(r, _WEAK if r == "room outline" else _COMPOUND, w) for w in covered for r in sorted(strong[w])]
    if len(token) >= _SHORTEST_TYPO:
        near = [w for w in _table().long.get(token[0], ()) if within_one_edit(token, w)]
        return [(role, _TYPO, word) for word in sorted(near) for role in sorted(strong[word])]
    return []


def _parts_of(token: str) -> set[str]:
    """What a word may be of a longer token: short ones only its beginning or end."""
    count = len(token)
    inner = {token[i:j] for i in range(count) for j in range(i + _SHORTEST_INSIDE, count + 1)}
    ends = range(_SHORTEST_AFFIX, _SHORTEST_INSIDE)
    return inner | {token[:n] for n in ends if n < count} | {token[-n:] for n in ends if n < count}


def _own_script_hits(text: str) -> list[tuple[str, float, str]]:
    hits = []
    for word, role in _table().own_script:
        if word in text:
            hits.append((role, _EXACT, word))
            text = text.replace(word, " ")
    return hits


def _decide(
    hits: list[tuple[str, float, str]], coded: list[tuple[str, float, str]]
) -> tuple[str, float, str]:
    """The role that speaks first among words and codes, its confidence and the word or code that decided."""
    spoken = hits + coded
    roles = {role for role, _, _ in spoken if role in _SPEAKS_FIRST}
    if {"door", "window"} <= roles:
        spoken = [*spoken, ("opening", _COMPOUND, "doors and windows")]
        roles.add("opening")
    for role in _SPEAKS_FIRST:
        if role in roles:
            confidence, why = max((c, w) for r, c, w in spoken if r == role)
            return role, confidence, why
    return "unknown", 0.0, ""


def _first_named(
    table: tuple[tuple[str, str], ...], words: list[str], joined: str, own: str
) -> str:
    for word, name in table:
        if _OWN_SCRIPT.search(word):
            named = word in own
        elif " " in word:
            named = f" {word} " in f" {joined} "
        else:
            named = word in words or (len(word) >= _SHORTEST_TYPO and any(t.startswith(word) for t in words))
        if named:
            return name
    return ""


_NCS = re.compile(r"^([A-Z]{1,2})-([A-Z]{4})(?=-|$)((?:-[A-Z0-9]{1,4})*)")
_BS_1192 = re.compile(r"^[A-Z]{1,2}-?\s?([A-Z]?\d{2,4}(?!\d))(?:-([A-Z])\d?(?=[_-]|$))?")
_ISO_13567 = re.compile(r"^[A-Z][A-Z0-9-]([A-Z0-9-]{6})([A-Z])[A-Z0-9-]([NERT-]?)")


def _code_hits(own: str) -> tuple[list[tuple[str, float, str]], str]:
    """(role, confidence, code) from the published codes in the name, and the status one of them gives."""
    name = own.strip().upper()
    codes = load("layer_words")["codes"]
    if match := _NCS.match(name):
        return _ncs_hits(match, codes["ncs"])
    if (match := _ISO_13567.match(name)) and "-" in name[2:10] and re.search(r"\d\d", match.group(1)):
        element, presentation, status = match.groups()
        hits = _element_hits(element.strip("-"), codes) + _presentation_hits(presentation, codes)
        return hits, codes["iso_status"].get(status, "")
    if match := _BS_1192.match(name):
        hits = _element_hits(match.group(1), codes)
        return (hits + _presentation_hits(match.group(2) or "", codes) if hits else []), ""
    return [], ""


def _ncs_hits(match: re.Match[str], ncs: dict[str, Any]) -> tuple[list[tuple[str, float, str]], str]:
    fields = [field for field in match.group(3).split("-") if field]
    hits = [(ncs["minor"][field], _CODE, field) for field in fields if field in ncs["minor"]]
    major = ncs["major"].get(match.group(2), "unknown")
    overruled = hits and match.group(2) in {"FLOR", "ANNO", "AREA", "ROOF"}
    if major != "unknown" and not overruled:
        hits.append((major, _EXACT, match.group(2)))
    status = ncs["status"].get(fields[-1], "") if fields and len(fields[-1]) == 1 else ""
    return hits, status


def _element_hits(element: str, codes: dict[str, Any]) -> list[tuple[str, float, str]]:
    """A Uniclass or CI/SfB element number; longer numbers say more than is needed."""
    role = codes["uniclass"].get(element[:3]) or codes["cisfb"].get(element.lstrip("ABCDEFGH")[:2])
    return [(role, _CODE, element)] if role else []


def _presentation_hits(letter: str, codes: dict[str, Any]) -> list[tuple[str, float, str]]:
    role = codes["presentation"].get(letter)
    return [(role, _CODE, f"presentation {letter}")] if role else []
