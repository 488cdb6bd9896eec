"""Every question can be answered, and the answer settles it: tried on the shipped samples by way of the job file."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from takeoff.data import load
from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from takeoff.job import Job, job_of
from takeoff.pipeline import measured_up, plan_of
from takeoff.plan.model import Plan
from takeoff.query import Query, query
from takeoff.record import Takeoff
from takeoff.review.changes import apply
from takeoff.review.offers import Answer, offers
from takeoff.review.plan_part import plan_key, plan_part
from tests.draughtsman.cases import make
from tests.draughtsman.run import read_case
from tests.draughtsman.vices import VICES

SAMPLES = Path(__file__).parents[2] / "samples"
KINDS = load("queries")


@cache
def raw(name: str) -> Drawing:
    if name.startswith("drawn "):
        kind, seed, vice, strength = name.removeprefix("drawn ").split("|")
        return read_case(make(kind, int(seed), ((VICES[vice], float(strength)),)))
    return read_drawing(SAMPLES / f"{name}.dxf")


@cache
def taken(name: str, text: str) -> Takeoff:
    job = job_of(text, "job.toml")
    drawing, plan = understood(name, plan_key(job), job)
    return measured_up(drawing, plan, job)


_PLANS: dict[tuple[str, str], tuple[Drawing, Plan]] = {}


def understood(name: str, key: str, job: Job) -> tuple[Drawing, Plan]:
    if (name, key) not in _PLANS:
        _PLANS[name, key] = plan_of(raw(name), plan_part(job))
    return _PLANS[name, key]


def kept(text: str) -> str:
    """A job file of the samples without the drawing's name and without the questions that it accepts."""
    changes: list[dict[str, Any]] = [{"op": "remove", "table": ["accept"], "index": 0}] * len(
        tomllib.loads(text).get("accept", [])
    )
    return apply(text, changes)


EXISTING = """
[job]
existing = true
[[findings]]
room = "R1"
kind = "loose-plaster"
place = "walls"
amount = 6
[[findings]]
room = "R1"
kind = "damp"
place = "walls"
amount = 2
[measure]
smallest_void = 0.4
"""
FRAMED = '[framing]\nwall_centres = 600\nceiling_centres = 600\n[wall_types.unknown]\nbackground = "timber frame"\n'
THIN = "[rooms.R1]\nheight = 1.9\n"
CASES = {
    "a bare drawing": ("new_house", ""),
    "an old house": ("rear_extension", EXISTING),
    "a flat": ("upstairs_flat", THIN),
    "framing set wide": ("new_house", FRAMED),
    "the sample jobs": ("rear_extension", kept((SAMPLES / "rear_extension.toml").read_text(encoding="utf-8"))),
    "an upstairs flat with its job": (
        "upstairs_flat",
        kept((SAMPLES / "upstairs_flat.toml").read_text(encoding="utf-8")),
    ),
    "an open plan": ("drawn house|2|open plan|2.0", ""),
}


def asked() -> list[tuple[str, str, str, Query]]:
    return [(case, name, text, q) for case, (name, text) in CASES.items() for q in taken(name, text).queries]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_query_has_an_offer(kind: str) -> None:
    """Also one of which nothing is known but its kind: it can be accepted with a note."""
    assert KINDS[kind].get("leave"), f"data/queries.toml: {kind} has no 'leave', the words of who accepts it"
    found = offers(query(kind, "?", about=("R1",)), taken("new_house", ""))
    assert found[-1].label == KINDS[kind]["leave"] and found[-1].input is not None
    job = job_of(apply("", found[-1].changes), "job.toml")
    assert (job.accept[0].kind, job.accept[0].about) == (kind, "R1")
    assert all(label.label and label.changes for label in found)


def test_offers_are_tried_on_many_kinds() -> None:
    """What follows would prove little on few kinds."""
    kinds = {q.kind for *_, q in asked()}
    assert len(kinds) >= 10, sorted(kinds)


