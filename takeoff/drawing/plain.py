"""Plain entities read without ezdxf: they are most of many plans, and an entity of each is most of loading them.

Terms:
  body          the pairs of lines of text (group code, value) that make up an entity, after its name.
  plain entity  one of the kinds `FORMS`, whose body holds what ordinary ones hold, each once; ezdxf takes its values as
                they stand.
  leader        the first plain entity of a run: it goes to ezdxf like any other entity and keeps the run's place.
  follower      a plain entity right behind it that has the same owner. Followers are kept here, and stand behind their
                leader again when entities are gathered (`together`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
from ezdxf.lldxf.types import TYPE_TABLE
from ezdxf.math import Vec3

__all__ = ["FORMS", "Followers", "Runs", "together"]

Body = Sequence[tuple[str, str]]
Vertices = np.ndarray[Any, np.dtype[np.float64]]

_MARKER = 100
_HANDLE, _OWNER, _LAYER, _LINETYPE, _COLOUR = 5, 330, 8, 6, 62
_COMMON = {"linetype": _LINETYPE, "color": _COLOUR}
_TURNED = {"extrusion": 210}
_EXTENDED, _EXTENDED_POINTS, _EXTENDED_BYTES = 1000, range(1010, 1020), 1004
"""Group codes from which on programs put data of their own behind an entity; of points and of bytes in it."""
_LOOKS = frozenset({39, 48, 284, 347, 348, 370, 380, 390, 410, 420, 430, 440})
"""Thickness, line weight and other looks that nothing here reads (DXF reference, common group codes)."""
_VERTEX = 10
_WIDTHS_AND_BULGE = {40: 2, 41: 3, 42: 4}
"""Column in which ezdxf keeps what may follow a vertex."""


@dataclass(frozen=True)
class _Form:
    """What an ordinary body holds beside handle, owner, layer and looks, by ezdxf's names (DXF reference, ENTITIES)."""

    points: Mapping[str, int]
    """First group code of three coordinates."""
    values: Mapping[str, int] = field(default_factory=dict)
    optional: frozenset[str] = frozenset()
    """Of the points and values."""
    unread: frozenset[int] = frozenset()
    """Group codes of what nothing here reads."""
    vertices: bool = False
    """A row of vertices ends the body."""


_POLYLINE = _Form(
    {}, {"flags": 70, "const_width": 43, "elevation": 38}, frozenset({"flags", "const_width", "elevation"}),
    unread=frozenset({90}), vertices=True,
)  # fmt: skip
_TEXT = _Form(
    {"insert": 10, "align_point": 11, **_TURNED},
    {"text": 1, "height": 40, "rotation": 50, "width": 41, "style": 7, "halign": 72, "valign": 73},
    frozenset({"align_point", "extrusion", "rotation", "width", "style", "halign", "valign"}),
    unread=frozenset({51, 71}),
)
_SCALED = {"xscale": 41, "yscale": 42, "zscale": 43, "rotation": 50}
_ARRAY = {"column_count": 70, "row_count": 71, "column_spacing": 44, "row_spacing": 45}
_INSERT = _Form(
    {"insert": 10, **_TURNED}, {"name": 2, **_SCALED, **_ARRAY}, frozenset({"extrusion", *_SCALED, *_ARRAY})
)
_OPTIONAL = frozenset(_TURNED)
FORMS: Mapping[str, _Form] = {
    "LINE": _Form({"start": 10, "end": 11, **_TURNED}, optional=_OPTIONAL),
    "POINT": _Form({"location": 10, **_TURNED}, optional=_OPTIONAL, unread=frozenset({50})),
    "CIRCLE": _Form({"center": 10, **_TURNED}, {"radius": 40}, _OPTIONAL),
    "ARC": _Form({"center": 10, **_TURNED}, {"radius": 40, "start_angle": 50, "end_angle": 51}, _OPTIONAL),
    "SOLID": _Form({**{f"vtx{n}": 10 + n for n in range(4)}, **_TURNED}, optional=_OPTIONAL),
    "TEXT": _TEXT,
    "INSERT": _INSERT,
    "LWPOLYLINE": _POLYLINE,
}
"""The kinds of entities that may be plain."""


class _Attributes:
    """Attributes as ezdxf's entities have them, by name."""


