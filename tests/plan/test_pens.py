"""One layer for everything, told apart by colours and symbols. The generator's truth is exact by construction."""

from __future__ import annotations

import re
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest

from takeoff.drawing.model import Drawing, in_metres
from takeoff.plan.pens import penned
from tests.benchmarks.redrawn import SHARED, scored
from tests.draughtsman.cases import make
from tests.draughtsman.run import read_case, understood
from tests.draughtsman.vices import VICES


def drawn(strength: float) -> Drawing:
    return in_metres(read_case(make("house", 1, ((VICES["one layer for all"], strength),))), 0.001)


def test_each_colour_is_a_layer_and_each_thing_keeps_its_number() -> None:
    before = drawn(1)
    after = penned(before, [e.layer for e in before.entities[:1]])
    assert after is not None
    assert [e.handle for e in after.entities] == [e.handle for e in before.entities]
    assert after.layers[: len(before.layers)] == before.layers
    for entity in after.entities:
        layer = after.layers[entity.layer]
        assert layer.name in ("0", "0 (symbols)", f"0 (colour {entity.colour})")
    assert len({e.layer for e in after.entities}) > 3


def test_one_pen_is_no_layer_more() -> None:
    case = make("house", 1, ((VICES["layer 0, exploded"], 1),))
    assert penned(in_metres(read_case(case), 0.001), [0]) is None


def test_the_layer_is_said_to_hold_the_walls_and_so_is_their_pen() -> None:
    case = make("house", 1, ((VICES["one layer for all"], 1),))
    use = understood(read_case(case)).layer_use
    assert use["0"] == "walls"
    assert "walls" in {said for name, said in use.items() if name.startswith("0 (")}
    assert any(said.startswith("ignored") for name, said in use.items() if name.startswith("0 ("))


@pytest.mark.skipif(not (SHARED / "corpus").is_dir(), reason="the shared drawings are not beside the project")
@pytest.mark.parametrize(("kind", "least"), [("bim", 0.98), ("drawn", 0.9)])
def test_the_shared_drawings_on_one_layer_with_their_colours(kind: str, least: float, tmp_path: Path) -> None:
    """Truth: the corpus's own."""
    with ProcessPoolExecutor(1) as pool:
        lines, _ = scored("one layer, pens kept", kind, tmp_path, pool)
    right, of = (int(n) for n in re.findall(r"right (\d+)/(\d+)", lines[-1])[0])
    assert right >= least * of, "\n".join(lines)
