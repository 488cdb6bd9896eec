"""The shared corpus, drawn again as other hands would: `python tests/benchmarks/redrawn.py [WORDS ...]`.

Each true drawing is rewritten in ways that leave its rooms what they are (turned, mirrored, in another unit, split,
on other layers, exploded, jittered, relabelled, in one block, in another version of DXF), measured, and scored against
the truth moved in the same way. What is right as drawn and wrong as redrawn leans on one office's habits. Words pick
the ways; none means all.
"""

from __future__ import annotations

import json
import random
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from math import cos, radians, sin
from pathlib import Path
from typing import Any

import ezdxf
from ezdxf.addons import r12export
from ezdxf.document import Drawing
from ezdxf.entities import DXFEntity
from ezdxf.math import Matrix44, Vec3

from takeoff.documents.json_document import to_json
from takeoff.job import Job
from takeoff.pipeline import take_off

SHARED = Path(__file__).resolve().parents[3] / "shared"
SEED = 7

Affine = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f of x' = a x + b y + e, y' = c x + d y + f, in metres."""
STILL: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def moved(doc: Drawing, affine: Affine, scale: float, unit_m: float) -> None:
    """Move everything in model space by `affine` (metres) and scale the unit by `scale`."""
    a, b, c, d, e, f = affine
    k = scale
    matrix = Matrix44((a * k, c * k, 0, 0, b * k, d * k, 0, 0, 0, 0, k, 0, e / unit_m * k, f / unit_m * k, 0, 1))
    for entity in doc.modelspace():
        entity.transform(matrix)  # type: ignore[attr-defined]


def turned(degrees: float, east: float = 0.0, north: float = 0.0) -> Affine:
    a = radians(degrees)
    return (cos(a), -sin(a), sin(a), cos(a), east, north)


def relayered(doc: Drawing, name: Callable[[DXFEntity], str]) -> None:
    spaces = [doc.modelspace(), *(b for b in doc.blocks if not b.is_any_layout)]
    for space in spaces:
        for entity in space:
            entity.dxf.layer = name(entity)


def numbered_layers(doc: Drawing) -> None:
    """Layers with names that say nothing."""
    names: dict[str, str] = {}
    relayered(doc, lambda e: names.setdefault(e.dxf.layer, f"{len(names) + 11:03d}"))


def one_layer(doc: Drawing) -> None:
    relayered(doc, lambda _e: "0")


def pens_kept(doc: Drawing) -> None:
    """The colour and line type of each layer made the entities' own, as when layers are merged and the look is kept."""
    spaces = [doc.modelspace(), *(b for b in doc.blocks if not b.is_any_layout)]
    for entity in (e for space in spaces for e in space):
        layer = doc.layers.get(entity.dxf.layer) if entity.dxf.layer in doc.layers else None
        if layer is None:
            continue
        if entity.dxf.get("color", 256) == 256:
            entity.dxf.color = abs(layer.color)
        if entity.dxf.get("linetype", "BYLAYER").upper() == "BYLAYER":
            entity.dxf.linetype = layer.dxf.linetype


def split(doc: Drawing) -> None:
    """Every straight line broken at a random place."""
    rng, space = random.Random(SEED), doc.modelspace()
    for line in list(space.query("LINE")):
        middle = line.dxf.start.lerp(line.dxf.end, rng.uniform(0.2, 0.8))
        space.add_line(line.dxf.start, middle, {"layer": line.dxf.layer})
        space.add_line(middle, line.dxf.end, {"layer": line.dxf.layer})
        space.delete_entity(line)


def exploded(doc: Drawing) -> None:
    """No blocks and no polylines: bare lines, arcs and texts."""
    space = doc.modelspace()
    for _ in range(4):
        for kind in ("INSERT", "LWPOLYLINE", "POLYLINE"):
            for entity in list(space.query(kind)):
                for attrib in getattr(entity, "attribs", []):
                    space.add_text(attrib.dxf.text, height=attrib.dxf.height).set_placement(attrib.dxf.insert)
                entity.explode()


