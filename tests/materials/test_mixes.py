"""Plaster by the mix. Working times: trade pages named in ``data/materials.toml``; arithmetic beside each check."""

from __future__ import annotations

import pytest

from takeoff.job import Job
from takeoff.job_tables import MixingTable
from takeoff.materials.catalogue import catalogue
from takeoff.materials.mixes import layable_m2, mix_covers
from takeoff.materials.model import RoomMix
from takeoff.materials.order import make_order
from takeoff.materials.shelf_life import outrun_shelf_life
from takeoff.work.assign import plan_work
from tests.work import by_hand as hand


def test_one_coat_goes_as_far_as_the_time_allows() -> None:
    assert layable_m2(20, 45) == pytest.approx(15)


@pytest.mark.parametrize(
    ("use_within", "wait", "m2"),
    [
        (45, 25, 20 * 20 / 60),  # first laid by minute 20, second from 25 to 45
        (60, 25, 20 * 30 / 60),  # first laid by minute 30, firm by then: second at once
        (25, 25, 0),  # not firm before the mix is past use
    ],
)
def test_two_coats_of_one_mix_wait_for_the_first(use_within: float, wait: float, m2: float) -> None:
    assert layable_m2(20, use_within, wait, coats=2) == pytest.approx(m2)


def test_a_mix_is_stopped_by_its_size_or_by_its_set() -> None:
    """25 kg at 1.25 kg/m2 a coat is 20 m2, but 45 min at 20 m2/h is 15; half a bag is 10 m2."""
    whole = mix_covers(25, 2.5, 2, MixingTable(), 45, 25)
    assert (whole.m2, whole.limited_by) == (pytest.approx(15), "working time")
    half = mix_covers(12.5, 2.5, 2, MixingTable(), 45, 25)
    assert (half.m2, half.limited_by) == (pytest.approx(10), "the mix")


def test_both_coats_from_one_mix_cover_less() -> None:
    """25 / 2.5 = 10 m2 by the bag, 6.67 m2 by the time."""
    cover = mix_covers(25, 2.5, 2, MixingTable(two_coats="one mix"), 45, 25)
    assert (cover.m2, cover.coats_together) == (pytest.approx(20 / 3), 2)
    late = mix_covers(25, 2.5, 2, MixingTable(two_coats="one mix"), 20, 25)
    assert late.coats_together == 1, "not firm in time: each coat has mixes of its own"


def _mixes(**tables: object) -> dict[str, RoomMix]:
    walls = [hand.wall("R1-W1", 10, 2.5, wall_type="masonry")]
    plan, site, job = hand.plan("R1"), hand.measured(walls), hand.job(**tables)
    order = make_order(plan, plan_work(plan, site, job), job)
    return {mix.material: mix for mix in order.mixes}


def test_bags_water_and_mixes_of_a_room() -> None:
    """25 m2: undercoat 228.25 kg net, 239.66 with 5 %, 9.5865 bags, 13 l each; 25 / 9.13 = 2.74 m2 a mix: 10 mixes."""
    undercoat = _mixes()["undercoat"]
    assert undercoat.kg == pytest.approx(228.25)
    assert undercoat.bags == pytest.approx(9.5865)
    assert undercoat.water_l == pytest.approx(9.5865 * 13)
    assert (undercoat.mixes, undercoat.limited_by) == (10, "the mix")


def test_finish_from_two_mixes_or_from_one() -> None:
    """25 m2 at 15 m2 a mix: 2 mixes a coat, 4 in all; at 6.67 m2 for both coats: 4."""
    two = _mixes()["finish"]
    one = _mixes(mixing={"two_coats": "one mix"})["finish"]
    assert (two.m2_per_mix, two.mixes, two.two_coats) == (pytest.approx(15), 4, "two mixes")
    assert (one.m2_per_mix, one.mixes, one.two_coats) == (pytest.approx(20 / 3), 4, "one mix")


def test_passes_of_a_thick_undercoat_are_mixed_apart() -> None:
    """22 mm in two passes of 11: one row for both, twice the area."""
    own = {"layers": [{"material": "undercoat", "thickness_mm": 22}], "backgrounds": ["block"]}
    mix = _mixes(build_ups={"own": own}, rooms={"R1": {"wall_build_up": "own"}})["undercoat"]
    assert (mix.thickness_mm, mix.area_m2) == (11, pytest.approx(50))


def test_shelf_life_is_warned_of_when_the_programme_outruns_it() -> None:
    """Finish keeps about 120 days (from memory): 127 days on site are a week too many."""
    finish = [catalogue(Job())["finish"]]
    assert outrun_shelf_life(finish, 120) == ()
    late = outrun_shelf_life(finish, 127)
    assert len(late) == 1
    assert "7 days too late" in late[0]


def test_what_does_not_go_off_is_not_warned_of() -> None:
    assert outrun_shelf_life([catalogue(Job())["scrim"]], 3650) == ()
