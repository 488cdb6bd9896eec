"""What the job file says of rooms and openings is done, and what matches nothing is refused with its line.

Sizes are those of ``tests/samples/truth/new_house.toml``, worked by hand: kitchen and dining 5.90 x 3.30 less a pipe
boxing of 0.30 x 0.25, hall 9.66 m2. A split must keep area and openings; a join adds the strip of floor in the doorway
to the two areas.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from takeoff.drawing.model import in_metres
from takeoff.drawing.read import read_drawing
from takeoff.drawing.units import settle_unit
from takeoff.errors import JobError
from takeoff.job import read_job
from takeoff.plan.model import Opening, Plan, Room
from takeoff.plan.understand import understand

SAMPLES = Path(__file__).parents[2] / "samples"


@cache
def planned(text: str, sample: str = "new_house") -> Plan:
    import tempfile

    raw = read_drawing(SAMPLES / f"{sample}.dxf")
    unit = settle_unit(raw, None)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(f'[job]\nname = "x"\n{text}', encoding="utf-8")
        return understand(in_metres(raw, unit.metres_per_unit), unit, read_job(path))


def room(plan: Plan, ref: str) -> Room:
    return next(r for r in plan.rooms if r.ref == ref)


def opening(plan: Plan, ref: str) -> Opening:
    return next(o for o in plan.openings if o.ref == ref)


def upright(ref: str, share: float, names: str = "", top: float = 0.2) -> str:
    """A [[split]] by an upright line at a share of the room's width, reaching `top` beyond it."""
    plan = planned("")
    east, north = plan.origin_m
    xs, ys = zip(*room(plan, ref).outline, strict=True)
    x = min(xs) + (max(xs) - min(xs)) * share + east
    line = f"[[{x:.4f}, {min(ys) - 0.2 + north:.4f}], [{x:.4f}, {max(ys) + top + north:.4f}]]"
    return f'[[split]]\nroom = "{ref}"\nline = {line}\n{names}'


KITCHEN = "R2"
HALL = "R5"


def test_a_split_room_becomes_two_with_names_sides_and_openings() -> None:
    whole = room(planned(""), KITCHEN)
    plan = planned(upright(KITCHEN, 0.56, 'names = ["Larder end", "Dining end"]\n'))
    a, b = room(plan, "R2a"), room(plan, "R2b")
    assert {"R2a", "R2b"} <= {r.ref for r in plan.rooms} and KITCHEN not in {r.ref for r in plan.rooms}
    assert (a.name, b.name) == ("Larder end", "Dining end")
    assert a.floor_area_m2 + b.floor_area_m2 == pytest.approx(whole.floor_area_m2, abs=1e-6)
    assert a.floor_area_m2 == pytest.approx(0.56 * 5.90 * 3.30, abs=1e-3)  # the pipe boxing stands in the other part
    assert a.perimeter_m + b.perimeter_m == pytest.approx(whole.perimeter_m + 2 * 3.3, abs=1e-3)
    assert [s.support for s in (*a.sides, *b.sides)].count("assumed") == 2
    assert all(s.ref.startswith(("R2a-S", "R2b-S")) for s in (*a.sides, *b.sides))
    before = {o for s in whole.sides for o in s.openings}
    held = [o for r in (a, b) for s in r.sides for o in s.openings]
    assert set(held) == before and len(held) == len(before)
    for ref in before:
        assert KITCHEN not in opening(plan, ref).rooms
        assert {"R2a", "R2b"} & set(opening(plan, ref).rooms)


def test_a_is_on_the_left_of_the_line_as_written() -> None:
    plan = planned(upright(KITCHEN, 0.56))
    assert max(x for x, _ in room(plan, "R2a").outline) <= min(x for x, _ in room(plan, "R2b").outline) + 1e-6


def test_other_rooms_are_left_as_they_were_by_a_split() -> None:
    before, after = planned(""), planned(upright(KITCHEN, 0.56))
    untouched = {r.ref: r for r in before.rooms if r.ref != KITCHEN}
    for ref, old in untouched.items():
        assert room(after, ref).floor_area_m2 == pytest.approx(old.floor_area_m2)
        assert room(after, ref).name == old.name


def test_what_a_person_decided_is_not_asked_again() -> None:
    for text in (upright(KITCHEN, 0.56), f'[[join]]\nrooms = ["{KITCHEN}", "{HALL}"]\n'):
        assert planned(text).queries == ()
        assert min(r.confidence for r in planned(text).rooms) >= 0.9


