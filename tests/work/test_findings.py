"""Findings and hours on a hand-made room of 4 x 3 x 2.4 m: every expected figure is worked out beside its check."""

import pytest

from takeoff.errors import JobError
from takeoff.job import Job, job_from
from takeoff.measure.model import Edge, Measured, RoomMeasure, Surface
from takeoff.plan.model import Plan, Room, Side
from takeoff.work.carrying import with_carrying
from takeoff.work.findings import prepare
from takeoff.work.labour import build_up_operations, check_labour
from takeoff.work.model import BuildUp, Layer, Need, Work

OUTLINE = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0))
SIDES = tuple(
    Side(f"R1-S{n + 1}", OUTLINE[n], OUTLINE[(n + 1) % 4], (4.0, 3.0, 4.0, 3.0)[n], "drawn") for n in range(4)
)
ROOM = Room("R1", "Bedroom", "P1", OUTLINE, (), SIDES, 12.0, 14.0, 2.4, "job", 1.0, (2.0, 1.5))
WALLS = tuple(
    Surface(f"R1-W{n + 1}", "R1", "wall", length, 2.4, length * 2.4, (), length * 2.4, f"{length} x 2.4")
    for n, length in enumerate((4.0, 3.0, 4.0, 3.0))
)
CEILING = Surface("R1-C1", "R1", "ceiling", 4.0, 3.0, 12.0, (), 12.0, "4.0 x 3.0")
JOINT = Edge("R1-E1", "R1", "wall to ceiling", 14.0, "4 + 3 + 4 + 3")
PLAN = Plan("m", 1.0, (), (0.0, 0.0), (), (ROOM,), ())
MEASURED = Measured(
    "net", (RoomMeasure("R1", 2.4, "job", 33.6, 33.6, 12.0, 0.0, 4, 0),), (*WALLS, CEILING), (JOINT,), ()
)
EXISTING = {"job": {"existing": True}}


def finding(**row: object) -> Job:
    return job_from({**EXISTING, "findings": [{"room": "R1", **row}]})


def test_new_rooms_get_no_allowance() -> None:
    assert prepare(PLAN, MEASURED, Job()).operations == ()


def test_allowances_are_doubled_as_a_line_of_their_own() -> None:
    done = prepare(PLAN, MEASURED, job_from(EXISTING))
    single = [o for o in done.operations if o.task != "preparation-doubled"]
    doubled = [o for o in done.operations if o.task == "preparation-doubled"]
    assert all(o.allowance for o in done.operations)
    assert len(doubled) == 1
    assert "twice" in doubled[0].title
    assert doubled[0].hours == pytest.approx(sum(o.hours for o in single), abs=0.01)
    # 10 % of 33.6 m2 of wall is allowed as loose.
    loose = next(f for f in done.findings if f.kind == "loose-plaster")
    assert (loose.amount, loose.low, loose.high) == (3.36, 0.67, 11.76)
    # Materials twice as well: 3.36 m2 x 9.13 kg, two rows.
    undercoat = [n.amount for n in done.needs if n.material == "undercoat"]
    assert undercoat == pytest.approx([3.36 * 9.13] * 2)
    assert [q.kind for q in done.queries] == ["preparation-not-seen"]


def test_one_finding_replaces_the_allowances() -> None:
    done = prepare(PLAN, MEASURED, finding(kind="loose-plaster", place="R1-W2", amount=2.0))
    assert {o.task for o in done.operations} == {"hack-off", "undercoat"}
    assert not any(o.allowance for o in done.operations)
    # 2.0 m2 x 0.45 h/m2 (data/labour.toml) and 2.0 x 22 kg to carry away.
    assert next(o.hours for o in done.operations if o.task == "hack-off") == pytest.approx(0.9)
    assert done.waste_kg == pytest.approx(44.0)
    assert done.queries == ()


def test_sound_rooms_cost_nothing() -> None:
    done = prepare(PLAN, MEASURED, finding(kind="sound", amount=1))
    assert (done.operations, done.needs, done.waste_kg) == ((), (), 0.0)


