"""A drawing written out again with nothing changed shows no change, however another program writes it.

What a re-export may do to a file without touching the building, each done here with ezdxf alone: entities in another
order, with other handles, layers in another order, the plan put into a block or its blocks taken apart, other units,
polylines taken apart, the whole moved or turned on the sheet, another version of the format.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians
from pathlib import Path
from random import Random

import ezdxf
import pytest
from ezdxf.filemanagement import readfile
from ezdxf.math import Matrix44
from ezdxf.xref import load_modelspace
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from takeoff.documents.comparison import comparison_text
from takeoff.job import Job, read_job
from takeoff.pipeline import take_off
from takeoff.record import Takeoff
from takeoff.revision.compare import compare
from tests.revision.issues_of_a_drawing import Issue

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
BUNGALOW = Issue(extension=True, names=("Kitchen", "Lounge", "Dining room"))
UNITS = {"m": (6, 1.0), "mm": (4, 1000.0), "in": (1, 1 / 0.0254)}
"""$INSUNITS (DXF reference) and units to a metre."""


@dataclass(frozen=True)
class Rewrite:
    seed: int = 0
    """Of the order of layers and entities."""
    version: str = "R2018"
    unit: str = "m"
    in_block: bool = False
    exploded: bool = False
    turn: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)
    """Metres."""


def rewritten(source: Path, target: Path, how: Rewrite, metres: float = 1.0) -> Path:
    """The drawing `source` (in units of so many `metres`) as another program may write it."""
    old = readfile(source)
    if how.exploded:
        for entity in list(old.modelspace().query("LWPOLYLINE INSERT")):
            entity.explode()  # type: ignore[attr-defined]
    new = ezdxf.new(how.version)
    load_modelspace(old, new)
    random = Random(how.seed)
    layers = list(new.layers)
    random.shuffle(layers)
    new.layers.entries = {new.layers.key(layer.dxf.name): layer for layer in layers}
    insunits, per_metre = UNITS[how.unit]
    new.header["$INSUNITS"] = insunits
    k = per_metre * metres
    move = Matrix44.z_rotate(radians(how.turn)) @ Matrix44.translate(how.shift[0] / metres, how.shift[1] / metres, 0)
    space = new.modelspace()
    for entity in space:
        entity.transform(move @ Matrix44.scale(k))  # type: ignore[attr-defined]
    order = list(space)
    random.shuffle(order)
    space.entity_space.entities = order
    if how.in_block:
        block = new.blocks.new("PLAN")
        for entity in order:
            space.move_to_layout(entity, block)
        space.add_blockref("PLAN", (0, 0))
    new.saveas(target)
    return target


def unchanged(before: Takeoff, after: Takeoff) -> None:
    comparison = compare(before, after)
    assert comparison.told == (), [(c.kind, c.title, c.differs) for c in comparison.told]
    for name in ("floor_m2", "wall_net_m2", "ceiling_m2", "reveal_m2", "external_angles_m", "hours"):
        assert getattr(comparison.difference, name) == pytest.approx(0, abs=2e-3), name
    assert all(abs(amount) < 0.02 for _, amount, _ in comparison.materials), comparison.materials
    assert "Nothing is changed" in comparison_text(comparison)


REWRITES = st.builds(
    Rewrite,
    seed=st.integers(0, 99),
    version=st.sampled_from(["R2000", "R2007", "R2018"]),
    unit=st.sampled_from(sorted(UNITS)),
    in_block=st.booleans(),
    exploded=st.booleans(),
    turn=st.sampled_from([0.0, 90.0, 180.0, 17.0]),
    shift=st.tuples(st.integers(-500, 500), st.integers(-500, 500)),
)


@pytest.fixture(scope="module")
def bungalow(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Takeoff]:
    path = BUNGALOW.save(tmp_path_factory.mktemp("written") / "old.dxf")
    return path, take_off(path, Job())


@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(how=REWRITES)
def test_a_plan_written_again_in_any_way_shows_no_change(bungalow: tuple[Path, Takeoff], how: Rewrite) -> None:
    path, before = bungalow
    unchanged(before, take_off(rewritten(path, path.with_name("new.dxf"), how), Job()))


@pytest.mark.parametrize(
    "how",
    [Rewrite(seed=1, unit="mm"), Rewrite(seed=2, shift=(120, -80), in_block=True), Rewrite(seed=3, exploded=True)],
    ids=["order and unit", "moved, in a block", "taken apart"],
)
def test_a_whole_sheet_written_again_shows_no_change(tmp_path: Path, how: Rewrite) -> None:
    """The flat of the samples, with its furniture, notes, dimensions and frame."""
    source = SAMPLES / "upstairs_flat.dxf"
    job = Job(job=read_job(SAMPLES / "upstairs_flat.toml").job)
    unchanged(take_off(source, job), take_off(rewritten(source, tmp_path / "new.dxf", how), job))


def test_what_is_really_changed_is_told_all_the_same(bungalow: tuple[Path, Takeoff], tmp_path: Path) -> None:
    """The check above can fail: a parting wall 20 mm on is a change, in whatever way the file is written."""
    path = BUNGALOW.with_(parting=4.02).save(tmp_path / "moved.dxf")
    how = Rewrite(seed=5, unit="mm", in_block=True, turn=90.0, shift=(30, 40))
    after = take_off(rewritten(path, tmp_path / "new.dxf", how), Job())
    assert {c.kind for c in compare(bungalow[1], after).told} == {"changed"}