@dataclass(frozen=True, slots=True)
class _Points:
    """Vertices as ezdxf's polylines have them: x, y, both widths, bulge."""

    values: Vertices


class _PlainEntity:
    """What is read of an entity, as of one of ezdxf's."""

    __slots__ = ("DXFTYPE", "dxf", "lwpoints")
    attribs: Sequence[Any] = ()
    has_extension_dict = False

    def __init__(self, kind: str, have: dict[str, Any], vertices: Vertices | None) -> None:
        self.DXFTYPE = kind
        self.dxf = _Attributes()
        self.dxf.__dict__ = have
        if vertices is not None:
            self.lwpoints = _Points(vertices)

    def dxftype(self) -> str:
        return self.DXFTYPE


Followers = Mapping[str, Sequence[_PlainEntity]]
"""By the handle of their leader, in their order."""


def together(document: Any, entities: Iterable[Any]) -> Iterator[Any]:
    """`entities` of `document` with each leader's followers behind it."""
    followers: Followers = getattr(document, "followers", {})
    for entity in entities:
        yield entity
        if followers and entity.DXFTYPE in FORMS:
            yield from followers.get(entity.dxf.handle, ())


@dataclass(frozen=True, slots=True)
class _Places:
    """Where in the body of a plain entity its values stand."""

    handle: int
    owner: int
    """-1 where it has none."""
    layer: int
    points: tuple[tuple[str, int], ...]
    """Name and place of the first coordinate."""
    values: tuple[tuple[str, int, Callable[[str], Any]], ...]
    """Name, place and what the text becomes."""
    checked: tuple[int, ...]
    """Where numbers stand that nothing here reads, but that must be numbers."""
    row: int
    """Where the row of vertices begins."""
    vertices: tuple[int, ...]
    """Group codes of the vertices."""


class Runs:
    """Takes the plain entities out of a stream of bodies, leaders left in."""

    def __init__(self) -> None:
        self.followers: dict[str, list[_PlainEntity]] = {}
        self._handles: set[str] = set()
        """Of the entities of these kinds left to ezdxf."""
        self._leader, self._owner = "", ""
        self._places: dict[tuple[str, tuple[str, ...]], _Places | None] = {}
        """By the kind and the group codes of a body as they stand; a file has few different ones."""

    def interrupted(self) -> None:
        """Something else than a plain entity comes: the run ends."""
        self._leader = ""

    def takes(self, kind: str, body: Body) -> bool:
        """Is the entity of one of the kinds `FORMS` with this `body` kept here? Raises `ValueError` for what is no
        number, or a handle met again.
        """
        codes, values = zip(*body, strict=True) if body else ((), ())
        key = kind, codes
        if key not in self._places:
            self._places[key] = _places(FORMS[kind], [int(code) for code in codes])
        at = self._places[key]
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
        self.followers.setdefault(self._leader, []).append(_entity(kind, handle, values, at))
        return True

    def _left_to_ezdxf(self, handle: str) -> None:
        if handle in self._handles:
            raise ValueError(f"handle {handle} stands twice")
        if handle:
            self._handles.add(handle)


def _places(form: _Form, codes: list[int]) -> _Places | None:
    """The places of the values in a body with these group `codes`, None for one that is no plain entity's."""
    own = next((n for n, code in enumerate(codes) if code >= _EXTENDED), len(codes))
    first = codes.index(_VERTEX) if form.vertices and _VERTEX in codes else own
    head, row, extended = codes[:first], codes[first:own], codes[own:]
    if not (_is_plain(form, head) and _are_vertices(form, row) and _is_extended(extended)):
        return None
    place = {code: number for number, code in enumerate(head)}
    values = {name: code for name, code in {**form.values, **_COMMON}.items() if code in place}
    known = {_HANDLE, _LAYER, _MARKER, *values.values(), *_coordinates(form)}
    unread = [(number, code) for code, number in place.items() if code not in known]
    checked = [n for n, code in [*unread, *enumerate(extended, own)] if TYPE_TABLE.get(code, str) is not str]
    return _Places(
        place[_HANDLE], place.get(_OWNER, -1), place[_LAYER],
        tuple((name, place[code]) for name, code in form.points.items() if code in place),
        tuple((name, place[code], TYPE_TABLE.get(code, str)) for name, code in values.items()),
        tuple(checked), first, tuple(row),
    )  # fmt: skip


