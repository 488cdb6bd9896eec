"""Which background and build-up a surface gets, and who said so. The rules are the project's, the rooms invented."""

from __future__ import annotations

import pytest

from takeoff.errors import JobError
from takeoff.measure.model import Deduction, Surface
from takeoff.work.assign import plan_work
from takeoff.work.model import Assignment
from tests.work import by_hand as hand

WINDOW = Deduction("W1", 1.2, 1.05, 1.26, "deducted")
OLD = {"job": {"existing": True}}


def _given(surfaces: list[Surface], ref: str, /, **tables: object) -> Assignment:
    rooms = dict.fromkeys(s.room for s in surfaces)
    plan = hand.plan(*rooms, openings=[hand.opening("W1", "window", "R1")])
    work = plan_work(plan, hand.measured(surfaces), hand.job(**tables))
    return next(a for a in work.assignments if a.surface == ref)


@pytest.mark.parametrize(
    ("wall_type", "thickness", "external", "background", "build_up"),
    [
        ("masonry", 0.3, True, "block", "undercoat-block"),
        ("partition", 0.1, False, "timber frame", "skim-12-5"),
        ("unknown", 0.1, False, "timber frame", "skim-12-5"),
        ("unknown", 0.215, False, "block", "undercoat-block"),
        ("unknown", None, True, "block", "undercoat-block"),
        ("unknown", None, None, "timber frame", "skim-12-5"),
    ],
)
def test_proposed_from_the_drawing(
    wall_type: str, thickness: float | None, external: bool | None, background: str, build_up: str
) -> None:
    wall = hand.wall("R1-W1", 4, 2.4, wall_type=wall_type, thickness_m=thickness, external=external)
    given = _given([wall], "R1-W1")
    assert (given.background, given.build_up) == (background, build_up)
    assert given.decided_by.startswith("drawing:" if wall_type != "unknown" else "default:")


def test_a_wall_that_could_be_either_is_taken_as_most_of_its_like() -> None:
    known = [
        hand.wall("R1-W1", 9, 2.4, wall_type="masonry", external=True),
        hand.wall("R1-W2", 5, 2.4, wall_type="partition", external=False),
    ]
    for external, background in ((True, "block"), (False, "timber frame")):
        unclear = hand.wall("R1-W3", 3, 2.4, external=external, thickness_m=0.14)
        given = _given([*known, unclear], "R1-W3")
        assert given.background == background
        assert given.decided_by.startswith("default: wall type not known, taken as most")
    divided = [*known, hand.wall("R1-W4", 5, 2.4, wall_type="masonry", external=False)]
    thick = hand.wall("R1-W3", 3, 2.4, external=False, thickness_m=0.15)
    assert _given([*divided, thick], "R1-W3").decided_by.endswith("150 mm thick"), "no majority: by thickness"


def test_ceilings_are_boarded_joists_when_new_and_sound_plaster_when_existing() -> None:
    ceiling = hand.ceiling("R1-C1", 4, 3)
    assert _given([ceiling], "R1-C1").build_up == "skim-12-5"
    old = _given([ceiling], "R1-C1", **OLD)
    assert (old.background, old.build_up) == ("sound plaster", "skim-over-plaster")


LEVELS = [
    ({"wall_types": {"masonry": {"background": "brick"}}}, "brick", "job: wall type masonry"),
    ({"rooms": {"R1": {"wall_background": "concrete"}}}, "concrete", "job: room R1"),
    ({"surfaces": {"R1-W1": {"background": "smooth"}}}, "smooth", "job: surface"),
]


def test_the_most_particular_word_wins() -> None:
    """Each level of the job file, added one upon the other, overrules those before."""
    wall = hand.wall("R1-W1", 4, 2.4, wall_type="masonry", thickness_m=0.3)
    tables: dict[str, object] = {}
    for table, background, by in LEVELS:
        tables |= table
        given = _given([wall], "R1-W1", **tables)
        assert (given.background, given.decided_by) == (background, by)


def test_a_room_marked_existing_outweighs_wall_types_but_a_whole_existing_job_does_not() -> None:
    wall = hand.wall("R1-W1", 4, 2.4, wall_type="masonry")
    types = {"wall_types": {"masonry": {"background": "brick"}}}
    assert _given([wall], "R1-W1", **types, rooms={"R1": {"existing": True}}).background == "sound plaster"
    assert _given([wall], "R1-W1", **types, **OLD).background == "brick"


