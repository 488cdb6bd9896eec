"""Decisions carried over when a change renumbers what they are about, on the shipped sample of a new house.

Where things stand is read off the plans themselves: a decision is right when it belongs to the same place as before.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import shapely

from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from takeoff.job import Job, job_of
from takeoff.measure.rooms import measure
from takeoff.pipeline import plan_of
from takeoff.plan.model import Plan, Room
from takeoff.review.refs import Carried, carry
from takeoff.review.toml_places import remarks_in

SAMPLE = Path(__file__).parents[2] / "samples" / "new_house.dxf"
HEAD = '[drawing]\nfile = "new_house.dxf"\n'


@cache
def raw() -> Drawing:
    return read_drawing(SAMPLE)


@cache
def planned(text: str) -> Plan:
    return plan_of(raw(), job_of(text, "job.toml"))[1]


def carried(before: str, after: str) -> Carried:
    """The carried text, which must be a job that the drawing takes."""
    result = carry(before, after, lambda job: plan_of(raw(), job)[1])
    job = job_of(result.text, "job.toml")
    measure(plan_of(raw(), job)[1], job)
    return result


def room(plan: Plan, ref: str) -> Room:
    return next(r for r in plan.rooms if r.ref == ref)


def room_at(plan: Plan, like: Room) -> Room:
    """The room where `like` has its label."""
    return next(r for r in plan.rooms if shapely.Polygon(r.outline, r.holes).contains(shapely.Point(like.label_at)))


def side_line(plan: Plan, ref: str) -> str:
    """A line across the room, upright, clear of its openings, in sheet metres."""
    xs, ys = zip(*room(plan, ref).outline, strict=True)
    east, north = plan.origin_m
    ways = [o for o in plan.openings if ref in o.rooms and abs(o.jambs[0][0] - o.jambs[1][0]) > 0.1]
    shares = sorted((n / 100 for n in range(8, 93, 2)), key=lambda share: abs(share - 0.4))
    places = [min(xs) + share * (max(xs) - min(xs)) for share in shares]
    x = next(x for x in places if all(abs(o.at[0] - x) > o.width_m / 2 + 0.06 for o in ways)) + east
    return f"line = [[{x:.3f}, {min(ys) + north:.3f}], [{x:.3f}, {max(ys) + north:.3f}]]\n"


def decisions(plan: Plan) -> str:
    """A name of its own for every room, a width for every opening, with remarks."""
    rooms = "".join(
        f'[rooms.{r.ref}]        # as on the drawing\nname = "was {r.ref}"\nheight = 2.{n + 10}\n'
        for n, r in enumerate(plan.rooms)
    )
    openings = "".join(f"[openings.{o.ref}]\nheight = 1.{n + 10} # told\n" for n, o in enumerate(plan.openings))
    return rooms + openings


def test_a_wall_that_renumbers_all_rooms_leaves_each_decision_at_its_place() -> None:
    bare = planned(HEAD)
    big = max(bare.rooms, key=lambda r: r.floor_area_m2)
    before = HEAD + decisions(bare)
    after = before + "[[wall]]\n" + side_line(bare, big.ref) + "thickness = 0.1\n"
    result = carried(before, after)
    plan, data = planned(result.text), tomllib.loads(result.text)
    for old in bare.rooms:
        new = room_at(plan, old)
        assert data["rooms"][new.ref]["height"] == tomllib.loads(before)["rooms"][old.ref]["height"]
        if old.ref != big.ref:
            assert data["rooms"][new.ref]["name"] == f"was {old.ref}"
    assert any(room_at(plan, r).ref != r.ref for r in bare.rooms), (
        "the wall renumbers something, or nothing is shown here"
    )
    parts = [r for r in plan.rooms if shapely.Polygon(big.outline).contains(shapely.Point(r.label_at))]
    assert len(parts) == 2 and all("height" in data["rooms"][r.ref] for r in parts)
    assert any(n.startswith(f"{big.ref} is now") for n in result.notes)
    for old in bare.openings:
        new = min(plan.openings, key=lambda o: shapely.Point(o.at).distance(shapely.Point(old.at)))
        assert data["openings"][new.ref]["height"] == tomllib.loads(before)["openings"][old.ref]["height"]
    assert [r for r in remarks_in(result.text) if r in ("# told", "# as on the drawing")] == [
        r for r in remarks_in(after) if r in ("# told", "# as on the drawing")
    ]


def test_there_and_back_again_changes_no_decision() -> None:
    bare = planned(HEAD)
    wall = "[[wall]]\n" + side_line(bare, bare.rooms[-1].ref) + "thickness = 0.1\n"
    before = HEAD + "".join(f"[rooms.{r.ref}]\nheight = 2.{n + 10}\n" for n, r in enumerate(bare.rooms))
    there = carried(before, before + wall).text
    back = carried(there, there.replace(wall, ""))
    assert tomllib.loads(back.text)["rooms"] == tomllib.loads(before)["rooms"]


def test_a_split_room_hands_its_decisions_to_both_parts_but_not_its_name() -> None:
    bare = planned(HEAD)
    big = max(bare.rooms, key=lambda r: r.floor_area_m2)
    found = f'[[findings]]\nroom = "{big.ref}"\nkind = "loose-plaster"\namount = 2\n'
    before = HEAD + f'[rooms.{big.ref}]\nname = "Long room"\nheight = 2.5 # beam\n' + found
    after = before + f'[[split]]\nroom = "{big.ref}"\n' + side_line(bare, big.ref)
    result = carried(before, after)
    data = tomllib.loads(result.text)
    assert data["rooms"] == {f"{big.ref}a": {"height": 2.5}, f"{big.ref}b": {"height": 2.5}}
    assert data["split"][0]["room"] == big.ref, "a split names the room as it is before it"
    assert data["findings"][0]["room"] in data["rooms"]
    assert any("Findings in" in note for note in result.notes)


def test_the_split_taken_back_leaves_the_larger_part_its_say() -> None:
    bare = planned(HEAD)
    big = max(bare.rooms, key=lambda r: r.floor_area_m2)
    split = f'[[split]]\nroom = "{big.ref}"\n' + side_line(bare, big.ref)
    before = HEAD + f"[rooms.{big.ref}a]\nheight = 2.5\n[rooms.{big.ref}b]\nheight = 2.6\n" + split
    parts = {r.ref: r.floor_area_m2 for r in planned(HEAD + split).rooms}
    larger = max((f"{big.ref}a", f"{big.ref}b"), key=lambda ref: parts[ref])
    result = carried(before, before.replace(split, ""))
    assert tomllib.loads(result.text)["rooms"] == {big.ref: tomllib.loads(before)["rooms"][larger]}
    assert len([n for n in result.notes if "is now part of" in n]) == 1
    assert "# height = 2." in result.text


def test_splits_and_joins_follow_their_rooms() -> None:
    bare = planned(HEAD)
    last, first = bare.rooms[-1], bare.rooms[0]
    door = next(o for o in bare.openings if len(o.rooms) == 2 and first.ref not in o.rooms and last.ref not in o.rooms)
    joined = f'[[join]]\nrooms = ["{door.rooms[0]}", "{door.rooms[1]}"]\n'
    before = HEAD + f'[[split]]\nroom = "{last.ref}"\n' + side_line(bare, last.ref) + joined
    after = before + "[[wall]]\n" + side_line(bare, first.ref) + "thickness = 0.1\n"
    result = carried(before, after)
    data, walled = (
        tomllib.loads(result.text),
        planned(HEAD + "[[wall]]\n" + side_line(bare, first.ref) + "thickness = 0.1\n"),
    )
    assert data["split"][0]["room"] == room_at(walled, last).ref
    assert set(data["join"][0]["rooms"]) == {room_at(walled, room(bare, ref)).ref for ref in door.rooms}


def test_what_is_no_longer_there_is_kept_as_a_remark() -> None:
    bare = planned(HEAD)
    light = '[[opening]]\nat = [{}, {}]\nkind = "rooflight"\nwidth = 0.8\nheight = 0.8\n'.format(
        *(round(a + b, 3) for a, b in zip(room(bare, "R3").label_at, bare.origin_m, strict=True))
    )
    before = HEAD + light + "[openings.L1] # over the stairs\nlining = true\n"
    result = carried(before, before.replace(light, ""))
    assert "openings" not in tomllib.loads(result.text)
    assert "# [openings.L1] # over the stairs\n# lining = true\n" in result.text
    assert result.notes == ("L1 is no longer on the drawing: what was decided for it is kept as a remark.",)


def test_walls_and_their_boards_follow_their_place() -> None:
    bare = planned(HEAD)
    job = job_of(HEAD, "job.toml")
    measured = measure(bare, job)
    named = {s.ref: s for s in measured.surfaces if s.kind in ("wall", "ceiling")}
    surfaces = "".join(f'[surfaces."{ref}"]\nbackground = "brick"\n' for ref in named)
    directions = "[boards.directions]\n" + "".join(f'"{ref}" = "up" # {ref}\n' for ref in named if "-W" in ref)
    before = HEAD + surfaces + directions
    after = before + "[[wall]]\n" + side_line(bare, "R1") + "thickness = 0.1\n"
    result = carried(before, after)
    data = tomllib.loads(result.text)
    plan = planned(result.text)
    there = {s.ref: s for s in measure(plan, job_of(result.text, "job.toml")).surfaces}
    untouched = [r for r in bare.rooms if r.ref != "R1"]
    for old in untouched:
        new = room_at(plan, old)
        mine = [ref for ref in named if ref.startswith(f"{old.ref}-")]
        assert len([ref for ref in data["surfaces"] if ref.startswith(f"{new.ref}-")]) >= len(mine)
        for line in result.text.splitlines():
            if line.endswith(tuple(f"# {ref}" for ref in mine)):
                ref, was = line.split('"')[1], line.rsplit("# ", 1)[1]
                assert ref.startswith(f"{new.ref}-")
                assert there[ref].length_m == pytest.approx(named[was].length_m, abs=0.15)


def test_places_on_the_sheet_follow_a_new_scale() -> None:
    bare = planned(HEAD)
    wall = "[[wall]]\n" + side_line(bare, "R1") + "thickness = 0.1 # as built\n"
    before = HEAD + wall + "[rooms.R2]\nheight = 2.5\n"
    after = before.replace(HEAD, HEAD + 'unit = "cm"\n')
    result = carry(before, after, lambda job: plan_of(raw(), job)[1])
    here, there = tomllib.loads(before)["wall"][0], tomllib.loads(result.text)["wall"][0]
    assert there["line"] == pytest.approx([pytest.approx([10 * v for v in end]) for end in here["line"]])
    assert there["thickness"] == 0.1 and "# as built" in result.text
    assert tomllib.loads(result.text)["rooms"]


def test_what_does_not_touch_the_reading_asks_for_no_plan() -> None:
    def never(_: Job) -> Plan:
        raise AssertionError("no plan is needed")

    after = HEAD + "[rooms.R1]\nheight = 2.5\n[openings.D1]\nignore = true\n"
    assert carry(HEAD, after, never) == Carried(after)


def test_a_decision_made_in_the_same_change_is_not_written_over() -> None:
    bare = planned(HEAD)
    big = max(bare.rooms, key=lambda r: r.floor_area_m2)
    before = HEAD + f"[rooms.{big.ref}]\nheight = 2.5\n"
    split = f'[[split]]\nroom = "{big.ref}"\n' + side_line(bare, big.ref)
    after = before + split + f"[rooms.{big.ref}b]\nheight = 2.9\n"
    rooms: Any = tomllib.loads(carried(before, after).text)["rooms"]
    assert rooms == {f"{big.ref}a": {"height": 2.5}, f"{big.ref}b": {"height": 2.9}}


@pytest.mark.parametrize("text", ["rooms = { R2 = { height = 2.5 } }\n", "rooms.R2.height = 2.5\n"])
def test_refs_in_short_forms(text: str) -> None:
    bare = planned(HEAD)
    before = text + HEAD
    after = before + "[[wall]]\n" + side_line(bare, "R1") + "thickness = 0.1\n"
    result = carried(before, after)
    data = tomllib.loads(result.text)
    assert data["rooms"] == {room_at(planned(result.text), room(bare, "R2")).ref: {"height": 2.5}}