@pytest.mark.parametrize("case", CASES)
def test_each_answer_makes_a_job_that_works_and_the_first_settles_the_question(case: str) -> None:
    name, text = CASES[case]
    base = taken(name, text)
    for question in base.queries:
        answers = offers(question, base)
        for n, answer in [*list(enumerate(answers))[:3], (len(answers) - 1, answers[-1])]:
            after = taken(name, apply(text, answer.changes))
            if n == 0 or n == len(answers) - 1:
                assert not still_asked(question, after, whole=n > 0), (question.kind, question.about, answer.label)


def still_asked(question: Query, after: Takeoff, whole: bool) -> bool:
    """Whether the same is asked about as much; a question about several things may be left with fewer."""
    for other in after.queries:
        if other.kind != question.kind or other.says != question.says:
            continue
        if whole or set(other.about) == set(question.about):
            return True
    return False


@pytest.mark.parametrize("case", CASES)
def test_the_answer_that_the_question_brings_along_is_what_is_offered(case: str) -> None:
    """One source: every figure of a fragment is in an offer, save patterns and rows that change another row."""
    name, text = CASES[case]
    base = taken(name, text)
    for question in base.queries:
        if question.kind in ("hacked-off-to", "plans-alike", "ceiling-slopes") or not question.answer:
            continue
        if '["..."]' in question.answer:
            continue
        given = tomllib.loads(question.answer)
        merged: dict[str, Any] = {}
        for answer in offers(question, base):
            new = tomllib.loads(apply("", answer.changes))
            merged = mixed(merged, new)
        if question.kind == "open-plan" and "names" not in question.answer:
            continue
        assert within(given, merged), (question.kind, given, merged)


def mixed(one: Any, other: Any) -> Any:
    """Both together; of two values the first stays."""
    if isinstance(one, dict) and isinstance(other, dict):
        return {
            k: mixed(one[k], other[k]) if k in one and k in other else one.get(k, other.get(k))
            for k in {**one, **other}
        }
    if isinstance(one, list) and isinstance(other, list):
        return [*one, *other]
    return one


def within(part: Any, whole: Any) -> bool:
    if isinstance(part, dict):
        return isinstance(whole, dict) and all(k in whole and within(v, whole[k]) for k, v in part.items())
    if isinstance(part, list) and part and isinstance(part[0], dict):
        return all(any(within(row, other) for other in whole) for row in part)
    return bool(part == whole)


def test_an_open_plan_is_split_between_its_names_with_one_click() -> None:
    name, text = CASES["an open plan"]
    base = taken(name, text)
    question = next(q for q in base.queries if q.kind == "open-plan")
    first = offers(question, base)[0]
    row = first.changes[0]["row"]
    after = taken(name, apply(text, first.changes))
    parts = {r.ref: r.name for r in after.plan.rooms if r.ref.startswith(question.about[0])}
    assert parts == {f"{question.about[0]}a": row["names"][0], f"{question.about[0]}b": row["names"][1]}


def test_figures_have_their_input_where_the_change_holds_them() -> None:
    for _, name, text, question in asked():
        for answer in offers(question, taken(name, text)):
            if answer.input is not None:
                assert answer.input.value in list(held(answer)), (question.kind, answer)
                row = answer.as_json()["input"]
                assert row["type"] in ("number", "text") and isinstance(row["key"], list)


def held(answer: Answer) -> Any:
    """The values at the input's key in the changes."""
    for change in answer.changes:
        if "key" in change and tuple(change["key"]) == answer.input.key:  # type: ignore[union-attr]
            yield change["value"]
        if "row" in change and (*change["table"],) == answer.input.key[:-1]:  # type: ignore[union-attr]
            yield change["row"][answer.input.key[-1]]  # type: ignore[union-attr]


def test_findings_are_changed_not_added_when_a_question_is_about_them() -> None:
    job = job_of(EXISTING, "job.toml")
    base = replace(taken("rear_extension", EXISTING), job=job)
    answers = offers(query("hacked-off-to", "?", about=("R1",)), base)
    assert {c["op"] for a in answers[:-1] for c in a.changes} == {"change"} and len(answers) > 3
    new = tomllib.loads(apply(EXISTING, answers[0].changes))["findings"]
    assert new[0]["background"] and new[0]["amount"] == 6 and new[1] == tomllib.loads(EXISTING)["findings"][1]
    assert isinstance(job, Job)
