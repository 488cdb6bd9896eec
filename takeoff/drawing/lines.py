"""LINE entities read without ezdxf: plain lines are most of many plans, and an entity of each is most of loading them.

Terms:
  body        the pairs of lines of text (group code, value) that make up an entity, after its name.
  plain line  a LINE whose body holds what ordinary ones hold, each once; ezdxf takes its values as they stand.
  leader      the first plain line of a run: it goes to ezdxf like any other entity and keeps the run's place.
  follower    a plain line right behind it that has the same owner. Followers are kept here, and stand behind their
              leader again when entities are gathered (`together`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ezdxf.lldxf.types import TYPE_TABLE
from ezdxf.math import Vec3

__all__ = ["Followers", "Runs", "together"]

Body = Sequence[tuple[str, str]]

_MARKER = 100
_HANDLE, _OWNER, _LAYER, _LINETYPE, _COLOUR = 5, 330, 8, 6, 62
_START, _END, _EXTRUSION = (10, 20, 30), (11, 21, 31), (210, 220, 230)
_NEEDED = frozenset({_HANDLE, _LAYER, *_START, *_END})
_LOOKS = frozenset({39, 48, 284, 347, 348, 370, 380, 390, 410, 420, 430, 440})
"""Thickness, line weight and other looks that nothing here reads (DXF reference, common group codes)."""
_KNOWN = _NEEDED | _LOOKS | {_MARKER, _OWNER, _LINETYPE, _COLOUR, *_EXTRUSION}


class _Attributes:
    """Attributes as ezdxf's entities have them, by name."""


class _PlainLine:
    """What is read of a LINE, as of an entity of ezdxf."""

    __slots__ = ("dxf",)
    DXFTYPE = "LINE"

    def __init__(self, have: dict[str, Any]) -> None:
        self.dxf = _Attributes()
        self.dxf.__dict__ = have

    def dxftype(self) -> str:
        return self.DXFTYPE


Followers = Mapping[str, Sequence[_PlainLine]]
"""By the handle of their leader, in their order."""


def together(document: Any, entities: Iterable[Any]) -> Iterator[Any]:
    """`entities` of `document` with each leader's followers behind it."""
    followers: Followers = getattr(document, "followers", {})
    for entity in entities:
        yield entity
        if entity.DXFTYPE == "LINE":
            yield from followers.get(entity.dxf.handle, ())


@dataclass(frozen=True, slots=True)
class _Places:
    """Where in the body of a plain line its values stand; -1 for what it does not have."""

    handle: int
    owner: int
    layer: int
    linetype: int
    colour: int
    start: int
    end: int
    checked: tuple[tuple[int, Callable[[str], float]], ...]
    """Numbers that nothing here reads, but that must be numbers."""


class Runs:
    """Takes the plain lines out of a stream of bodies, leaders left in."""

    def __init__(self) -> None:
        self.followers: dict[str, list[_PlainLine]] = {}
        self._handles: set[str] = set()
        """Of the lines left to ezdxf."""
        self._leader, self._owner = "", ""
        self._places: dict[tuple[str, ...], _Places | None] = {}
        """By the group codes of a body as they stand; a file has few different ones."""

    def interrupted(self) -> None:
        """Something else than a line comes: the run ends."""
        self._leader = ""

    def takes(self, body: Body) -> bool:
        """Is the line with this `body` kept here? Raises `ValueError` for what is no number, or a handle met again."""
        codes, values = zip(*body, strict=True) if body else ((), ())
        if codes not in self._places:
            self._places[codes] = _places([int(code) for code in codes])
        at = self._places[codes]
        handle = "" if at is None else values[at.handle].rstrip("\n")
        if at is None or int(handle, 16) <= 0:
            self._leader = ""
            self._left_to_ezdxf(next((value.rstrip("\n") for code, value in body if int(code) == _HANDLE), ""))
            return False
        owner = values[at.owner] if at.owner >= 0 else ""
        if not self._leader or owner != self._owner:
            self._leader, self._owner = handle, owner
            self._left_to_ezdxf(handle)
            return False
        self.followers.setdefault(self._leader, []).append(_line(handle, values, at))
        return True

    def _left_to_ezdxf(self, handle: str) -> None:
        if handle in self._handles:
            raise ValueError(f"handle {handle} stands twice")
        if handle:
            self._handles.add(handle)


def _places(codes: list[int]) -> _Places | None:
    """The places of the values in a body with these group `codes`, None for one that is no plain line's."""
    once = [code for code in codes if code != _MARKER]
    place = {code: number for number, code in enumerate(codes)}
    plain = len(set(once)) == len(once) and _NEEDED <= place.keys() <= _KNOWN
    head = codes[: codes.index(_MARKER)] if _MARKER in codes else codes
    plain = plain and _HANDLE in head and (_OWNER in head) == (_OWNER in codes)
    points = [_START, _END, *([_EXTRUSION] if place.keys() & set(_EXTRUSION) else [])]
    if not plain or any(place.get(b) != place.get(a, -9) + 1 for point in points for a, b in pairwise(point)):
        return None
    read = _NEEDED | {_COLOUR}
    numbers = ((number, TYPE_TABLE.get(code, str)) for code, number in place.items() if code not in read)
    return _Places(
        place[_HANDLE], place.get(_OWNER, -1), place[_LAYER], place.get(_LINETYPE, -1), place.get(_COLOUR, -1),
        place[_START[0]], place[_END[0]], tuple((n, kind) for n, kind in numbers if kind is not str),
    )  # fmt: skip


def _line(handle: str, values: Sequence[str], at: _Places) -> _PlainLine:
    have: dict[str, Any] = {"handle": handle, "layer": values[at.layer].rstrip("\n")}
    if at.linetype >= 0:
        have["linetype"] = values[at.linetype].rstrip("\n")
    if at.colour >= 0:
        have["color"] = int(values[at.colour])
    have["start"] = Vec3(*map(float, values[at.start : at.start + 3]))
    have["end"] = Vec3(*map(float, values[at.end : at.end + 3]))
    for number, kind in at.checked:
        kind(values[number])
    return _PlainLine(have)
