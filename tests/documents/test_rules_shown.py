"""What the documents of a quotation say of sources, waste, lifting and the cutting of beads. All invented."""

from __future__ import annotations

from io import BytesIO

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from takeoff.data import load
from takeoff.documents.buying import buying_pdf
from takeoff.documents.rules_in_use import rules_in_use
from takeoff.documents.site_schedule import schedule_pdf
from takeoff.documents.words import kg_text
from takeoff.documents.workbook import write_workbook
from takeoff.record import Takeoff
from tests.documents.priced import JOB, priced
from tests.documents.test_workbook import table

STATUS = ("seen", "memory", "common practice", "NBS-based", "NHBC", "job file")
NEW = {"job": {**JOB["job"], "existing": False}}


@pytest.fixture(scope="module")
def boarded() -> Takeoff:
    """Two new rooms: boards in two layers on framing, lime in two base coats, one wall on dabs."""
    rooms = {
        "R1": {"wall_build_up": "skim-two-12-5", "ceiling_build_up": "skim-12-5"},
        "R2": {"wall_build_up": "lime-three-coat", "ceiling_build_up": "skim-15"},
    }
    return priced(2, **NEW, rooms=rooms, surfaces={"R1-W1": {"build_up": "dabs-12-5"}})


def text_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages).split())


def test_every_coverage_in_the_workbook_says_where_it_comes_from(boarded: Takeoff) -> None:
    """Boards laid in two layers, screws averaged over them and coats of two thicknesses too: none is left blank."""
    rows = [row for row in table(write_workbook(boarded), "Build-ups") if row["Build-up"] != "Counted apart"]
    materials = {str(row["Material"]) for row in rows}
    assert any("sheet" in m or "2400" in m for m in materials) and any("Lime base" in m for m in materials)
    for row in rows:
        assert any(word in str(row["Source"]) for word in STATUS), row


def test_two_coats_of_one_material_show_both_workings(boarded: Takeoff) -> None:
    (row,) = [
        r
        for r in table(write_workbook(boarded), "Build-ups")
        if str(r["Material"]).startswith("Lime base coat plaster")
    ]
    assert row["Coverage"] == pytest.approx(10 * 1.6 + 8 * 1.6), "10 mm and 8 mm at 1.6 kg/m2/mm, by hand"
    assert row["Working of the coverage"] == "10 mm x 1.6 kg/m2/mm + 8 mm x 1.6 kg/m2/mm"


def test_rules_of_fixing_and_checking_are_shown_with_their_source(boarded: Takeoff) -> None:
    rows = table(write_workbook(boarded), "Assumptions and cautions")
    shown = {(row["Kind"], str(row["What"])): row["Where from"] for row in rows}
    for kind, what, source in rules_in_use(boarded):
        assert shown[kind, what] == source
        assert any(word in source for word in STATUS), what
    text = " ".join(what for _, what in shown)
    assert "12.5 mm board: studs at most 600 mm apart, ceiling joists 450 mm, 600 mm with noggings" in text
    assert "Dabs at 400 mm behind 9.5 mm board 1200 wide" in text
    assert "8 mm out of plumb" in text


def test_a_rule_that_the_job_file_sets_says_so() -> None:
    own = priced(1, **NEW, boards={"kerf_mm": 5}, rooms={"R1": {"wall_build_up": "skim-12-5"}})
    rules = {(kind, what): source for kind, what, source in rules_in_use(own)}
    assert rules["Boards", "A cut takes 5 mm"] == "job file"
    assert ("Boards", "A cut takes 3 mm") not in rules


def test_rules_of_what_is_not_done_are_left_out() -> None:
    plastered = priced(
        1, **NEW, rooms={"R1": {"wall_build_up": "undercoat-brick", "ceiling_build_up": "undercoat-brick"}}
    )
    assert not {"Span", "Adhesive", "Boards"} & {kind for kind, _, _ in rules_in_use(plastered)}


