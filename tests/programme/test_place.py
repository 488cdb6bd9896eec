"""Placing pieces on days, against worked-out programmes and against exhaustive search."""

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.job import Job, job_from
from takeoff.materials.catalogue import catalogue
from takeoff.materials.model import Order, OrderLine
from takeoff.programme.bounds import fewest_days
from takeoff.programme.build import _out_of_date
from takeoff.programme.coats import Coat, MixRule, mixes_in, until_set_h
from takeoff.programme.lists import days_of, place_by
from takeoff.programme.model import Delivery, Piece
from takeoff.programme.pieces import make_pieces
from takeoff.programme.place import place
from takeoff.programme.tasks import DAY, QUARTERS, tasks_of
from takeoff.work.model import Operation


def piece(ref: str, hours: float, *after: tuple[str, float], people: int = 1) -> Piece:
    return Piece(ref, "R1", "repair", ref, hours, people, tuple((r, w, "test") for r, w in after), True)


def check(pieces: list[Piece], people: int, hours_per_day: float, starts: dict[str, int]) -> None:
    """Every rule of the placing, looked at afresh: within a day, waits kept, hands enough."""
    length = {p.ref: -(-p.hours * QUARTERS // 1) for p in pieces}
    for p in pieces:
        assert starts[p.ref] % DAY + length[p.ref] <= hours_per_day * QUARTERS
        for ref, wait, _ in p.after:
            assert starts[p.ref] >= starts[ref] + length[ref] + wait * QUARTERS
    for p in pieces:
        at = starts[p.ref]
        busy = sum(q.people for q in pieces if starts[q.ref] <= at < starts[q.ref] + length[q.ref])
        assert busy <= people


def test_overnight_wait_makes_a_second_day() -> None:
    """Bonding agent the day before (common practice): 12 hours of the clock end on the next morning."""
    done = place([piece("bond", 1), piece("finish", 4, ("bond", 12.0))], 1, 8)
    assert (done.days, done.bound) == (2, 2)
    assert done.starts["finish"] == DAY


def test_set_wait_fits_in_the_day_while_another_room_is_worked() -> None:
    """Two rooms, undercoat 2 h, set 2 h, finish 2 h: alone one man needs 8 hours, by going from room to room."""
    rooms = [piece("u1", 2), piece("f1", 2, ("u1", 2.0)), piece("u2", 2), piece("f2", 2, ("u2", 2.0))]
    done = place(rooms, 1, 8)
    assert done.days == done.bound == 1


def test_no_coat_is_left_half_done() -> None:
    done = place([piece("a", 5), piece("b", 5), piece("c", 3)], 1, 8)
    assert done.days == 2
    check([piece("a", 5), piece("b", 5), piece("c", 3)], 1, 8, done.starts)


def best_by_hand(lengths: list[int], day: int) -> int:
    """Fewest days for independent pieces in one pair of hands: every order, filled day by day (bin packing)."""
    fewest = len(lengths)
    for order in permutations(lengths):
        days, left = 1, day
        for length in order:
            if length > left:
                days, left = days + 1, day
            left -= length
        fewest = min(fewest, days)
    return fewest


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(1, 32), min_size=1, max_size=6))
def test_as_few_days_as_exhaustive_search(quarters: list[int]) -> None:
    """Independent check: exhaustive search over all orders (bin packing by brute force)."""
    pieces = [piece(f"p{n}", q / QUARTERS) for n, q in enumerate(quarters)]
    done = place(pieces, 1, 8)
    check(pieces, 1, 8, done.starts)
    assert done.days == best_by_hand(quarters, 32)


def test_the_same_job_gives_the_same_days() -> None:
    pieces = [piece(f"p{n}", h) for n, h in enumerate((5, 5, 5, 3, 3, 3, 4, 4, 6, 2))]
    assert place(pieces, 2, 8) == place(pieces, 2, 8)


def operation(task: str, stage: str, hours: float, surfaces: tuple[str, ...] = ()) -> Operation:
    return Operation(f"R1-{task}", "R1", task, task, stage, hours, "m2", 1, 1, 1, surfaces=surfaces)


