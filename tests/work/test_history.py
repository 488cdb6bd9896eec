"""The record of finished rooms: medians that one bad day does not move, and honesty about few data."""

from pathlib import Path

import numpy as np
import pytest

from takeoff.errors import TakeoffError
from takeoff.work.history import ENOUGH, proposals, record_hours, record_packs, used_packs
from takeoff.work.model import Factor, Operation


def skim(room: str, quantity: float = 30.0, factor: float = 1.0) -> Operation:
    factors = (Factor("tight", factor),)
    return Operation(room, room, "finish-wall", "Finish walls", "wall finish", quantity, "m2", 0.2, 0.27, 0.33, factors)


def record(path: Path, constants: list[float], factor: float = 1.0) -> None:
    for n, constant in enumerate(constants, 1):
        room = f"R{n}"
        hours = {"finish-wall": constant * 30.0 * factor}
        record_hours(path, "house", room, "2026-03-02", hours, [skim(room, 30.0, factor)])


def test_few_rooms_propose_nothing(tmp_path: Path) -> None:
    record(tmp_path / "h.sqlite", [0.25] * (ENOUGH - 1))
    (said,) = proposals(tmp_path / "h.sqlite")
    assert not said.enough
    assert said.as_toml().startswith("#")


def test_the_median_stands_against_one_bad_day(tmp_path: Path) -> None:
    record(tmp_path / "h.sqlite", [0.24, 0.25, 0.26, 0.25, 0.27, 0.9])
    (said,) = proposals(tmp_path / "h.sqlite")
    assert said.enough
    assert said.likely == pytest.approx(0.255)
    assert said.high < 0.3
    assert said.outliers == ("house R6",)
    assert "[labour.finish-wall]" in said.as_toml()


def test_factors_are_taken_out_again(tmp_path: Path) -> None:
    record(tmp_path / "h.sqlite", [0.25] * ENOUGH, factor=1.2)
    assert proposals(tmp_path / "h.sqlite")[0].likely == pytest.approx(0.25)


def test_the_spread_holds_about_eight_of_ten(tmp_path: Path) -> None:
    """Against the normal distribution's 80 % interval, mean +- 1.2816 sd (any table of the normal distribution)."""
    values = np.random.default_rng(4).normal(0.3, 0.03, 400)
    record(tmp_path / "h.sqlite", list(values))
    (said,) = proposals(tmp_path / "h.sqlite")
    assert said.low == pytest.approx(0.3 - 1.2816 * 0.03, abs=0.005)
    assert said.high == pytest.approx(0.3 + 1.2816 * 0.03, abs=0.005)
    inside = ((values >= said.low) & (values <= said.high)).mean()
    assert 0.76 < inside < 0.84


def test_recording_again_replaces(tmp_path: Path) -> None:
    record(tmp_path / "h.sqlite", [0.25])
    record(tmp_path / "h.sqlite", [0.35])
    (said,) = proposals(tmp_path / "h.sqlite")
    assert (said.rooms, said.likely) == (1, pytest.approx(0.35))


def test_packs_used_against_allowed(tmp_path: Path) -> None:
    path = tmp_path / "h.sqlite"
    for room, used in (("R1", 5.0), ("R2", 4.4), ("R3", 4.0)):
        record_packs(path, "house", room, "2026-03-02", {"finish": used}, {"finish": 4.0})
    assert used_packs(path) == [("finish", 3, pytest.approx(1.1))]


def test_what_a_room_never_had_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(TakeoffError, match="finish-wall"):
        record_hours(tmp_path / "h", "house", "R1", "2026-03-02", {"hack-off": 3}, [skim("R1")])
    with pytest.raises(TakeoffError, match="finish"):
        record_packs(tmp_path / "h", "house", "R1", "2026-03-02", {"sand": 3}, {"finish": 4.0})
    (tmp_path / "junk").write_text("not a database, but long enough to be taken for one " * 20)
    with pytest.raises(TakeoffError, match="history file"):
        proposals(tmp_path / "junk")