def test_waste_to_carry_away_by_weight_and_volume(boarded: Takeoff) -> None:
    order = boarded.order
    text = text_of(buying_pdf(boarded))
    assert f"{kg_text(order.waste_kg)} kg, {order.waste_m3:.1f} m3 loose in a skip" in text
    sheet = load_workbook(BytesIO(write_workbook(boarded)), data_only=True)["Summary"]
    rows = {row[0]: row[1] for row in sheet.iter_rows(values_only=True)}
    assert rows["Waste to carry away, about"] == pytest.approx(order.waste_kg)
    assert rows["  loose in a skip, about"] == pytest.approx(order.waste_m3)
    board = sum(line.waste_kg for line in order.lines if line.material.kind == "board")
    density = load("materials")["debris"]["board"]["kg_per_m3"]
    assert sum(line.waste_m3 for line in order.lines if line.material.kind == "board") == pytest.approx(board / density)


def test_the_buying_list_names_each_pack_over_25_kg(boarded: Takeoff) -> None:
    text = text_of(buying_pdf(boarded))
    heavy = [line.material for line in boarded.order.lines if line.material.pack_kg > 25]
    assert heavy
    for material in heavy:
        assert f"{material.title} {material.pack_kg:.1f} kg" in text


def test_what_is_left_over_is_no_noise(boarded: Takeoff) -> None:
    for row in table(write_workbook(boarded), "Materials"):
        left = float(str(row["Left over"]))
        assert left == 0 or abs(left) > 1e-7
        assert left > -1e-6


def test_the_cutting_list_of_a_room_says_which_edge_each_piece_is_for(boarded: Takeoff) -> None:
    assert boarded.beads is not None
    text = text_of(schedule_pdf(boarded))
    for room, cuts in boarded.beads.rooms().items():
        for _, bar, cut in cuts:
            assert f"{cut.length_m:.2f} for {cut.edge.removeprefix(room + '-')}" in text
            assert f"no. {bar.number} ({bar.stock_m:.1f} m)" in text


@pytest.fixture(scope="module")
def by_plot() -> Takeoff:
    """Two plots of a room each, all of one build-up, ordered plot by plot; one person does one after the other."""
    skim = {"wall_build_up": "skim-12-5", "ceiling_build_up": "skim-12-5"}
    rooms = {ref: {**skim, "plot": plot} for ref, plot in (("R1", "plot 1"), ("R2", "plot 2"))}
    return priced(2, **NEW, rooms=rooms, order={"by": "plot"}, gang={"people": 1})


def test_each_plot_has_deliveries_of_its_own(by_plot: Takeoff) -> None:
    programme, order = by_plot.programme, by_plot.order
    assert programme is not None
    brought = sorted((d.load, slug, packs) for d in programme.deliveries for slug, packs in d.lines)
    assert brought == sorted((line.delivery, line.material.slug, line.packs) for line in order.lines if line.packs)
    text = text_of(buying_pdf(by_plot))
    for number, delivery in enumerate(programme.deliveries, 1):
        (trip,) = [d for d in order.deliveries if d.ref == delivery.load]
        assert f"Delivery {number}: {trip.title}, on site before day {delivery.day}" in text
    kg = sum(line.weight_kg for line in order.lines)
    assert sum(weight for weight, _ in programme.loads_by_day.values()) == pytest.approx(kg)


def test_what_is_for_a_plot_is_there_when_its_rooms_first_want_it(by_plot: Takeoff) -> None:
    programme = by_plot.programme
    assert programme is not None
    for trip in by_plot.order.deliveries:
        boarding = min(p.day for p in programme.placed if p.piece.room in trip.rooms and p.piece.stage == "board")
        (day,) = {
            d.day
            for d in programme.deliveries
            if d.load == trip.ref and any("board-12-5" in slug for slug, _ in d.lines)
        }
        assert boarding - 3 <= day <= boarding, "a load within three days is merged into the earlier one"
