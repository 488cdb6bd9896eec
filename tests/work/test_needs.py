"""Net needs of surfaces and edges. Expected figures are worked out by hand beside each check; rooms are invented."""

from __future__ import annotations

import pytest

from takeoff.work.assign import plan_work
from takeoff.work.model import Work
from tests.work import by_hand as hand

BOARDED = {"wall_types": {"masonry": {"background": "block"}, "partition": {"background": "timber frame"}}}


def _corner_room(**tables: object) -> Work:
    """A 4.0 x 3.0 room 2.4 high: one block wall, three stud walls, a joist ceiling; a lined door, a free edge."""
    surfaces = [
        hand.wall("R1-W1", 4.0, 2.4, wall_type="masonry"),
        hand.wall("R1-W2", 3.0, 2.4, wall_type="partition"),
        hand.wall("R1-W3", 4.0, 2.4, wall_type="partition"),
        hand.wall("R1-W4", 3.0, 2.4, wall_type="partition"),
        hand.ceiling("R1-C1", 4.0, 3.0),
    ]
    edges = [
        hand.edge("R1-E1", "internal angle", 2.4, "R1-W1", "R1-W2"),
        hand.edge("R1-E2", "external angle", 2.4, "R1-W2", "R1-W3"),
        hand.edge("R1-E3", "external angle", 2.4, "R1-W4", "R1-W1"),
        hand.edge("R1-E4", "wall to ceiling", 4.0, "R1-W1", "R1-C1"),
        hand.edge("R1-E5", "stop", 2.0, "R1-W3", opening="D1"),
        hand.edge("R1-E6", "stop", 1.5, "R1-W3"),
    ]
    return plan_work(hand.plan("R1"), hand.measured(surfaces, edges), hand.job(**{**BOARDED, **tables}))


def test_plaster_by_thickness_and_coverage() -> None:
    """9.6 m2 x 11 mm x 0.83 kg/m2/mm and x 2 mm x 1.25."""
    work = _corner_room()
    assert hand.amount(work, "undercoat", "R1-W1") == pytest.approx(9.6 * 11 * 0.83)
    assert hand.amount(work, "finish", "R1-W1") == pytest.approx(9.6 * 2 * 1.25)
    assert hand.needs(work, "undercoat")[0].how == "9.60 m2 x 9.13 kg (11 mm x 0.83 kg/m2/mm)"


def test_every_need_is_its_quantity_times_its_rate() -> None:
    for need in _corner_room().needs:
        assert need.amount == pytest.approx(need.quantity * need.rate)
        assert need.amount > 0


def test_screws_closer_on_ceilings_and_at_external_angles() -> None:
    """DX06 (hand-derived, K10 cl. 610): 27 screws to a wall sheet, 49 to a ceiling sheet, more along angles."""
    work = _corner_room()
    assert hand.amount(work, "screw-38", "R1-W2") == pytest.approx(3.0 * 2.4 * 27 / 2.88)
    assert hand.amount(work, "screw-38", "R1-C1") == pytest.approx(12.0 * 49 / 2.88)
    assert hand.amount(work, "screw-38", "R1-E2") == pytest.approx(2.4 * 2 * (1 / 0.2 - 1 / 0.3))
    assert hand.amount(work, "screw-38", "R1-W1") == 0


def test_scrim_on_joints_and_angles_except_where_a_bead_runs() -> None:
    work = _corner_room()
    assert hand.amount(work, "scrim", "R1-W3") == pytest.approx(3 * 2.4), "4.0 m of wall: 3 joints between 4 sheets"
    assert hand.amount(work, "scrim", "R1-C1") == pytest.approx(2 * 4.0 + 1 * 3.0), "3 rows of sheets, 2 to a row"
    assert hand.amount(work, "scrim", "R1-E1") == pytest.approx(2.4), "board meets block: taped"
    assert hand.amount(work, "scrim", "R1-E4") == pytest.approx(4.0)
    assert hand.amount(work, "scrim", "R1-E2") == 0, "a bead runs there"
    assert hand.amount(work, "scrim", "R1-W1") == 0, "wet plaster has no joints"


