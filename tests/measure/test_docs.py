"""The worked room and the table of rules in docs/measuring.md are what the program measures and ships."""

from __future__ import annotations

from pathlib import Path

from takeoff.data import load
from takeoff.job import job_from
from takeoff.measure.rooms import measure
from tests.measure.plans import opening, plan, rectangle

DOC = (Path(__file__).parents[2] / "docs" / "measuring.md").read_text(encoding="utf-8")


def rows(heading: str) -> list[list[str]]:
    """The rows of the table whose first column is headed `heading`."""
    table = DOC[DOC.index(f"| {heading} |") :].split("\n\n")[0].splitlines()[2:]
    return [[cell.strip() for cell in line.strip("| ").split("|")] for line in table]


def test_the_worked_room() -> None:
    openings = [opening("W1", (2.1, -0.15), 1.2, 1.2, 0.9, 0.3), opening("D1", (4.25, 1.5), 0.9, 2.1, 0.0)]
    measured = measure(plan(rectangle(4.2, 3.0), openings=openings), job_from({}))
    assert rows("surface") == [[s.ref, s.how, f"{s.net_m2:.2f}"] for s in measured.surfaces]
    edges = [q for q in measured.quantities if q.surface == ""]
    worked = DOC[DOC.index("## A small room worked out") :]
    for q in edges:
        assert f"| {q.item} | {q.how} | {q.net:.2f} |" in worked
    assert worked.count(" m |") == 1 and len(edges) == 4


def test_every_rule_is_in_the_table() -> None:
    shipped = load("rules")["rules"]
    told = {row[0].split("`")[1]: row for row in rows("rule")}
    assert list(told) == list(shipped)
    for slug, row in told.items():
        assert row[3] == f"{shipped[slug]['narrow_width_m']:.2f} m"