def _is_plain(form: _Form, codes: list[int]) -> bool:
    """Whether the group `codes` of a body, without vertices and extended data, are an ordinary one's."""
    once = [code for code in codes if code != _MARKER]
    have = set(once)
    needed = {code for name, code in {**form.points, **form.values}.items() if name not in form.optional}
    known = {_HANDLE, _OWNER, _LAYER, *_COMMON.values(), *form.values.values(), *_coordinates(form)}
    if len(have) != len(once) or not needed | {_HANDLE, _LAYER} <= have <= known | _LOOKS | form.unread:
        return False
    head = codes[: codes.index(_MARKER)] if _MARKER in codes else codes
    in_place = not form.vertices or _are_in_place(form, codes)
    return _HANDLE in head and (_OWNER in head) == (_OWNER in have) and in_place and _are_whole(codes, form)


def _are_whole(codes: list[int], form: _Form) -> bool:
    """Whether the three coordinates of each point that is there follow one another."""
    place = {code: number for number, code in enumerate(codes)}
    there = [code for code in form.points.values() if place.keys() & {code, code + 10, code + 20}]
    return all(place.get(code + step) == place.get(code, -9) + step // 10 for code in there for step in (10, 20))


def _is_extended(codes: list[int]) -> bool:
    """Whether group `codes` that end a body are those of extended data, with whole points."""
    starts = [n for n, code in enumerate(codes) if code in _EXTENDED_POINTS]
    parts = {n + step for n in starts for step in (1, 2)}
    whole = all(codes[n + 1 : n + 3] == [codes[n] + 10, codes[n] + 20] for n in starts)
    others = [code for n, code in enumerate(codes) if n not in parts]
    return whole and all(code >= _EXTENDED and not 1020 <= code < 1040 and code != _EXTENDED_BYTES for code in others)


def _are_in_place(form: _Form, codes: list[int]) -> bool:
    """Whether what is the form's own stands behind the second marker, and nothing else does; ezdxf looks for it there
    where vertices follow.
    """
    if codes.count(_MARKER) != 2:
        return False
    own = set(codes[codes.index(_MARKER, codes.index(_MARKER) + 1) :]) - {_MARKER}
    return set(codes) & set(form.values.values()) <= own <= {*form.values.values(), *form.unread, 39}


def _are_vertices(form: _Form, row: list[int]) -> bool:
    """Whether the group codes behind the others are those of vertices, what belongs to each behind it."""
    seconds = [b for a, b in pairwise([*row, 0]) if a == _VERTEX]
    others = {code for code in row if code not in (_VERTEX, _VERTEX + 10)}
    return (
        bool(row) == form.vertices
        and all(code == _VERTEX + 10 for code in seconds)
        and row.count(_VERTEX) == row.count(_VERTEX + 10)
        and others <= _WIDTHS_AND_BULGE.keys()
    )


def _coordinates(form: _Form) -> set[int]:
    return {code + step for code in form.points.values() for step in (0, 10, 20)}


def _entity(kind: str, handle: str, values: Sequence[str], at: _Places) -> _PlainEntity:
    have: dict[str, Any] = {"handle": handle, "layer": values[at.layer].rstrip("\n")}
    for name, place, made in at.values:
        have[name] = values[place].rstrip("\n") if made is str else made(values[place])
    for name, place in at.points:
        have[name] = Vec3(*map(float, values[place : place + 3]))
    for place in at.checked:
        float(values[place])
    row = values[at.row : at.row + len(at.vertices)]
    return _PlainEntity(kind, have, _vertices(at.vertices, row) if row else None)


def _vertices(codes: tuple[int, ...], values: Sequence[str]) -> Vertices:
    """The vertices (n, 5) whose group `codes` and `values` these are."""
    numbers = np.array(list(map(float, values)))
    code = np.array(codes)
    first = code == _VERTEX
    row = np.cumsum(first) - 1
    made = np.zeros((int(row[-1]) + 1, 5))
    made[:, 0], made[:, 1] = numbers[first], numbers[code == _VERTEX + 10]
    for other, column in _WIDTHS_AND_BULGE.items():
        given = code == other
        made[row[given], column] = numbers[given]
    return made
