"""What old plaster is hacked off to, and what is rebuilt there.

Terms:
  bare       a background that plaster comes off to: brick, block, laths ... (``[under]`` of ``data/findings.toml``).
  under      the bare background under a finding's plaster, and who said so.
  wet, dry   rebuilt with undercoat, or with board. Where a finding could be either, it is asked about.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from takeoff.data import load
from takeoff.job import Job
from takeoff.measure.model import Surface
from takeoff.work.backgrounds import UNKNOWN_WALL
from takeoff.work.library import passes
from takeoff.work.model import Assignment, BuildUp, Layer
from takeoff.work.needs import applies
from takeoff.work.scheme import Scheme

__all__ = ["ASSUMED", "Rebuild", "Under", "bare_backgrounds", "rebuild", "under"]

ASSUMED = "assumed"
_FRAMES = ("timber frame", "metal frame", "laths")


@dataclass(frozen=True, slots=True)
class Under:
    background: str
    by: str
    """'found', 'job: ...', 'drawing: ...' or 'assumed'."""
    unclear: bool = False
    """True where the rebuild could as well be of the other kind, so that somebody must look."""


@dataclass(frozen=True, slots=True)
class Rebuild:
    layers: tuple[tuple[Layer, float], ...]
    """What is put back, each with how many of what it counts go to a square metre."""
    kind: str
    """'wall' or 'ceiling', for the labour."""
    says: str
    """For the scope: 'rebuild with undercoat'."""
    cautions: tuple[str, ...] = ()


def bare_backgrounds() -> tuple[str, ...]:
    """The backgrounds that plaster may be hacked off to."""
    return tuple(load("findings")["under"])


def under(told: str, place: str, surfaces: Sequence[Surface], scheme: Scheme) -> Under:
    """The background under the plaster of `surfaces`: as `told` by a person, else as the surfaces let it be known.

    Several surfaces of different backgrounds: the one of the greatest area.
    """
    if told:
        return Under(told, "found")
    areas: dict[tuple[str, str], float] = {}
    for surface in surfaces:
        if behind := _behind(surface, scheme):
            areas[behind] = areas.get(behind, 0.0) + surface.net_m2
    by_default = load("findings")["rebuild"]["ceiling" if place == "ceiling" else "wall"]
    if not areas:
        return Under(by_default, ASSUMED, unclear=True)
    background, by = max(areas, key=lambda key: areas[key])
    mixed = len({word in _FRAMES for word, _ in areas}) > 1
    return Under(background, by, unclear=mixed or by == ASSUMED)


def _behind(surface: Surface, scheme: Scheme) -> tuple[str, str] | None:
    """(bare background, who said so) of one surface; None where nothing tells."""
    bare = bare_backgrounds()
    given = scheme.assigned[surface.ref]
    if given.background in bare:
        return given.background, ASSUMED if given.decided_by.startswith(UNKNOWN_WALL) else given.decided_by
    word = _of_wall_type(surface, scheme.job)
    if word in bare:
        return word, f"job: wall type {surface.wall_type}"
    proposal = load("build_ups")["proposal"]
    if surface.kind != "ceiling" and surface.wall_type in ("masonry", "partition"):
        return proposal[surface.wall_type], f"drawing: {surface.wall_type}"
    return None


def _of_wall_type(surface: Surface, job: Job) -> str:
    """The job file's background of the surface's wall type: what stands under the old plaster."""
    row = None if surface.kind == "ceiling" else dict(job.wall_types).get(surface.wall_type)  # type: ignore[call-overload]
    return row.background or "" if row else ""


def rebuild(found: Under, depth_mm: float, surfaces: Sequence[Surface], scheme: Scheme) -> Rebuild:
    """What goes back on a square metre hacked off to `found`, to the face of what stands.

    `depth_mm`: of the old plaster where a person measured it, 0 otherwise. The finish is left out where the whole
    surface gets one, and everything where the whole surface is built up from the bare background anyway. Raises
    `ValueError` with what would be right where the depth cannot be filled.
    """
    rules = load("findings")["rebuild"]
    kind = "ceiling" if surfaces and all(s.kind == "ceiling" for s in surfaces) else "wall"
    own = _own(found, surfaces, scheme)
    if own and _builds_all(*own, scheme):
        return Rebuild((), kind, rules["same_as_wall"], _cautions(own[1]))
    build_up = _of_background(found.background, kind, scheme)
    finished = own is not None and bool(scheme.kinds(own[1]) & {"finish", "lime"})
    layers = [(v, _to_a_m2(v, rules)) for v in build_up.layers if applies(v, kind, found.background)]
    layers = [(v, n) for v, n in layers if n and not (finished and scheme.rows[v.material]["kind"] == "finish")]
    if depth_mm:
        layers = _to_depth(layers, depth_mm, scheme)
    board = any(scheme.rows[v.material]["kind"] == "board" for v, _ in layers)
    says = "rebuild with " + ("board" if board else "lime" if "lime" in scheme.kinds(build_up) else "undercoat")
    says += ", finished with the rest of the surface" if finished else " and finish"
    return Rebuild((*_prime(found, layers, rules), *layers), kind, says, _cautions(build_up))


def _own(found: Under, surfaces: Sequence[Surface], scheme: Scheme) -> tuple[Assignment, BuildUp] | None:
    """What the greatest of the surfaces on that background gets over its whole area."""
    alike = [s for s in surfaces if (_behind(s, scheme) or ("",))[0] == found.background] or list(surfaces)
    if not alike:
        return None
    given = scheme.assigned[max(alike, key=lambda s: s.net_m2).ref]
    return given, scheme.library[given.build_up]


def _builds_all(given: Assignment, own: BuildUp, scheme: Scheme) -> bool:
    """True where the surface is built up from the bare background, or boarded, over its whole area."""
    return given.background in bare_backgrounds() or "board" in scheme.kinds(own)


def _of_background(background: str, kind: str, scheme: Scheme) -> BuildUp:
    """Lime where the job file puts lime on such walls, for no gypsum goes there; else what the background asks."""
    for row in dict(scheme.job.wall_types).values():
        chosen = scheme.library.get(row.build_up or "") if row.background == background else None
        if kind == "wall" and chosen and "lime" in scheme.kinds(chosen):
            return chosen
    return scheme.library[load("build_ups")["backgrounds"][background][kind]]


def _to_a_m2(layer: Layer, rules: dict[str, Any]) -> float:
    """How many of what a layer counts go to a square metre of patch; 0 for edges that a patch has not."""
    return {"m2": 1.0, "m joint": float(rules["joint_m_per_m2"])}.get(layer.per, 0.0)


def _to_depth(layers: Sequence[tuple[Layer, float]], depth_mm: float, scheme: Scheme) -> list[tuple[Layer, float]]:
    """The undercoat of `layers` in passes that fill `depth_mm`."""
    wet = [v for v, _ in layers if scheme.rows[v.material]["kind"] in ("undercoat", "lime")]
    if not wet:
        raise ValueError("no thickness_mm: board is packed out, not laid by thickness")
    row, first = scheme.rows[wet[0].material], wet[0]
    if depth_mm > row["total_max_mm"]:
        raise ValueError(f"at most {row['total_max_mm']:g} mm of {row['title'].lower()}; beyond that board it")
    rate = row["kg_per_m2_mm"]
    filled = [
        (replace(first, thickness_mm=each, amount=each * rate, how=f"{each:g} mm x {rate:g} kg/m2/mm"), 1.0)
        for each in passes(depth_mm, row["coat_max_mm"])
    ]
    others = [(v, n) for v, n in layers if v.material != first.material]
    at = next(n for n, (v, _) in enumerate(layers) if v.material == first.material)
    return [*others[:at], *filled, *others[at:]]


def _prime(found: Under, layers: Sequence[tuple[Layer, float]], rules: dict[str, Any]) -> list[tuple[Layer, float]]:
    """Bonding agent on a dry background under gypsum undercoat."""
    gypsum = any(v.material == "undercoat" for v, _ in layers)
    rows = rules["prime"] if gypsum and found.background in rules["prime_on"] else ()
    return [(Layer(m, "m2", amount, how=rules["prime_source"]), 1.0) for m, amount in rows]


def _cautions(build_up: BuildUp) -> tuple[str, ...]:
    """The warnings of a build-up, by their slug."""
    slugs = {row["title"]: slug for slug, row in load("cautions").items()}
    return tuple(slugs[title] for title in build_up.cautions if title in slugs)
