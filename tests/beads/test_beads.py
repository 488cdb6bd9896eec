"""Beads of a job: which pieces, from which lengths, for which room."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from takeoff.job import job_from
from takeoff.materials.beads import BeadPiece, BeadStock, bead_pieces, bead_stock, cut_beads
from takeoff.measure.model import Edge
from takeoff.work.model import Need

FEET = 0.3048


def need(material: str, edge: str, length: float, room: str = "R1") -> Need:
    return Need(material, room, edge, length, "m external angle", 1.0, length, "")


def test_a_bead_for_every_corner_as_in_the_textbook() -> None:
    """Estimating in Building Construction, Example 16-3 (p. 203): three external corners 8 ft high take 3 pieces of
    8 ft corner bead."""
    corners = [BeadPiece("corner-bead", "R1", f"E{n}", 8 * FEET) for n in range(3)]
    run = cut_beads(corners, {"corner-bead": [BeadStock(8 * FEET)]}).of("corner-bead")
    assert run is not None
    assert run.buy == ((pytest.approx(8 * FEET, abs=1e-3), 3),)
    assert run.gap == 0


def test_window_arrises_of_the_derived_example() -> None:
    """DX02: a window 1.2 x 1.2 with plastered head and jambs has 3.6 m of angle bead; three pieces of 1.2 m, of which
    the 3 mm saw cut lets only two into one length."""
    pieces = [BeadPiece("angle-bead", "R1", edge, 1.2) for edge in ("head", "left", "right")]
    run = cut_beads(pieces, {"angle-bead": [BeadStock(2.4), BeadStock(3.0)]}).of("angle-bead")
    assert run is not None
    assert run.net_m == pytest.approx(3.6)
    assert run.buy == ((2.4, 1), (3.0, 1))


def test_kinds_are_cut_apart_and_rooms_get_their_lists() -> None:
    pieces = [
        BeadPiece("angle-bead", "R1", "R1-E1", 2.4),
        BeadPiece("angle-bead", "R2", "R2-E1", 1.0),
        BeadPiece("stop-bead", "R2", "R2-E2", 1.3),
        BeadPiece("angle-bead", "R2", "R2-E3", 5.0),
    ]
    cut = cut_beads(pieces, {})
    assert [run.bead for run in cut.runs] == ["angle-bead", "stop-bead"]
    rooms = cut.rooms()
    got = Counter((bead, c.edge) for room in rooms.values() for bead, _, c in room)
    assert got == {
        ("angle-bead", "R1-E1"): 1, ("angle-bead", "R2-E1"): 1, ("stop-bead", "R2-E2"): 1, ("angle-bead", "R2-E3"): 2,
    }  # fmt: skip
    joined = [c for _, _, c in rooms["R2"] if c.edge == "R2-E3"]
    assert sum(c.length_m for c in joined) == pytest.approx(5.0)
    assert {(c.part, c.parts) for c in joined} == {(1, 2), (2, 2)}


def test_what_is_bought_is_what_is_cut_and_thrown_away() -> None:
    pieces = [BeadPiece("angle-bead", "R1", f"E{n}", 0.37 + 0.21 * n) for n in range(9)]
    run = cut_beads(pieces, {}).runs[0]
    for bar in run.bars:
        cuts = sum(c.length_m for c in bar.cuts)
        kerfs = 0.003 * (len(bar.cuts) - 1 + (bar.off_cut_m > 0))
        assert cuts + kerfs + bar.off_cut_m == pytest.approx(bar.stock_m, abs=0.0031)
    assert run.bought_m == pytest.approx(sum(bar.stock_m for bar in run.bars))


def test_prices_decide_when_all_are_known() -> None:
    pieces = [BeadPiece("angle-bead", "R1", f"E{n}", 1.3) for n in range(2)]
    priced = {"angle-bead": [BeadStock(2.4, Decimal("2.105")), BeadStock(3.0, Decimal("4.30"))]}
    run = cut_beads(pieces, priced).runs[0]
    assert (run.cost, run.buy) == (Decimal("4.21"), ((2.4, 2),))
    half_known = {"angle-bead": [BeadStock(2.4, Decimal("2.105")), BeadStock(3.0)]}
    run = cut_beads(pieces, half_known).runs[0]
    assert (run.cost, run.buy, run.cost_of) == (None, ((3.0, 1),), "metres")


def test_an_arch_takes_the_flexible_bead_and_listed_beads_come_as_they_are() -> None:
    edges = [
        Edge("R1-E1", "R1", "opening angle", 1.9, "", curved=True),
        Edge("R1-E2", "R1", "opening angle", 2.1, ""),
    ]
    needs = [need("angle-bead", "R1-E1", 1.9), need("angle-bead", "R1-E2", 2.1), need("scrim", "R1-E2", 2.1)]
    needs += [need("movement-bead", f"movement {n}", 2.4, "R7") for n in (1, 2)]
    pieces = bead_pieces(needs, edges, ["angle-bead", "movement-bead"])
    assert [(p.bead, p.edge) for p in pieces] == [
        ("arch-bead", "R1-E1"),
        ("angle-bead", "R1-E2"),
        ("movement-bead", "movement 1"),
        ("movement-bead", "movement 2"),
    ]


def test_stock_of_the_job_file() -> None:
    job = job_from({"beads": {"stock": [{"length": 2.5, "bead": "stop-bead", "price": "1.99"}, {"length": 2.7}]}})
    assert bead_stock("stop-bead", (2.4, 3.0), job) == (BeadStock(2.5, Decimal("1.99")),)
    assert bead_stock("angle-bead", (2.4, 3.0), job) == (BeadStock(2.7),)
    assert bead_stock("angle-bead", (2.4,), job_from({})) == (BeadStock(2.4),)
    assert bead_stock("angle-bead", (), job_from({})) == (BeadStock(2.4), BeadStock(3.0))


def test_same_pieces_same_answer() -> None:
    pieces = [BeadPiece("angle-bead", f"R{n % 7}", f"E{n}", 0.3 + (n * 37 % 251) / 100) for n in range(80)]
    assert repr(cut_beads(pieces, {})) == repr(cut_beads(pieces, {}))


def test_bars_of_one_room_stay_together_where_lengths_allow() -> None:
    """Ten rooms with the same three pieces that just fill a length: no bar should serve two rooms."""
    pieces = [
        BeadPiece("angle-bead", f"R{room}", f"R{room}-E{n}", length)
        for room in range(10)
        for n, length in enumerate((1.5, 0.8, 0.694))
    ]
    run = cut_beads(pieces, {}).runs[0]
    assert run.bound == pytest.approx(30.0)
    assert all(len({c.room for c in bar.cuts}) == 1 for bar in run.bars)


def test_nothing_is_printed(capfd: pytest.CaptureFixture[str]) -> None:
    """The solver greets on its first start: that must not get into what a command writes."""
    cut_beads([BeadPiece("angle-bead", "R1", "E1", 1.0)], {})
    script = "from takeoff.materials.beads import *; cut_beads([BeadPiece('b', 'R1', 'E1', 1.0)], {})"
    subprocess.run([sys.executable, "-c", script], check=True)
    assert capfd.readouterr() == ("", "")


def test_a_bead_that_comes_to_less_part_by_part_is_cut_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """A cutting of many pieces that is far from proven: 20 pieces of 1.5 m, each from a length of its own.

    Ten at a time they are cut two from a 3 m length: 10 lengths in all, which is the bound too.
    """
    from takeoff.materials import beads

    cut = beads.cut_lengths

    def careless(wanted: Any, stock: Any, kerf: int, smallest: int) -> Any:
        if sum(wanted.values()) <= 10:
            return cut(wanted, stock, 0, smallest)
        good = cut(wanted, stock, 0, smallest)
        bars = tuple(replace(bar, pieces_mm=bar.pieces_mm[:1], number=20) for bar in good.bars)
        return replace(good, bars=bars, cost=2 * good.cost)

    monkeypatch.setattr(beads, "cut_lengths", careless)
    pieces = [BeadPiece("angle-bead", f"R{n % 2}", f"{n % 2}/E{n}", 1.5) for n in range(20)]
    stock = {"angle-bead": [BeadStock(3.0)]}
    (whole,) = cut_beads(pieces, stock).runs
    (apart,) = cut_beads(pieces, stock, None, lambda edge: edge[0]).runs
    assert whole.buy == ((3.0, 20),) and apart.buy == ((3.0, 10),)
    assert [bar.number for bar in apart.bars] == list(range(1, 11)) and apart.gap == 0
    assert sorted(c.edge for bar in apart.bars for c in bar.cuts) == sorted(p.edge for p in pieces)