def test_a_bead_is_as_deep_as_the_thicker_plaster_beside_it() -> None:
    work = _corner_room()
    assert hand.amount(work, "angle-bead-thin", "R1-E2") == pytest.approx(2.4), "board to board: 2 mm of skim"
    assert hand.amount(work, "angle-bead", "R1-E3") == pytest.approx(2.4), "board to block: 13 mm of plaster"
    assert hand.amount(work, "angle-bead-thin", "R1-E3") == 0


def test_stop_beads_at_free_edges_but_not_against_linings_unless_asked() -> None:
    work = _corner_room()
    assert hand.amount(work, "stop-bead-thin") == pytest.approx(1.5)
    own = {
        "title": "skim stopped at linings",
        "backgrounds": ["timber frame"],
        "sets": ["skim"],
        "layers": [{"material": "stop-bead-thin", "per": "m frame", "amount": 1.0}],
    }
    asked = _corner_room(build_ups={"own": own}, surfaces={"R1-W3": {"build_up": "own"}})
    assert hand.amount(asked, "stop-bead-thin") == pytest.approx(1.5 + 2.0)


def test_openings_take_their_share_of_the_joints() -> None:
    """A wall half of which is opening has half its joints: 3.6 x 2.4, 2 joints, half."""
    from takeoff.measure.model import Deduction

    half = Deduction("D1", 1.8, 2.4, 4.32, "deducted")
    wall = hand.wall("R1-W1", 3.6, 2.4, wall_type="partition", openings=[half])
    work = plan_work(hand.plan("R1"), hand.measured([wall]), hand.job())
    assert hand.amount(work, "scrim") == pytest.approx(2 * 2.4 / 2)


def test_existing_plaster_takes_two_coats_on_bonding_agent_and_no_beads() -> None:
    wall = hand.wall("R1-W1", 4.0, 2.5)
    angle = hand.edge("R1-E1", "external angle", 2.5, "R1-W1")
    site = hand.measured([wall], [angle])
    work = plan_work(hand.plan("R1"), site, hand.job(rooms={"R1": {"existing": True}}, findings=[SOUND]))
    assert hand.amount(work, "finish") == pytest.approx(10 * 2 * 1.25)
    assert hand.amount(work, "bonding-agent") == pytest.approx(10 * 0.072)
    assert work.build_ups["skim-over-plaster"].layers[1].coats == 2
    assert not [n for n in work.needs if "bead" in n.material]


SOUND = {"room": "R1", "kind": "sound", "amount": 1}


def test_metal_framing_takes_screws_for_metal_closer_at_board_ends() -> None:
    """K10 cl. 590: 2 ends x (1200/150 + 1) + 3 studs x (9 - 2) rows between = 39 to a 2400 x 1200 sheet."""
    wall = hand.wall("R1-W1", 3.6, 2.4)
    work = plan_work(hand.plan("R1"), hand.measured([wall]), hand.job(rooms={"R1": {"wall_background": "metal frame"}}))
    assert hand.amount(work, "screw-metal-25") == pytest.approx(3.6 * 2.4 * (18 + 21) / 2.88)
    assert hand.amount(work, "screw-38") == 0


def test_framing_centres_of_the_job_change_the_screws() -> None:
    """DX06: studs at 400 give 4 x 9 = 36 to a sheet."""
    wall = hand.wall("R1-W1", 3.6, 2.4, wall_type="partition")
    work = plan_work(hand.plan("R1"), hand.measured([wall]), hand.job(framing={"wall_centres": 400}))
    assert hand.amount(work, "screw-38") == pytest.approx(3.6 * 2.4 * 36 / 2.88)


def test_no_surfaces_no_needs() -> None:
    work = plan_work(hand.plan("R1"), hand.measured([]), hand.job())
    assert work.needs == () and work.assignments == ()
