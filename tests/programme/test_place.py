"""Placing pieces on days, against worked-out programmes and against exhaustive search."""

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.job import Job, job_from
from takeoff.materials.catalogue import catalogue
from takeoff.materials.model import Order, OrderLine
from takeoff.programme.build import _out_of_date
from takeoff.programme.model import Delivery, Piece
from takeoff.programme.pieces import make_pieces
from takeoff.programme.place import DAY, QUARTERS, place
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


def test_order_of_work_in_a_room() -> None:
    stages = ("wall finish", "ceiling finish", "undercoat", "strip", "protect", "bond")
    pieces, _ = make_pieces([operation(s, s, 1.0) for s in stages], {}, Job())
    assert [p.stage for p in pieces] == ["protect", "strip", "undercoat", "bond", "ceiling finish", "wall finish"]
    done = place(pieces, 1, 8)
    assert done.starts["R1-ceiling finish"] >= DAY  # the day after the bonding agent


def test_a_load_that_the_programme_outruns_is_asked_about() -> None:
    """Undercoat keeps about 120 days (data/materials.toml, from memory): 100 working days are 140 of the calendar."""
    order = make_order_of("undercoat")
    assert [q.kind for q in _out_of_date([Delivery(1, (("undercoat", 3),), 75.0)], 100, order)] == ["shelf-life"]
    assert _out_of_date([Delivery(1, (("undercoat", 3),), 75.0)], 80, order) == []


def make_order_of(slug: str) -> Order:
    material = catalogue(Job())[slug]
    return Order((OrderLine(material, 60, 5, 63, 3, 12, 75, ()),))
