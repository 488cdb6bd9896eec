"""Rooms of the shared corpus against its truth: room solids of building models, areas taken by hand from coordinates.

The truth files were made outside this project; the scorer is the corpus' own. Skipped where the corpus is not
beside the project.
"""

from __future__ import annotations

import json
import sys
from functools import cache
from typing import Any

import pytest

from takeoff.errors import TakeoffError
from tests.benchmarks.corpus import SHARED, measure

CORPUS = SHARED / "corpus"
pytestmark = pytest.mark.skipif(not CORPUS.is_dir(), reason="the shared corpus of drawings is not beside the project")


@cache
def scorer() -> Any:
    sys.path.insert(0, str(SHARED / "tools"))
    import score_rooms

    return score_rooms


def rows_of(group: str) -> tuple[list[dict[str, Any]], list[str], int, int, list[float]]:
    """All rooms of a group as the scorer judges them, false rooms, openings found and true, width errors."""
    rows, false, found, true, widths = [], [], 0, 0, []
    for path in sorted((CORPUS / group).glob("*.dxf")):
        truth = json.loads(path.with_name(path.stem + ".truth.json").read_text())
        try:
            document, _ = measure(path)
        except TakeoffError:
            document = {"rooms": [], "openings": [], "queries": []}
        judge = scorer().score_bim if group == "bim" else scorer().score_drawn
        judged, spurious, (hit, total, errors) = judge(truth, document)
        rows += [row | {"drawing": path.stem} for row in judged]
        false += [f"{path.stem} {ref}" for ref in spurious]
        found, true, widths = found + hit, true + total, widths + errors
    return rows, false, found, true, widths


@cache
def bim() -> tuple[list[dict[str, Any]], list[str], int, int, list[float]]:
    return rows_of("bim")


@cache
def drawn() -> tuple[list[dict[str, Any]], list[str], int, int, list[float]]:
    return rows_of("drawn")


def median(values: list[float]) -> float:
    return sorted(values)[len(values) // 2]


def test_rooms_of_building_models_are_right_and_none_is_silently_wrong() -> None:
    rows, false, *_ = bim()
    shut = [r for r in rows if not r["open"]]
    assert sum(r["right"] for r in shut) >= 0.98 * len(shut), [r for r in shut if not r["right"]]
    assert not [r for r in rows if r["silent"]]
    assert sum(r["alarm"] for r in rows) <= 0.03 * len(shut)
    assert median([r["area_err"] for r in shut if "area_err" in r]) <= 0.002
    assert not false


def test_openings_of_building_models_are_found_with_their_widths() -> None:
    _, _, found, true, widths = bim()
    assert found >= 0.98 * true
    assert sum(w <= 0.03 for w in widths) >= 0.97 * len(widths)


def test_rooms_drawn_by_hand_are_right_and_none_is_silently_wrong() -> None:
    rows, *_ = drawn()
    shut = [r for r in rows if not r["open"]]
    assert sum(r["right"] for r in shut) >= 0.90 * len(shut), [r for r in shut if not r["right"]]
    assert not [r for r in rows if r["silent"]]
    assert sum(r["alarm"] for r in rows) <= 0.08 * len(shut)
    assert median([r["area_err"] for r in shut if "area_err" in r]) <= 0.01


def test_the_scorer_sees_a_room_moved_aside() -> None:
    """The check can fail: the same answer, every room shifted by a metre, is no longer right."""
    path = CORPUS / "bim" / "FZK-Haus-Erdgeschoss.dxf"
    truth = json.loads(path.with_name(path.stem + ".truth.json").read_text())
    document, _ = measure(path)
    for room in document["rooms"]:  # type: ignore[attr-defined]
        room["outline"] = [[x + 1.0, y] for x, y in room["outline"]]
    rows, *_ = scorer().score_bim(truth, document)
    assert not any(r["right"] for r in rows)
