"""The sample drawings hold what their hand-computed truths say, seen with ezdxf and shapely alone."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from ezdxf.filemanagement import readfile
from shapely import LineString, Point, unary_union

from tests.samples.hand import ROOT, SAMPLES, truth

METRES = {"new_house": 0.001, "rear_extension": 0.001, "terraced_house": 0.001, "upstairs_flat": 1.0}
WALLS = {
    "new_house": {"A-G251-M_ExternalWall-Block", "A-G252-M_InternalWall-Block", "A-G252-M_InternalWall-Stud"},
    "rear_extension": {"A-WALL-E", "A-WALL-N", "A-WALL-PRTN-N"},
    "terraced_house": {"WALLS", "PARTITIONS"},
    "upstairs_flat": {"Walls", "Walls new stud"},
}
LINES_ACROSS = {"new_house": (), "rear_extension": (), "terraced_house": (), "upstairs_flat": ("window",)}
"""Kinds of opening whose symbol draws the wall's face on a wall layer."""


def rooms() -> list[Any]:
    return [pytest.param(s, name, id=f"{s}-{name}") for s in SAMPLES for name in truth(s)["rooms"]]


@pytest.mark.parametrize("sample", SAMPLES)
def test_a_sample_is_a_sound_dxf_file(sample: str) -> None:
    audit = readfile(ROOT / "samples" / f"{sample}.dxf").audit()
    assert not audit.errors and not audit.fixes


@pytest.mark.parametrize("sample", SAMPLES)
def test_the_script_draws_the_committed_bytes(sample: str, tmp_path: Path) -> None:
    out = tmp_path / "again.dxf"
    subprocess.run([sys.executable, ROOT / "samples" / f"{sample}.py", out], check=True)
    assert out.read_bytes() == (ROOT / "samples" / f"{sample}.dxf").read_bytes()


@pytest.mark.parametrize(("sample", "name"), rooms())
def test_the_hand_arithmetic_holds(sample: str, name: str) -> None:
    told = truth(sample)
    room = told["rooms"][name]
    assert room["polygon"].is_valid
    assert room["polygon"].area == pytest.approx(room["floor_area"], abs=2e-5)
    assert room["polygon"].length == pytest.approx(room["perimeter"], abs=2e-5)
    openings = [told["openings"][no] for no in room["openings"]]
    assert sum(o["width"] * o["height"] for o in openings) == pytest.approx(room["deducted"], abs=1e-6)
    assert room["wall_gross"] - room["deducted"] == pytest.approx(room["wall_net"], abs=1e-6)
    if room.get("ceiling_level", "ceiling" not in room):  # every wall as high as the room
        assert room["wall_gross"] == pytest.approx(room["perimeter"] * room["height"], abs=1e-5)


@pytest.mark.parametrize(("sample", "name"), rooms())
def test_walls_are_drawn_all_round_a_room_but_for_its_openings(sample: str, name: str) -> None:
    told = truth(sample)
    room = told["rooms"][name]
    drawn = wall_lines(sample).intersection(room["polygon"].buffer(0.5)).buffer(0.0005)
    missing = room["polygon"].exterior.difference(drawn).length
    openings = [told["openings"][no] for no in room["openings"]]
    expected = sum(o["width"] for o in openings if o["kind"] not in LINES_ACROSS[sample])
    assert missing == pytest.approx(expected, abs=0.004 * len(openings) + 0.002)
    for opening in openings:
        assert room["polygon"].distance(Point(opening["at"])) == pytest.approx(opening["thick"] / 2, abs=0.002)


@pytest.mark.parametrize(("sample", "name"), rooms())
def test_a_room_carries_its_name_and_its_area(sample: str, name: str) -> None:
    room = truth(sample)["rooms"][name]
    inside = [value for value, at in texts(sample) if room["polygon"].contains(at)]
    assert name in inside
    areas = [float(m.group(1)) for v in inside if (m := re.fullmatch(r"(\d+\.\d+) (?:m²|m2|sq m)", v))]
    assert areas == [pytest.approx(room["floor_area"], rel=0.02)]


def wall_lines(sample: str) -> Any:
    """Everything on the wall layers, in metres."""
    k = METRES[sample]
    lines = []
    entity: Any
    for entity in readfile(ROOT / "samples" / f"{sample}.dxf").modelspace():
        if entity.dxf.layer not in WALLS[sample]:
            continue
        for part in entity.virtual_entities() if entity.dxftype() == "LWPOLYLINE" else (entity,):
            if part.dxftype() == "LINE":
                ends = [part.dxf.start, part.dxf.end]
            elif part.dxftype() == "ARC":
                ends = list(part.flattening(0.0001 / k))
            else:
                continue
            lines.append(LineString([(p.x * k, p.y * k) for p in ends]))
    return unary_union(lines)


def texts(sample: str) -> list[tuple[str, Point]]:
    """Texts and lines of texts, with attributes, and where they stand in metres."""
    k = METRES[sample]
    found = []
    entity: Any
    for entity in readfile(ROOT / "samples" / f"{sample}.dxf").modelspace().query("TEXT MTEXT INSERT"):
        for text in entity.attribs if entity.dxftype() == "INSERT" else (entity,):
            lines = text.plain_text(split=True) if text.dxftype() == "MTEXT" else [text.dxf.text]
            found += [(line, Point(text.dxf.insert.x * k, text.dxf.insert.y * k)) for line in lines]
    return found
