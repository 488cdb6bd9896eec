"""What is asked, and what must be shown. The list of warnings is that of the trade notes' "must-show notices"."""

from __future__ import annotations

import tomllib

import pytest

from takeoff.data import load
from takeoff.measure.model import Surface
from takeoff.plan.model import Room
from takeoff.query import Query
from takeoff.work.assign import plan_work
from takeoff.work.model import Work
from tests.work import by_hand as hand


def _work(surfaces: list[Surface], rooms: list[Room] | None = None, /, **tables: object) -> Work:
    refs = rooms or [hand.room(ref) for ref in dict.fromkeys(s.room for s in surfaces)]
    return plan_work(hand.plan(*refs), hand.measured(surfaces), hand.job(**tables))


def _asked(work: Work, kind: str) -> list[Query]:
    return [q for q in work.queries if q.kind == kind]


STUD = hand.wall("R1-W1", 4, 2.4, wall_type="partition", thickness_m=0.1, external=False)


def test_walls_that_could_be_either_are_asked_about_once() -> None:
    unclear = [hand.wall(f"R{n}-W1", 3.5, 2.4) for n in range(1, 6)]
    questions = _asked(_work(unclear), "background-unclear")
    assert len(questions) == 1
    assert questions[0].about == ("R1", "R2", "R3", "R4", "R5")
    assert "5 walls (17.5 m of run)" in questions[0].says


def test_the_answer_offered_settles_the_question() -> None:

    unclear = [hand.wall("R1-W1", 3.5, 2.4)]
    answer = _asked(_work(unclear), "background-unclear")[0].answer
    assert not _asked(_work(unclear, **tomllib.loads(answer)), "background-unclear")


def test_clear_walls_and_existing_rooms_ask_nothing_about_backgrounds() -> None:
    assert not _work([STUD]).queries
    old = _work([hand.wall("R1-W1", 3.5, 2.4)], job={"existing": True})
    assert not _asked(old, "background-unclear")


WET = [
    hand.room("R1", "Bathroom", "wet room"),
    hand.room("R2", "Shower", "wet room"),
    hand.room("R3", "Garage", "garage"),
]
WET_WALLS = [hand.wall(f"R{n}-W1", 3, 2.4, wall_type="partition") for n in (1, 2, 3)]


def test_moisture_and_fire_are_asked_once_each_and_never_decided() -> None:
    work = _work(WET_WALLS, WET)
    questions = _asked(work, "specification")
    assert [q.about for q in questions] == [("R1", "R2"), ("R3",)]
    assert "R1 Bathroom" in questions[0].says and "tested" in questions[1].says
    assert {a.build_up for a in work.assignments} == {"skim-12-5"}, "proposed as anywhere else until the user says"


def test_what_is_offered_suits_the_walls_there_and_settles_the_question() -> None:

    for wall_type, offered in (("partition", "skim-mr-12-5"), ("masonry", "battens-mr-12-5")):
        wall = [hand.wall("R1-W1", 3, 2.4, wall_type=wall_type), hand.ceiling("R1-C1", 3, 2)]
        answer = _asked(_work(wall, WET[:1]), "specification")[0].answer
        settled = _work(wall, WET[:1], **tomllib.loads(answer))
        assert settled.assignments[0].build_up == offered
        assert settled.assignments[0].background == _work(wall).assignments[0].background
        assert not _asked(settled, "specification")


def test_a_room_whose_build_up_is_named_is_not_asked_about() -> None:
    walls = {"R1": {"wall_build_up": "skim-mr-12-5"}, "R2": {"wall_build_up": "skim-12-5"}}
    questions = _asked(_work(WET_WALLS, WET, rooms=walls), "specification")
    assert [q.about for q in questions] == [("R3",)]


def test_existing_rooms_are_not_asked_to_be_relined() -> None:
    assert not _asked(_work(WET_WALLS, WET, job={"existing": True}), "specification")


def test_thick_walls_between_rooms_may_separate_dwellings() -> None:
    party = hand.wall("R1-W1", 4, 2.4, wall_type="masonry", thickness_m=0.25, external=False)
    outer = hand.wall("R1-W2", 4, 2.4, wall_type="masonry", thickness_m=0.25, external=True)
    assert not _asked(_work([party, outer]), "specification"), "one house: its thick inner walls are no party walls"
    for rooms in ([hand.room("R1", "Common stair")], [hand.room("R1", "Flat 2 hall")]):
        assert [q.about for q in _asked(_work([party, outer], rooms), "specification")] == [("R1-W1",)]
    plots = {"R1": {"plot": "1"}, "R2": {"plot": "2"}}
    two = [hand.room("R1"), hand.room("R2")]
    assert [q.about for q in _asked(_work([party, outer], two, rooms=plots), "specification")] == [("R1-W1",)]


