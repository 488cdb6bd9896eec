"""What walls are probably made of. Sizes are common practice: studs of 48 to 75 mm with a board on each face, 100 mm
block plastered both sides, half and whole brick."""

from __future__ import annotations

import pytest

from takeoff.plan.backgrounds import wall_type


@pytest.mark.parametrize(
    ("thickness", "external", "kind"),
    [
        (0.095, False, "partition"),
        (0.100, None, "partition"),
        (0.073, False, "partition"),
        (0.126, False, "unknown"),
        (0.150, None, "unknown"),
        (0.02, None, "unknown"),
        (0.215, False, "masonry"),
        (0.240, None, "masonry"),
        (0.30, True, "masonry"),
        (0.11, True, "unknown"),
        (None, None, "unknown"),
    ],
)
def test_thickness_proposes(thickness: float | None, external: bool | None, kind: str) -> None:
    found, why = wall_type(thickness, external=external)
    assert found == kind
    assert why


@pytest.mark.parametrize(
    ("layer", "kind"),
    [
        ("Wand Trockenbau", "partition"),
        ("WALL-STUD", "partition"),
        ("Mauerwerk tragend", "masonry"),
        ("muros ladrillo", "masonry"),
        ("混凝土墙", "masonry"),
        ("LGS壁", "partition"),
        ("BS-柱", "masonry"),
    ],
)
def test_a_layers_name_says_more_than_thickness(layer: str, kind: str) -> None:
    assert wall_type(0.15, layer)[0] == kind


@pytest.mark.parametrize(
    ("pattern", "kind"),
    [
        ("AR-BRSTD", "masonry"),
        ("AR-CONC", "masonry"),
        ("INSUL", "partition"),
        ("SOLID", "unknown"),
        ("ANSI31", "unknown"),
    ],
)
def test_the_hatch_of_a_wall(pattern: str, kind: str) -> None:
    assert wall_type(0.14, filled_pattern=pattern)[0] == kind
