"""The shipped library is whole and sourced, and the job file can change and extend it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.data import load
from takeoff.errors import JobError
from takeoff.job import Job
from takeoff.work.library import SURFACES, library, passes
from takeoff.work.stock import stock
from tests.work import by_hand as hand

SHIPPED = library(Job())
STATUS = ("(seen)", "from memory", "common practice")


def _raw_layers() -> Iterator[tuple[str, dict[str, object]]]:
    table = load("build_ups")
    for place in ("sets", "build_ups"):
        for name, row in table[place].items():
            for layer in row.get("layers", ()):
                yield f"{place}.{name}", layer


def test_the_build_ups_that_the_trade_needs_are_there() -> None:
    """Issue 4, "Build-ups as data": each named in the list has at least one build-up with its board or plaster."""
    boards = {layer.material for b in SHIPPED.values() for layer in b.layers if "board" in layer.material}
    assert {"board-9-5", "board-12-5", "board-15", "mr-board-12-5", "fire-board-12-5", "acoustic-board-12-5"} <= boards
    backgrounds = {background for b in SHIPPED.values() for background in b.backgrounds}
    assert backgrounds == set(load("build_ups")["backgrounds"])
    kinds = {
        load("labour")["tasks"][layer.labour]["stage"] for b in SHIPPED.values() for layer in b.layers if layer.labour
    }
    assert {"board", "scrim", "bead", "undercoat", "bond", "wall finish"} <= kinds


@pytest.mark.parametrize("slug", SHIPPED)
def test_a_build_up_is_whole(slug: str) -> None:
    build_up = SHIPPED[slug]
    assert build_up.title and build_up.limits and build_up.cautions and build_up.thickness_mm > 0
    assert any(status in build_up.source for status in STATUS)
    assert set(build_up.surfaces) <= set(SURFACES)
    assert set(build_up.cautions) <= {row["title"] for row in load("cautions").values()}
    for layer in build_up.layers:
        assert layer.amount > 0 and layer.how
        assert any(status in layer.source for status in STATUS), layer
        assert layer.labour == "" or layer.labour in load("labour")["tasks"]


@pytest.mark.parametrize("slug", SHIPPED)
def test_one_material_of_a_build_up_has_one_labour_task(slug: str) -> None:
    """Hours are found by build-up and material: two tasks for one material would hide each other."""
    tasks: dict[str, set[str]] = {}
    for layer in SHIPPED[slug].layers:
        tasks.setdefault(layer.material, set()).add(layer.labour)
    assert not {m: t for m, t in tasks.items() if len(t) > 1}


@pytest.mark.parametrize("background", load("build_ups")["backgrounds"])
def test_what_is_proposed_for_a_background_may_go_there(background: str) -> None:
    row = load("build_ups")["backgrounds"][background]
    for kind, slug in (
        ("wall", row["wall"]),
        ("reveal", row["wall"]),
        ("pier", row["wall"]),
        ("ceiling", row["ceiling"]),
    ):
        assert background in SHIPPED[slug].backgrounds
        assert kind in SHIPPED[slug].surfaces


def test_every_value_of_every_material_has_its_source() -> None:
    for slug, row in load("materials")["materials"].items():
        values = {key for key, value in row.items() if not isinstance(value, str | dict)}
        assert values == set(row["source"]), slug
        assert all(any(status in text for status in STATUS) for text in row["source"].values()), slug
        assert row["kind"] in load("materials")["waste"], slug


def test_no_coat_of_the_library_is_thicker_than_its_material_allows() -> None:
    for build_up in SHIPPED.values():
        for layer in build_up.layers:
            most = stock(Job())[layer.material].get("coat_max_mm")
            assert most is None or layer.thickness_mm / layer.coats <= most, (build_up.slug, layer)


def test_labour_is_named_for_every_board_and_plaster_layer() -> None:
    """Cement and sand are one coat; everything else that covers a surface takes time of its own."""
    for place, layer in _raw_layers():
        material = str(layer["material"])
        row = load("materials")["materials"].get(material, {"kind": "board"})
        if layer["per"] == "m2" and row["kind"] in ("board", "undercoat", "finish", "lime") and material[0] != "@":
            assert layer.get("labour"), (place, layer)


@given(st.floats(0.5, 60), st.floats(1, 20))
def test_passes_are_equal_few_and_thin_enough(depth: float, most: float) -> None:
    each = passes(depth, most)
    assert sum(each) == pytest.approx(depth)
    assert max(each) <= most * (1 + 1e-9)
    assert len(each) == 1 or depth / (len(each) - 1) > most


def test_a_layer_too_thick_for_one_coat_is_laid_in_passes() -> None:
    """20 mm of undercoat at 11 mm a coat (data sheets, from memory): two passes of 10."""
    own = {"layers": [{"material": "undercoat", "thickness_mm": 20, "labour": "undercoat"}], "backgrounds": ["brick"]}
    layers = library(hand.job(build_ups={"thick": own}))["thick"].layers
    assert [layer.thickness_mm for layer in layers] == [10, 10]
    assert sum(layer.amount for layer in layers) == pytest.approx(20 * 0.83)


def test_a_shipped_build_up_is_changed_by_its_name() -> None:
    own = {"title": "mine", "layers": [{"material": "finish", "thickness_mm": 3, "coats": 2}], "backgrounds": ["board"]}
    changed = library(hand.job(build_ups={"skim-fixed-board": own}))["skim-fixed-board"]
    assert (changed.title, len(changed.layers), changed.layers[0].amount) == ("mine", 1, pytest.approx(3.75))


def test_a_coverage_of_the_job_file_carries_into_every_layer() -> None:
    build_up = library(hand.job(materials={"undercoat": {"kg_per_m2_mm": 0.9}}))["undercoat-brick"]
    assert build_up.layers[0].amount == pytest.approx(9.9)
    assert "0.9 kg/m2/mm" in build_up.layers[0].how


@pytest.mark.parametrize(
    ("layer", "amount"),
    [
        ({"material": "furring", "spacing_mm": 400}, 2.5),
        ({"material": "bonding-agent", "amount": 0.1}, 0.1),
        ({"material": "board-15", "thickness_mm": 15}, 1.0),
    ],
)
def test_ways_to_say_how_much(layer: dict[str, object], amount: float) -> None:
    build_up = library(hand.job(build_ups={"own": {"layers": [layer]}}))["own"]
    assert build_up.layers[0].amount == pytest.approx(amount)


def _own(**changes: object) -> dict[str, object]:
    return {"build_ups": {"own": {"layers": [{"material": "finish", "thickness_mm": 2}], **changes}}}


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        (_own(layers=[{"material": "finnish", "thickness_mm": 2}]), ["build_ups.own.layers[1].material", "finish"]),
        (_own(layers=[{"material": "finish"}]), ["no amount", "thickness_mm"]),
        (_own(layers=[{"material": "scrim", "thickness_mm": 2}]), ["no kg_per_m2_mm"]),
        (_own(layers=[{"material": "finish", "thickness_mm": 5}]), ["too thick", "at most 3 mm"]),
        (_own(layers=[{"material": "finish", "thickness_mm": 2, "per": "m3"}]), ["'m3'", "m joint"]),
        (_own(layers=[{"material": "finish", "thickness_mm": 2, "labour": "skimm"}]), ["'skimm'", "finish-wall"]),
        (_own(surfaces=["walls"]), ["'walls'", "wall"]),
        (_own(backgrounds=["bricks"]), ["'bricks'", "brick"]),
        (_own(sets=["on-frame"]), ["'on-frame'", "skim"]),
        ({"materials": {"finnish": {"price": 9}}}, ["materials.finnish", "title", "finish"]),
        (
            {"materials": {"x": {"title": "X", "unit": "kg", "kind": "plaster", "pack_size": 1}}},
            ["'plaster'", "finish"],
        ),
        ({"materials": {"x": {"title": "X", "unit": "kg", "kind": "finish", "pack_size": 1}}}, ["no build-up uses"]),
    ],
)
def test_what_matches_nothing_is_an_error(tables: dict[str, object], words: list[str]) -> None:
    with pytest.raises(JobError) as fault:
        library(hand.job(**tables))
    assert all(word in str(fault.value) for word in words), str(fault.value)


def test_a_material_of_the_users_own() -> None:
    tables = _own(layers=[{"material": "fine-clay", "thickness_mm": 3}])
    tables["materials"] = {
        "fine-clay": {"title": "Clay", "unit": "kg", "kind": "finish", "pack_size": 20, "kg_per_m2_mm": 1.5}
    }
    assert library(hand.job(**tables))["own"].layers[0].amount == pytest.approx(4.5)