def polylined(doc: Drawing) -> None:
    """Each line a polyline of two points."""
    space = doc.modelspace()
    for line in list(space.query("LINE")):
        ends = [(line.dxf.start.x, line.dxf.start.y), (line.dxf.end.x, line.dxf.end.y)]
        space.add_lwpolyline(ends, dxfattribs={"layer": line.dxf.layer})
        space.delete_entity(line)


def doubled(doc: Drawing) -> None:
    """A third of the lines drawn twice."""
    rng, space = random.Random(SEED), doc.modelspace()
    for line in list(space.query("LINE")):
        if rng.random() < 0.33:
            space.add_line(line.dxf.start, line.dxf.end, {"layer": line.dxf.layer})


def jittered(reach_m: float, unit_m: float) -> Callable[[Drawing], None]:
    def jitter(doc: Drawing) -> None:
        rng, reach = random.Random(SEED), reach_m / unit_m
        for line in doc.modelspace().query("LINE"):
            for end in ("start", "end"):
                at = line.dxf.get(end)
                line.dxf.set(end, at + Vec3(rng.uniform(-reach, reach), rng.uniform(-reach, reach)))

    return jitter


def without(*kinds: str) -> Callable[[Drawing], None]:
    def drop(doc: Drawing) -> None:
        space = doc.modelspace()
        for kind in kinds:
            for entity in list(space.query(kind)):
                space.delete_entity(entity)

    return drop


def in_one_block(doc: Drawing) -> None:
    """The whole sheet in one block, as a drawing bound into another lies there."""
    space, block = doc.modelspace(), doc.blocks.new("bound$0$sheet", base_point=(1000, 500))
    for entity in list(space):
        space.unlink_entity(entity)
        block.add_entity(entity)
    space.add_blockref(block.name, (1000, 500))


def no_unit(doc: Drawing) -> None:
    doc.header["$INSUNITS"] = 0


WAYS: dict[str, tuple[Callable[[Drawing, float], None], Affine, float]] = {}
"""Per way: what is done to the document, how the truth moves, by what the unit is scaled (of a millimetre drawing)."""


def way(
    name: str, change: Callable[[Drawing, float], None], affine: Affine = STILL, metres: float | None = None
) -> None:
    WAYS[name] = (change, affine, metres or 0.0)


way("as drawn", lambda d, u: None)
way("turned 37", lambda d, u: None, turned(37))
way("turned 90 far away", lambda d, u: None, turned(90, 350_000, 5_700_000))
way("mirrored", lambda d, u: None, (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0))
way("in metres, no unit", lambda d, u: no_unit(d), STILL, 1.0)
way("in centimetres, no unit", lambda d, u: no_unit(d), STILL, 0.01)
way("in inches, no unit", lambda d, u: no_unit(d), STILL, 0.0254)
way("in feet, no unit", lambda d, u: no_unit(d), STILL, 0.3048)
way("numbered layers", lambda d, u: numbered_layers(d))
way("one layer", lambda d, u: one_layer(d))
way("one layer, pens kept", lambda d, u: (pens_kept(d), one_layer(d))[0])
way("split", lambda d, u: split(d))
way("exploded", lambda d, u: exploded(d))
way("exploded, one layer", lambda d, u: (exploded(d), one_layer(d))[0])
way("polylined", lambda d, u: polylined(d))
way("doubled", lambda d, u: doubled(d))
way("jitter 1 mm", lambda d, u: jittered(0.001, u)(d))
way("jitter 4 mm", lambda d, u: jittered(0.004, u)(d))
way("no texts", lambda d, u: without("TEXT", "MTEXT")(d))
way("no symbols", lambda d, u: without("INSERT")(d))


way("in one block", lambda d, u: in_one_block(d))
way("in one block, turned and mirrored", lambda d, u: in_one_block(d), (-0.6, 0.8, 0.8, 0.6, 40.0, -9.0))
way("in one block, in metres", lambda d, u: in_one_block(d), STILL, 1.0)
way("as R12", lambda d, u: None)
way("as R2000", lambda d, u: None)
way("as R2018, binary", lambda d, u: None)
way("as R12, binary", lambda d, u: None)