def test_coats_are_cut_by_whole_surfaces() -> None:
    walls = {"R1-W1": 10.0, "R1-W2": 20.0, "R1-W3": 10.0}
    pieces, asked = make_pieces([operation("finish-wall", "wall finish", 12.0, tuple(walls))], walls, Job())
    # 12 hours over 40 m2: walls of 3, 6 and 3 hours; a day of 8 hours holds the first alone with none of the second.
    assert [p.hours for p in pieces] == pytest.approx([3.0, 6.0, 3.0])
    assert asked == ()


def test_a_coat_longer_than_the_day_is_asked_about_and_more_people_settle_it() -> None:
    ceiling = [operation("finish-ceiling", "ceiling finish", 10.0, ("R1-C1",))]
    alone, asked = make_pieces(ceiling, {"R1-C1": 30.0}, Job())
    assert [q.kind for q in asked] == ["coat-longer-than-day"]
    both, asked = make_pieces(ceiling, {"R1-C1": 30.0}, job_from({"gang": {"people": 2}}))
    assert asked == ()
    assert (both[0].people, both[0].hours) == (2, pytest.approx(5.0))
    assert alone[0].hours == pytest.approx(10.0)


def test_the_last_mix_sets_before_knocking_off_time() -> None:
    """Finish sets 75 minutes after mixing (data/materials.toml: 60-90 min, trade pages): begun half an hour before the
    end of a day of 8 hours it would be left soft, so it waits for the morning."""
    long = piece("board", 7.5)
    coat = replace(piece("finish", 0.5, ("board", 0.0)), until_set_h=1.25)
    assert place([long, replace(coat, until_set_h=0.0)], 1, 8).days == 1
    done = place([long, coat], 1, 8)
    assert (done.days, done.bound, done.starts["finish"]) == (2, 2, DAY)


WALL = Coat(2.7, 10.0, MixRule("finish", "finish", 15.0, 2, 1.25))
"""10 m2 of finish at 0.27 h/m2, each mix laid over at most 15 m2, both coats mixed apart."""


def test_mixes_are_whole_and_shared_by_the_surfaces_of_one_go() -> None:
    """20 m2 in mixes of at most 15: two for each coat; 10 m2 and 5 m2 share one mix for each coat."""
    assert mixes_in([WALL, WALL]) == (("finish", 4),)
    assert mixes_in([WALL, replace(WALL, m2=5.0)]) == (("finish", 2),)
    # Four mixes in 5.4 hours: the last is begun after three quarters of it and sets 1.25 hours later, at 5.3; by then
    # one person is still at it, two are done after 2.7 and wait for it.
    assert until_set_h([WALL, WALL], 1) == pytest.approx(5.4)
    assert until_set_h([WALL, WALL], 2) == pytest.approx(2.7 * 3 / 4 + 1.25)


def test_coats_are_grouped_so_that_a_day_holds_them_until_they_have_set() -> None:
    """Five walls of 1.5 hours are 7.5 hours of work and fit a day of 8, but the fifth mix would not set in it."""
    walls = {f"R1-W{n}": 5.0 for n in range(1, 6)}
    rules = {("R1", "finish-wall", ref): MixRule("finish", "finish", 5.0, 1, 2.5) for ref in walls}
    done, _ = make_pieces([operation("finish-wall", "wall finish", 7.5, tuple(walls))], walls, Job(), rules)
    # 4 walls: 6 h x 3/4 + 2.5 = 7.0 h; 5 walls: 7.5 h x 4/5 + 2.5 = 8.5 h, over the day.
    assert [p.hours for p in done] == pytest.approx([6.0, 1.5])
    assert [p.mixes for p in done] == [(("finish", 4),), (("finish", 1),)]
    assert [p.until_set_h for p in done] == pytest.approx([7.0, 2.5])