def test_a_reveal_follows_its_wall_unless_the_opening_says_otherwise() -> None:
    surfaces = [
        hand.wall("R1-W1", 4, 2.4, wall_type="partition"),
        hand.wall("R1-W2", 4, 2.4, wall_type="masonry", openings=[WINDOW]),
        hand.reveal("R1-W2-W1-head", "W1", 1.2, 0.15),
    ]
    ref = "R1-W2-W1-head"
    assert _given(surfaces, ref).build_up == "undercoat-block"
    assert _given(surfaces, ref, surfaces={"R1-W2": {"build_up": "dabs-12-5"}}).build_up == "dabs-12-5"
    by_kind = {"opening_kinds": {"window": {"background": "timber frame"}}}
    assert _given(surfaces, ref, **by_kind).build_up == "skim-12-5"
    by_opening = {"openings": {"W1": {"build_up": "skim-15"}}}
    given = _given(surfaces, ref, **by_kind, **by_opening)
    assert (given.build_up, given.decided_by) == ("skim-15", "job: opening W1")


def test_a_build_up_that_is_no_lining_for_reveals_leaves_them_their_background() -> None:
    surfaces = [
        hand.wall("R1-W1", 4, 2.4, wall_type="masonry", openings=[WINDOW]),
        hand.reveal("R1-W1-W1-head", "W1", 1.2, 0.15),
    ]
    lined = {"surfaces": {"R1-W1": {"build_up": "dabs-laminate"}}}
    assert _given(surfaces, "R1-W1-W1-head", **lined).build_up == "undercoat-block"


def test_a_build_up_alone_tells_the_background_too() -> None:
    wall = hand.wall("R1-W1", 4, 2.4, wall_type="partition")
    given = _given([wall], "R1-W1", surfaces={"R1-W1": {"build_up": "undercoat-brick"}})
    assert given.background == "brick"


def test_a_rooms_build_up_goes_where_it_suits_and_leaves_other_walls_as_they_are() -> None:
    mixed = [hand.wall("R1-W1", 4, 2.4, wall_type="masonry"), hand.wall("R1-W2", 4, 2.4, wall_type="partition")]
    tables = {"rooms": {"R1": {"wall_build_up": "skim-mr-12-5"}}}
    block, stud = _given(mixed, "R1-W1", **tables), _given(mixed, "R1-W2", **tables)
    assert (block.build_up, stud.build_up) == ("undercoat-block", "skim-mr-12-5")
    assert block.decided_by == "drawing: masonry; skim-mr-12-5 does not go on block"
    alone = _given(mixed[:1], "R1-W1", **tables)
    assert (alone.background, alone.build_up) == ("timber frame", "skim-mr-12-5"), "no wall suits: the build-up tells"


def test_a_particular_build_up_overrules_a_general_background() -> None:
    wall = hand.wall("R1-W1", 4, 2.4, wall_type="unknown")
    frames = {"wall_types": {"unknown": {"background": "timber frame"}}}
    given = _given([wall], "R1-W1", **frames, surfaces={"R1-W1": {"build_up": "dabs-12-5"}})
    assert (given.background, given.decided_by) == ("brick", "job: surface")


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ({"rooms": {"R9": {"wall_background": "brick"}}}, ["rooms.R9", "R1"]),
        ({"openings": {"W9": {"background": "brick"}}}, ["openings.W9", "W1"]),
        ({"rooms": {"R1": {"wall_background": "bricks"}}}, ["rooms.R1.wall_background", "'bricks'", "brick"]),
        ({"rooms": {"R1": {"wall_build_up": "skim-13"}}}, ["rooms.R1.wall_build_up", "'skim-13'", "skim-12-5"]),
        ({"surfaces": {"R1-W1": {"build_up": "dabs-12-5", "background": "timber frame"}}}, ["'timber frame'", "block"]),
        ({"rooms": {"R1": {"ceiling_build_up": "dabs-12-5"}}}, ["R1-C1", "ceiling", "wall"]),
    ],
)
def test_what_cannot_be_is_an_error_that_names_the_key_and_what_would_be_right(
    tables: dict[str, object], words: list[str]
) -> None:
    surfaces = [hand.wall("R1-W1", 4, 2.4, wall_type="masonry"), hand.ceiling("R1-C1", 4, 3)]
    with pytest.raises(JobError) as fault:
        _given(surfaces, "R1-W1", **tables)
    assert all(word in str(fault.value) for word in words), str(fault.value)
