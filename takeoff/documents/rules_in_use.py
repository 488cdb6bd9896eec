"""The rules of fixing, laying, cutting and checking that a takeoff rests on, each with where it comes from.

Only those of the work that the job has. What each screw or dab spacing comes to stands on the sheet Build-ups.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from takeoff.data import load
from takeoff.materials.model import Material
from takeoff.plan.model import Room
from takeoff.record import Takeoff

__all__ = ["Row", "rules_in_use", "tolerances"]

Row = tuple[str, str, str]
"""Kind, what, where from."""
JOB_FILE = "job file"
WORDS = {
    "wall_direction": "Sheets on walls lie: {}",
    "ceiling_direction": "Sheets on ceilings lie: {}",
    "smallest_width_mm": "No strip narrower than {} mm",
    "smallest_length_mm": "No piece shorter than {} mm",
    "kerf_mm": "A cut takes {} mm",
    "stagger_mm": "End joints of neighbouring rows at least {} mm apart",
    "jamb_clear_mm": "No joint nearer than {} mm to the line of a jamb",
    "layer_clear_mm": "Joints of a second layer at least {} mm clear of the first's",
    "width_mm": "A sheet may be {} mm narrower than its name",
    "length_mm": "A sheet may be {} mm shorter than its name",
    "smallest_mm": "No part of a joined bead shorter than {} mm",
}
"""What the values of ``data/boards.toml`` and ``data/beads.toml`` say."""


def rules_in_use(takeoff: Takeoff) -> Iterator[Row]:
    """Board spans, dabs, laying and cutting rules, and tolerances, as far as the order holds what they are for."""
    ordered = [line.material for line in takeoff.order.lines]
    kinds = {material.kind for material in ordered}
    yield from _spans(ordered)
    if "adhesive" in kinds:
        yield from (("Adhesive", *rule) for rule in _dabs(load("build_ups")["dabs"]))
    if takeoff.boards:
        laying = load("boards")
        yield from (("Boards", *rule) for rule in _sourced(laying["laying"], takeoff.job.boards))
        yield from (("Boards", *rule) for rule in _sourced(laying["tolerance"]))
    if takeoff.beads is not None and takeoff.beads.runs:
        yield from (("Beads", *rule) for rule in _sourced(load("beads")["cutting"], takeoff.job.beads))
        yield "Beads", "One length wherever a length sold is long enough", load("beads")["joining"]["source"]
    checked = tolerances(takeoff, takeoff.plan.rooms)
    yield from (("Tolerance", f"{row['work']}: {row['limit']}", row["source"]) for row in checked)


def _spans(ordered: list[Material]) -> Iterator[Row]:
    """How far apart studs and joists may stand for each thickness of board in the order."""
    thick = {material.thickness_mm for material in ordered if material.kind == "board"}
    for row in load("build_ups")["spans"]:
        if row["thickness_mm"] in thick:
            yield (
                "Span",
                f"{row['thickness_mm']:g} mm board: studs at most {row['wall_mm']} mm apart, ceiling joists "
                f"{row['ceiling_mm']} mm, {row['ceiling_with_noggings_mm']} mm with noggings",
                row["source"],
            )


def _dabs(row: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    yield (
        f"Dabs at {row['centres_9_5_1200_mm']} mm behind 9.5 mm board 1200 wide, {row['centres_900_mm']} mm behind 900 "
        f"wide, {row['centres_12_5_1200_mm']} mm behind 12.5 mm board 1200 wide",
        row["centres_source"],
    )
    yield f"A dab is {row['length_mm']} mm long", row["length_source"]
    yield f"A dab every {row['pitch_mm']} mm of its row", row["pitch_source"]
    yield f"{row['kg_per_m2']:g} kg of adhesive for 1 m2", row["kg_per_m2_source"]


def _sourced(table: Mapping[str, Any], own: object = None) -> Iterator[tuple[str, str]]:
    """(rule in words, source) of each value of `table`; a value that the job file's `own` table sets stands instead.

    The source of `smallest_width_mm` is under `smallest_source`, that of `kerf_mm` under `kerf_source`, or `source`.
    """
    for key, value in table.items():
        if key in WORDS:
            stem = key.removesuffix("_mm")
            names = (f"{stem}_source", f"{stem.split('_')[0]}_source", "source")
            source = next(table[name] for name in names if name in table)
            said = getattr(own, key, None)
            yield WORDS[key].format(value if said is None else said), source if said is None else JOB_FILE


def tolerances(takeoff: Takeoff, rooms: Sequence[Room]) -> list[Mapping[str, Any]]:
    """Rows of ``data/tolerances.toml`` for what is done in `rooms`."""
    refs = {room.ref for room in rooms}
    used = {need.material for need in takeoff.work.needs if need.room in refs}
    kinds = {line.material.kind for line in takeoff.order.lines if line.material.slug in used}
    done = {"board"} & kinds | ({"undercoat"} if kinds & {"undercoat", "lime", "cement"} else set())
    done |= {"ceiling"} if any(s.kind == "ceiling" and s.room in refs for s in takeoff.measured.surfaces) else set()
    done |= {"wet"} if any(room.kind in ("wet room", "bathroom") for room in rooms) else set()
    return [row for row in load("tolerances")["rows"] if done & set(row["for"])]