def test_lime_is_offered_and_never_assumed() -> None:
    rooms = {"R1": {"wall_background": "solid historic wall"}}
    work = _work([STUD], rooms=rooms)
    assert work.assignments[0].build_up != "lime-three-coat"
    assert "lime-three-coat" in _asked(work, "specification")[0].answer
    rooms["R1"]["wall_build_up"] = "lime-three-coat"
    settled = _work([STUD], rooms=rooms)
    assert not _asked(settled, "specification")
    assert not [n for n in settled.needs if n.material in ("finish", "undercoat", "angle-bead")], "no gypsum, no steel"


def test_a_board_on_studs_too_far_apart_is_asked_about() -> None:
    """NHBC 6.3.12 (2020): 9.5 mm board spans 450; 12.5 mm spans 600."""
    thin = {"rooms": {"R1": {"wall_build_up": "skim-9-5"}}}
    assert _asked(_work([STUD], **thin), "board-span")[0].about == ("R1-W1",)
    assert not _asked(_work([STUD], **thin, framing={"wall_centres": 450}), "board-span")
    assert not _asked(_work([STUD]), "board-span")


def test_noggings_are_warned_of_where_the_ceiling_board_needs_them() -> None:
    """NHBC 9.2.4 Table 5 (2022): 12.5 mm on joists at 450 none, at 600 with noggings."""
    ceiling = [hand.ceiling("R1-C1", 4, 3)]
    assert "noggings" not in _slugs(_work(ceiling, framing={"ceiling_centres": 450}))
    wide = _work(ceiling, framing={"ceiling_centres": 600})
    assert "noggings" in _slugs(wide) and not _asked(wide, "board-span")


def _slugs(work: Work) -> set[str]:
    return {notice.slug for notice in work.notices}


MUST_SHOW = {"asbestos", "lead", "dust", "height", "lifting", "services", "fire-sound", "damp", "moisture"}
MUST_SHOW |= {"skin-eyes", "not-a-survey"}


def test_an_old_house_with_a_bathroom_shows_every_warning_of_the_trade_notes() -> None:
    surfaces = [
        hand.wall("R1-W1", 4, 2.4),
        hand.ceiling("R1-C1", 4, 3),
        hand.wall("R2-W1", 4, 2.4, wall_type="partition"),
    ]
    rooms = [hand.room("R1"), hand.room("R2", "Bathroom", "wet room")]
    work = _work(surfaces, rooms, rooms={"R1": {"existing": True}})
    assert _slugs(work) >= MUST_SHOW


@pytest.mark.parametrize(("built", "shown"), [(True, True), (None, True), (False, False)])
def test_asbestos_stands_until_the_building_is_known_to_be_younger(built: bool | None, shown: bool) -> None:
    about = {"existing": True} | ({} if built is None else {"built_before_2000": built})
    work = _work([hand.wall("R1-W1", 4, 2.4)], job=about)
    assert ("asbestos" in _slugs(work)) == shown


def test_a_finding_calls_for_its_warning() -> None:
    ceiling = {"room": "R1", "kind": "dropped-ceiling", "amount": 4, "place": "ceiling"}
    walls = [hand.wall("R1-W1", 4, 2.4)]
    assert "height" not in _slugs(_work(walls))
    assert "height" in _slugs(_work(walls, findings=[ceiling]))


def test_warnings_name_the_rooms_that_call_for_them() -> None:
    notices = {n.slug: n for n in _work(WET_WALLS, WET).notices}
    assert notices["moisture"].about == ("R1", "R2")
    assert notices["not-a-survey"].about == ()


def test_words_of_the_users_own_build_up_are_shown() -> None:
    own = {
        "layers": [{"material": "finish", "thickness_mm": 2}],
        "backgrounds": ["board"],
        "cautions": ["Mind the cat."],
    }
    tables = {"build_ups": {"own": own}, "rooms": {"R1": {"wall_build_up": "own"}}}
    assert "Caution: Mind the cat." in _work([STUD], **tables).cautions


def test_every_warning_has_words_and_a_source() -> None:
    for slug, row in load("cautions").items():
        assert row["title"] and row["when"] and row["says"].endswith("."), slug
        assert any(s in row["source"] for s in ("seen", "from memory", "common practice")), slug
    assert "survey" in load("cautions")["not-a-survey"]["says"]