def test_hollows_take_passes_no_thicker_than_a_coat() -> None:
    """8 mm is the greatest thickness of one pass of bonding undercoat (data/materials.toml): 20 mm takes 3."""
    done = prepare(PLAN, MEASURED, finding(kind="hollow", place="walls", amount=2.0, thickness_mm=20))
    assert done.operations[0].quantity == pytest.approx(6.0)
    # 10 kg covers 1.5 m2 at 8 mm, 0.83 kg/m2/mm: lets-do-diy.com plastering materials.
    assert done.needs[0].amount == pytest.approx(2.0 * 20 * 10 / 1.5 / 8, rel=0.005)


@pytest.mark.parametrize("kind", ["damp", "textured-coating"])
def test_what_must_be_settled_first_is_asked(kind: str) -> None:
    done = prepare(PLAN, MEASURED, finding(kind=kind, place="walls", amount=3))
    assert [q.kind for q in done.queries] == ["finding-stops-work"]
    assert done.cautions


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ({"kind": "lose-plaster", "amount": 1}, "loose-plaster"),
        ({"kind": "crack", "amount": 1, "place": "R1-W9"}, "R1-W1"),
        ({"kind": "hollow", "amount": 1}, "thickness_mm"),
        ({"kind": "crack", "amount": 1, "room": "R7"}, "R1"),
    ],
)
def test_findings_that_match_nothing_are_errors_that_say_what_would(row: dict[str, object], says: str) -> None:
    with pytest.raises(JobError, match=says):
        prepare(PLAN, MEASURED, finding(**row))


def hours(job: Job) -> dict[str, float]:
    layers = (Layer("finish", "m2", 2.4, labour="finish-wall"),)
    needs = [Need("finish", "R1", s.ref, s.net_m2, "m2", 2.4, s.net_m2 * 2.4, "", "skim") for s in MEASURED.surfaces]
    build_ups = {"skim": BuildUp("skim", "Skim", ("wall", "ceiling"), (), layers, 2.0)}
    return {o.task: o.hours for o in build_up_operations(PLAN, MEASURED, build_ups, needs, job)}


def test_hours_are_quantity_times_constant() -> None:
    """33.6 m2 of wall at 0.27 h/m2 (30 m2 a day of 8 h: plasterersforum.com/posts/1584377); ceiling at its own rate."""
    assert hours(Job()) == pytest.approx({"finish-wall": 33.6 * 0.27, "finish-ceiling": 12.0 * 0.32})


def test_own_constants_and_factors_override() -> None:
    own = job_from(
        {"labour": {"finish-wall": {"likely": 0.2}}, "conditions": {"occupied": True, "factors": {"occupied": 1.3}}}
    )
    assert hours(own)["finish-wall"] == pytest.approx(33.6 * 0.2 * 1.3)


@pytest.mark.parametrize(
    "data", [{"labour": {"skimming": {"likely": 1}}}, {"conditions": {"factors": {"mood": 2.0}}},
             {"labour": {"finish-wall": {"likely": 1, "low": 2}}}],
)  # fmt: skip
def test_labour_that_matches_nothing_is_an_error(data: dict[str, object]) -> None:
    with pytest.raises(JobError):
        check_labour(job_from(data))


def test_carrying_follows_weight_storeys_and_distance() -> None:
    """0.5 t at 1.2 h/t, two storeys up (1.25 each), 60 m from the drop (1.15 for each 20 m over the first 20)."""
    bare = prepare(PLAN, MEASURED, Job())
    assert bare.operations == ()
    far = job_from({"conditions": {"storeys_to_carry": 2, "carry_m": 60}})
    work = with_carrying(PLAN, MEASURED, Work({}, (), ()), {"R1": 500.0}, far)
    hours = {o.task: o.hours for o in work.operations}
    assert hours == pytest.approx({"carry": 0.5 * 1.2 * 1.25**2 * 1.15**2, "clear": 0.5})
