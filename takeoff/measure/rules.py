"""Rules of measurement: what an opening takes off a face, and whether its reveals are counted.

Terms:
  void       an opening in a wall, or a part of a ceiling that is no ceiling.
  limit      a void *not exceeding* it is left in; the limit itself is left in too.
  face       one side of a wall, as seen from one room; an opening has a face on each side.
  share      the part of an opening that comes off one face: 0, 1/2 or 1.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from takeoff.data import load
from takeoff.job import Job
from takeoff.measure._figures import square

__all__ = [
    "Common",
    "Effect",
    "Faces",
    "Rule",
    "common",
    "effect_of_opening",
    "effect_of_void",
    "rule_named",
    "rule_of",
]

EQUAL_M2 = 1e-6
"""Areas closer than this are the same area: 1.00 x 0.50 is not 'over 0.50' by a rounding of the machine."""
EQUAL_M = 1e-6


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of ``data/rules.toml``; the keys are explained there, with the source of each value."""

    slug: str
    title: str
    meaning: str
    deduct_openings: bool
    smallest_void_m2: float
    smallest_ceiling_void_m2: float
    one_face_up_to_m2: float
    """0: openings come off both faces."""
    reveals: str
    reveals_over_m2: float
    narrow_width_m: float
    reveals_in_metres: bool
    high_from_m: float
    high_stage_m: float


@dataclass(frozen=True, slots=True)
class Common:
    """What holds under every rule (table ``common`` of ``data/rules.toml``). Metres."""

    default_height_m: float
    pier_max_side_m: float
    rounded_angle_max_radius_m: float
    unknown_external_wall_m: float
    unknown_internal_wall_m: float
    lined_door_max_wall_m: float
    """A door in a thinner wall is lined whatever lies behind it: a cupboard that is no room looks like outdoors."""
    not_plastered_kinds: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Faces:
    """The two faces of the wall that an opening goes through, as a rule for one face or both asks."""

    same_plaster: bool = True
    """Both faces are plastered alike."""
    first: bool = True
    """Of two faces alike, this is the one that a one-face deduction comes off."""
    reveal_here_m: float = 0.0
    """Width of the reveal on this face, frame to face."""
    reveal_other_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Effect:
    """What an opening does to one face."""

    share: float
    reveals: bool
    """Its reveals are counted in the measure."""
    reason: str


def rule_named(slug: str) -> Rule:
    """The shipped rule `slug`. Raises `KeyError` for one that is not shipped."""
    table: dict[str, Any] = load("rules")["rules"][slug]
    return Rule(
        slug=slug,
        title=table["title"],
        meaning=table["meaning"],
        deduct_openings=table["deduct_openings"],
        smallest_void_m2=table["smallest_void_m2"],
        smallest_ceiling_void_m2=table.get("smallest_ceiling_void_m2", table["smallest_void_m2"]),
        one_face_up_to_m2=table.get("one_face_up_to_m2", 0.0),
        reveals=table["reveals"],
        reveals_over_m2=table.get("reveals_over_m2", 0.0),
        narrow_width_m=table["narrow_width_m"],
        reveals_in_metres=table["reveals_in_metres"],
        high_from_m=table["high_from_m"],
        high_stage_m=table["high_stage_m"],
    )


def rule_of(job: Job) -> Rule:
    """The rule that the job file chooses, with its own limit where it types one.

    Raises `JobError` when no such rule is shipped.
    """
    shipped = load("rules")["rules"]
    if job.measure.rule not in shipped:
        raise job.error(
            ("measure", "rule"), f"no rule of measurement {job.measure.rule!r}", f"one of: {', '.join(shipped)}"
        )
    rule = rule_named(job.measure.rule)
    limit = job.measure.smallest_void
    if limit is None:
        return rule
    return replace(rule, smallest_void_m2=limit, smallest_ceiling_void_m2=limit, deduct_openings=True)


def common() -> Common:
    """What holds under every rule."""
    table = load("rules")["common"]
    return Common(
        default_height_m=table["default_height_m"],
        pier_max_side_m=table["pier_max_side_m"],
        rounded_angle_max_radius_m=table["rounded_angle_max_radius_m"],
        unknown_external_wall_m=table["unknown_external_wall_m"],
        unknown_internal_wall_m=table["unknown_internal_wall_m"],
        lined_door_max_wall_m=table["lined_door_max_wall_m"],
        not_plastered_kinds=tuple(table["not_plastered_kinds"]),
    )


def effect_of_opening(rule: Rule, area_m2: float, faces: Faces | None = None) -> Effect:
    """What an opening of `area_m2` (as it lies in the wall) does to one face under `rule`.

    >>> effect_of_opening(rule_named("void-0.50"), 0.50).reason
    'not exceeding 0.50 m2: left in'
    """
    share, reason = _share(rule, area_m2, faces or Faces())
    counted = {
        "always": True,
        "if deducted": share > 0,
        "over": area_m2 > rule.reveals_over_m2 + EQUAL_M2,
        "never": False,
    }[rule.reveals]
    return Effect(share, counted, reason)


def effect_of_void(rule: Rule, area_m2: float) -> Effect:
    """What a void of `area_m2` in a ceiling (a pier's footprint, a stair well, a rooflight) does to it."""
    limit = rule.smallest_ceiling_void_m2
    if area_m2 <= limit + EQUAL_M2 and limit > 0:
        return Effect(0.0, rule.reveals == "always", f"not exceeding {square(limit)} m2: left in")
    return Effect(1.0, rule.reveals != "never", _taken_off(limit))


def _share(rule: Rule, area_m2: float, faces: Faces) -> tuple[float, str]:
    if not rule.deduct_openings:
        return 0.0, "measured straight through: left in"
    limit = rule.smallest_void_m2
    if limit > 0 and area_m2 <= limit + EQUAL_M2:
        return 0.0, f"not exceeding {square(limit)} m2: left in"
    if rule.one_face_up_to_m2 and area_m2 <= rule.one_face_up_to_m2 + EQUAL_M2:
        return _one_face(f"over {square(limit)} and not exceeding {square(rule.one_face_up_to_m2)} m2", faces)
    return 1.0, _taken_off(max(limit, rule.one_face_up_to_m2))


def _taken_off(limit: float) -> str:
    return f"over {square(limit)} m2: deducted" if limit > 0 else "as built: deducted"


def _one_face(band: str, faces: Faces) -> tuple[float, str]:
    """IS 1200-12 cl. 3.8.1(b): off one face; which one depends on whether both have the same plaster."""
    if faces.same_plaster:
        if faces.first:
            return 1.0, f"{band}, same plaster on both faces: off one face, this one"
        return 0.0, f"{band}, same plaster on both faces: off the other face, left in here"
    difference = faces.reveal_here_m - faces.reveal_other_m
    if abs(difference) <= EQUAL_M:
        return 0.5, f"{band}, faces differ, reveals equally wide: half off each face"
    if difference < 0:
        return 1.0, f"{band}, faces differ: off the face with the narrower reveal, this one"
    return 0.0, f"{band}, faces differ: off the face with the narrower reveal, the other one"