def test_passes_of_lime_are_days_apart() -> None:
    """Each coat firm before the next: three days at least (data/programme.toml, from memory)."""
    walls = {"R1-W1": 10.0}
    rules = {("R1", "lime-coat", "R1-W1"): MixRule("lime-base", "lime", 8.0, 1, 2.0)}
    twice = replace(operation("lime-coat", "undercoat", 4.0, ("R1-W1",)), quantity=20.0, hours_likely=0.2)
    finish = operation("finish-wall", "wall finish", 2.0)
    done, _ = make_pieces([twice, finish], walls, Job(), rules)
    assert [p.stage for p in done] == ["undercoat", "undercoat", "wall finish"]
    assert [p.hours for p in done] == pytest.approx([2.0, 2.0, 2.0])
    starts = place(done, 1, 8).starts
    assert starts[done[1].ref] == 3 * DAY + 8
    assert starts[done[2].ref] == 6 * DAY + 16


BOARDS = [operation("strip-paper", "strip", 2.0), operation("board-wall", "board", 1.0)]


@pytest.mark.parametrize(
    ("tables", "board_from"),
    [
        ({}, 8),  # done before the first day: straight after two hours of stripping
        ({"services": {"done_day": 2}}, 2 * DAY),  # the morning of the third day
        ({"services": {"days": 1}}, 2 * DAY),  # stripped on the first day, others on the second
        ({"services": {"days": 1, "done_day": 4}}, 4 * DAY),
        ({"services": {"done_day": 4}, "rooms": {"R1": {"services_done_day": 0}}}, 8),
    ],
)
def test_boards_wait_for_the_services_behind_them(tables: dict[str, object], board_from: int) -> None:
    done, _ = make_pieces(BOARDS, {}, job_from(tables), closed=("R1",))
    wait = next(p for p in done if p.stage == "services")
    assert (wait.people, wait.hours, wait.operations) == (0, 0.0, ())
    assert place(done, 1, 8).starts["R1-board"] == board_from


def test_rooms_in_which_nothing_is_closed_up_wait_for_nobody() -> None:
    done, _ = make_pieces(BOARDS, {}, job_from({"services": {"done_day": 9}}))
    assert place(done, 1, 8).days == 1


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(4, 24), st.integers(0, 40)), min_size=2, max_size=5), st.integers(1, 2))
def test_no_bound_is_above_the_best_of_all_orders(some: list[tuple[int, int]], people: int) -> None:
    """Independent check: every order of the chain's pieces placed by hand's rule; the bound never exceeds the best."""
    pieces = [piece("p0", some[0][0] / 4)]
    pieces += [piece(f"p{n}", q / 4, *[(f"p{n - 2}", w / 4)] * (n >= 2)) for n, (q, w) in enumerate(some[1:], 1)]
    tasks = tasks_of(pieces, 32)
    best = min(days_of(place_by(order, tasks, people, 32)) for order in permutations(range(len(tasks))))
    assert fewest_days(tasks, people, 32) <= best
    check(pieces, people, 8, (done := place(pieces, people, 8)).starts)
    assert done.bound <= done.days <= best


def test_order_of_work_in_a_room() -> None:
    stages = ("wall finish", "ceiling finish", "undercoat", "strip", "protect", "bond", "key")
    pieces, _ = make_pieces([operation(s, s, 1.0) for s in stages], {}, Job())
    assert [p.stage for p in pieces] == [
        "protect",
        "strip",
        "key",
        "undercoat",
        "bond",
        "ceiling finish",
        "wall finish",
    ]
    done = place(pieces, 1, 8)
    assert done.starts["R1-undercoat"] >= DAY  # the day after the bonding agent that keys it
    assert done.starts["R1-ceiling finish"] >= 2 * DAY  # the day after the bonding agent on it


def test_a_load_that_the_programme_outruns_is_asked_about() -> None:
    """Undercoat keeps about 120 days (data/materials.toml, from memory): 100 working days are 140 of the calendar."""
    order = make_order_of("undercoat")
    assert [q.kind for q in _out_of_date([Delivery(1, (("undercoat", 3),), 75.0)], 100, order)] == ["shelf-life"]
    assert _out_of_date([Delivery(1, (("undercoat", 3),), 75.0)], 80, order) == []


def make_order_of(slug: str) -> Order:
    material = catalogue(Job())[slug]
    return Order((OrderLine(material, 60, 5, 63, 3, 12, 75, ()),))