def test_joined_rooms_are_one_with_the_doorway_between_them() -> None:
    plain = planned("")
    plan = planned(f'[[join]]\nrooms = ["{KITCHEN}", "{HALL}"]\nname = "Living hall"\n')
    door = next(o for o in plain.openings if set(o.rooms) == {KITCHEN, HALL})
    one = room(plan, KITCHEN)
    assert one.name == "Living hall" and HALL not in {r.ref for r in plan.rooms}
    strip = door.width_m * (door.wall_thickness_m or 0)
    parts = room(plain, KITCHEN).floor_area_m2 + room(plain, HALL).floor_area_m2
    assert one.floor_area_m2 == pytest.approx(parts + strip, abs=1e-4)
    assert opening(plan, door.ref).rooms == ()
    assert not any(door.ref in s.openings for s in one.sides)
    others = {o.ref for o in plain.openings if {KITCHEN, HALL} & set(o.rooms)} - {door.ref}
    assert {o for s in one.sides for o in s.openings} == others


def test_openings_take_the_sizes_and_the_kind_of_the_job() -> None:
    plan = planned('[openings.D1]\nwidth = 1.9\nheight = 2.2\nsill = 0.1\nkind = "window"\n')
    told = opening(plan, "D1")
    assert (told.width_m, told.height_m, told.sill_m, told.kind) == (1.9, 2.2, 0.1, "window")
    assert (told.size_from, told.height_from) == ("job", "job")
    assert opening(plan, "D2") == opening(planned(""), "D2")


def test_an_ignored_opening_is_gone_from_rooms_too() -> None:
    plan = planned("[openings.D2]\nignore = true\n")
    assert "D2" not in {o.ref for o in plan.openings}
    assert not any("D2" in s.openings for r in plan.rooms for s in r.sides)


def test_a_room_takes_its_name_from_the_job() -> None:
    assert room(planned('[rooms.R1]\nname = "Den"\n'), "R1").name == "Den"


REFUSED = {
    "no such room to split": (upright(KITCHEN, 0.56).replace('"R2"', '"R99"'), "no room R99", 4),
    "a line elsewhere": ('[[split]]\nroom = "R2"\nline = [[0.0, 0.0], [1.0, 1.0]]\n', "does not cross R2", 5),
    "a line that stops short": (upright(KITCHEN, 0.56, top=-1.5), "does not part R2 in two", 5),
    "a line through a door": (upright(KITCHEN, 0.5), "cuts an opening of R2", 5),
    "no such room to join": ('[[join]]\nrooms = ["R1", "R99"]\n', "no room R99", 4),
    "rooms far apart": ('[[join]]\nrooms = ["R2", "R9"]\n', "no opening or line between them", 4),
    "no such opening": ("[openings.D99]\nwidth = 1.0\n", "no such opening", 3),
    "no such room": ('[rooms.R99]\nname = "Den"\n', "no such room", 3),
}


@pytest.mark.parametrize("case", REFUSED)
def test_an_override_that_matches_nothing_is_refused_with_its_line(case: str) -> None:
    text, says, line = REFUSED[case]
    with pytest.raises(JobError) as refusal:
        planned(text)
    assert says in str(refusal.value)
    assert f"line {line}" in str(refusal.value)


@pytest.mark.parametrize("share", [0.2, 0.45, 0.5, 0.6, 0.8])
def test_a_small_room_is_split_wherever_the_line_lies(share: float) -> None:
    """A part as small as a wardrobe, without a name or a door, stays a room: a person made it one."""
    plan = planned("", "upstairs_flat")
    (x0, x1), (y0, y1) = ((min(v), max(v)) for v in zip(*room(plan, "R2").outline, strict=True))
    east, north = plan.origin_m
    y = y0 + (y1 - y0) * share + north
    line = f"[[{x0 - 0.3 + east:.3f}, {y:.3f}], [{x1 + 0.3 + east:.3f}, {y:.3f}]]"
    parts = planned(f'[[split]]\nroom = "R2"\nline = {line}\n', "upstairs_flat")
    areas = {r.ref: r.floor_area_m2 for r in parts.rooms if r.ref in ("R2a", "R2b")}
    assert sum(areas.values()) == pytest.approx((x1 - x0) * (y1 - y0), abs=1e-3)
    assert min(areas.values()) == pytest.approx(min(share, 1 - share) * (x1 - x0) * (y1 - y0), abs=1e-3)