def saved(doc: Drawing, target: Path, name: str) -> None:
    """Write `doc` in the version and form that the `name` of the way says."""
    fmt = "bin" if "binary" in name else "asc"
    if "as R12" in name:
        r12export.saveas(doc, target)
        if fmt == "bin":
            ezdxf.readfile(target).saveas(target, fmt=fmt)
        return
    if "as R" in name:
        doc.dxfversion = name.split()[1].strip(",")
    doc.saveas(target, fmt=fmt)


def placed(values: Any, affine: Affine) -> Any:
    """Nested lists of points, moved."""
    if isinstance(values[0], (int, float)):
        a, b, c, d, e, f = affine
        return [a * values[0] + b * values[1] + e, c * values[0] + d * values[1] + f]
    return [placed(v, affine) for v in values]


def true_after(truth: dict[str, Any], affine: Affine, unit_m: float) -> dict[str, Any]:
    truth = json.loads(json.dumps(truth))
    for room in truth["rooms"]:
        if room.get("polygons"):
            room["polygons"] = placed(room["polygons"], affine)
        if room.get("label_xy"):
            at = placed([c * truth["metres_per_unit"] for c in room["label_xy"]], affine)
            room["label_xy"] = [c / unit_m for c in at]
    for opening in truth.get("openings", []):
        opening["at_m"] = placed(opening["at_m"], affine)
    return truth | {"metres_per_unit": unit_m}


def rewritten(name: str, source: Path, folder: Path) -> tuple[Path, dict[str, Any]] | None:
    """One drawing redrawn one way into `folder`, and the truth moved with it; None where its true unit is not known."""
    change, affine, metres = WAYS[name]
    truth = json.loads(source.with_suffix(".truth.json").read_text())
    old = truth.get("metres_per_unit")
    if not old:
        return None
    doc = ezdxf.readfile(source)
    change(doc, old)
    unit = metres or old
    moved(doc, affine, old / unit, old)
    target = folder / source.name
    saved(doc, target, name)
    return target, true_after(truth, affine, unit)


def redraw(task: tuple[str, Path, Path]) -> tuple[str, str]:
    """Rewrite one drawing one way and measure it; returns the way and what went wrong, if anything."""
    name, source, folder = task
    made = rewritten(name, source, folder)
    if made is None:
        return name, f"{source.stem}: no true unit"
    target, truth = made
    (folder / f"{source.stem}.truth.json").write_text(json.dumps(truth))
    try:
        (folder / f"{source.stem}.json").write_text(to_json(take_off(target, Job())))
    except Exception as fault:  # a benchmark goes on and says what it met
        return name, f"{source.stem}: {fault}"
    return name, ""


def scored(way_name: str, kind: str, folder: Path, pool: Executor) -> tuple[list[str], list[str]]:
    """The scorer's lines over the drawings of one kind redrawn one way into `folder`, and what went wrong."""
    sources = sorted((SHARED / "corpus" / kind).glob("*.dxf"))
    told = [s for s in sources if kind == "bim" or _certain(s)]
    faults = [fault for _, fault in pool.map(redraw, [(way_name, s, folder) for s in told]) if fault]
    command = [sys.executable, str(SHARED / "tools" / "score_rooms.py"), str(folder), str(folder)]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines(), faults


def _certain(source: Path) -> bool:
    return json.loads(source.with_suffix(".truth.json").read_text()).get("rooms_certain") is True


def _clean(line: str) -> bool:
    right, of = (int(n) for n in re.findall(r"right\s+(\d+)/\s*(\d+)", line)[0])
    return right == of and not re.search(r"(silent|alarms|false)\s+[1-9]", line)


def main() -> None:
    wanted = [w for w in WAYS if not sys.argv[1:] or any(word in w for word in sys.argv[1:])]
    with ProcessPoolExecutor(2) as pool:
        for name in wanted:
            for kind in ("bim", "drawn"):
                with tempfile.TemporaryDirectory() as folder:
                    lines, faults = scored(name, kind, Path(folder), pool)
                print(f"{name:26s} {kind:6s} {lines[-1]}")
                for line in [*(x for x in lines[:-1] if not _clean(x)), *faults]:
                    print(f"     {line}")


if __name__ == "__main__":
    main()
