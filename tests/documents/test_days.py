"""Working days as dates, against the calendar of the standard library, and other trades in the day plan."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from takeoff.documents.day_plan import day_table, stage_days
from takeoff.documents.days import day_name
from takeoff.documents.paper import Para, Table
from takeoff.errors import JobError
from takeoff.job import job_from
from tests.documents.priced import PRICES, priced


@pytest.mark.parametrize("first", [date(2024, 6, 3) + timedelta(days=n) for n in range(7)])
def test_days_follow_the_calendar_without_weekends(first: date) -> None:
    """Counted day by day with `datetime`: the n-th day from the first that is no Saturday or Sunday."""
    worked = [d for n in range(40) if (d := first + timedelta(days=n)).weekday() < 5]
    for number, day in enumerate(worked[:20], 1):
        assert day_name(number, first) == f"{number}, {day:%a} {day.day} {day:%b}"
    assert day_name(3, None) == "3"


def test_a_first_day_that_is_no_date_is_refused() -> None:
    with pytest.raises(JobError, match="start_date"):
        job_from({"gang": {"start_date": "next Monday"}})


NEW = {"job": {"existing": False, "name": "New"}, "gang": {"people": 2, "start_date": "2024-06-03"}}


def test_other_trades_stand_in_the_day_plan_and_cost_no_hours_of_ours() -> None:
    early = priced(2, **PRICES, **NEW)
    (before, *_) = [b.text for b in day_table(early) if isinstance(b, Para)]
    assert before.startswith("Before day 1: first-fix services done") and before.endswith("in R1, R2.")
    late = priced(2, **PRICES, **NEW, services={"done_day": 3})
    assert late.programme is not None and early.programme is not None
    assert sum(s.hours for s in stage_days(late)) == pytest.approx(sum(s.hours for s in stage_days(early)))
    (table,) = [b for b in day_table(late) if isinstance(b, Table)]
    third = next(row for row in table.rows if row[0].startswith("3, Wed 5 Jun"))
    assert "first-fix services done (others) in R1, R2" in third[1]
    boards = [p.day for p in late.programme.placed if p.piece.stage == "board"]
    assert boards and min(boards) == 4


def test_the_day_plan_tells_every_mix_of_the_programme() -> None:
    done = priced(2, **PRICES, **NEW)
    assert done.programme is not None
    (table,) = [b for b in day_table(done) if isinstance(b, Table)]
    told = sum(int(part.rsplit(" ", 1)[1]) for row in table.rows[1:] for part in row[2].split(", ") if part)
    assert told == sum(count for p in done.programme.placed for _, count in p.piece.mixes) > 0
