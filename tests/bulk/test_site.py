"""`takeoff site`: areas are plain arithmetic on the sizes drawn; what an order may not go below is counted by hand."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from decimal import Decimal
from math import ceil
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner, Result
from pydantic import BaseModel

from takeoff.bulk.development import DevelopmentFile, OptionRow, PlotRow, SiteTable, TypeRow, read_development
from takeoff.bulk.site import Saving, Site, make_site
from takeoff.bulk.site_documents import site_document, site_lines, write_site
from takeoff.bulk.site_workbook import site_workbook
from takeoff.cli import main
from takeoff.materials.catalogue import catalogue
from tests.bulk.drawings import one_room
from tests.bulk.test_folder import table
from tests.documents.spreadsheet import differences, formulas, needs_soffice, recalculated
from tests.samples.hand import truth
from tests.test_documented import named, sections

ROOT = Path(__file__).resolve().parents[2]
HEIGHT, TALL = 2.4, 2.7
SMALL = 4.3

FILE = """
[development]
name = "Lime Yard"                       # invented

[settings.wall_types.masonry]
background = "timber frame"
build_up = "skim-12-5"

[settings.materials.board-12-5]
price = 10.00

[types.small]
title = "One room"
drawing = "small.dxf"
[types.small.settings.job]
existing = false

[types.large]
drawing = "large.dxf"
job = "large.toml"

[options.tall]
title = "Higher rooms"
types = ["small"]
[options.tall.settings.heights]
default = 2.7

[[plots]]
plot = "1"
type = "small"
stage = "one"
address = "1 Lime Yard"

[[plots]]
plot = "2"
type = "small"
handed = true
stage = "one"

[[plots]]
plot = "3"
type = "large"
handed = true
stage = "two"
delivery = "late"

[[plots]]
plot = "4"
type = "small"
options = ["tall"]
stage = "two"
delivery = "late"
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    one_room(folder / "small.dxf", SMALL)
    one_room(folder / "large.dxf", 6.0)
    (folder / "large.toml").write_text("[job]\nexisting = false\n")
    (folder / "lime.toml").write_text(FILE)
    return folder


@pytest.fixture(scope="module")
def site(place: Path) -> Site:
    return make_site(read_development(place / "lime.toml"), lambda _: None)


def walls(wide: float, height: float) -> float:
    return 2 * (wide + 3.0) * height


def test_quantities_of_plots_stages_deliveries_and_site(site: Site) -> None:
    document = site_document(site)
    by_plot = {row["plot"]: row["wall_net_m2"] for row in document["plots"]}
    expected = {"1": walls(SMALL, HEIGHT), "2": walls(SMALL, HEIGHT), "3": walls(6, HEIGHT), "4": walls(SMALL, TALL)}
    assert by_plot == pytest.approx(expected)
    stages = {row["stage"]: row["wall_net_m2"] for row in document["stages"]}
    assert stages == pytest.approx({"one": expected["1"] * 2, "two": expected["3"] + expected["4"]})
    deliveries = {row["delivery"]: (row["plots"], row["ceiling_m2"]) for row in document["deliveries"]}
    one, late = pytest.approx(6 * SMALL), pytest.approx(18.0 + 3 * SMALL)
    assert deliveries == {"one": (["1", "2"], one), "late": (["3", "4"], late)}
    assert document["site"]["floor_m2"] == pytest.approx(9 * SMALL + 18.0)


def test_each_variant_is_taken_off_once(place: Path) -> None:
    said: list[str] = []
    make_site(read_development(place / "lime.toml"), said.append)
    assert [line for line in said if line.startswith("Taking off")] == [
        "Taking off small", "Taking off large", "Taking off small + tall",
    ]  # fmt: skip


def not_dearer(saving: Saving) -> None:
    """The least is sought in money where every price is known, else in the material's own unit."""
    assert (saving.cost_together is None) == (saving.cost_apart is None), saving
    if saving.cost_together is not None and saving.cost_apart is not None:
        assert saving.cost_together <= saving.cost_apart, saving
    else:
        assert saving.together <= saving.apart + 1e-6, saving


STOCK = """
[[boards.stock]]
length = 2.4
width = 1.2
price = 9.80
[[boards.stock]]
length = 3.0
width = 1.2
price = 12.60
"""


def test_both_ways_are_ordered_from_the_same_stock_though_one_type_alone_names_it(place: Path, tmp_path: Path) -> None:
    for other in ("small.dxf", "large.dxf"):
        (tmp_path / other).write_bytes((place / other).read_bytes())
    (tmp_path / "large.toml").write_text(f"[job]\nexisting = false\n{STOCK}")
    (tmp_path / "lime.toml").write_text(FILE)
    made = make_site(read_development(tmp_path / "lime.toml"), lambda _: None)
    boards = [s for d in made.deliveries for s in d.savings if "board" in s.material.lower()]
    assert len(boards) == 2
    for saving in boards:
        assert saving.cost_together is not None
        not_dearer(saving)


def test_a_delivery_is_never_dearer_than_its_plots_apart_and_never_under_what_it_needs(site: Site) -> None:
    saved = 0.0
    for delivery in site.deliveries:
        for saving in delivery.savings:
            assert saving.net - 1e-6 <= saving.together, saving
            not_dearer(saving)
            saved += saving.apart - saving.together
        for line in delivery.supply.order.lines:
            assert line.packs == ceil(line.net * (1 + line.waste_pct / 100) / line.material.pack_size - 1e-9)
    assert saved > 0


def test_boards_laid_over_all_plots_take_no_more_than_plot_by_plot(site: Site) -> None:
    for delivery in site.deliveries:
        boards = delivery.supply.boards
        alone = [layout.bought_m2 for p in delivery.plots for layout in site.alone[p.variant].boards]
        assert sum(layout.bought_m2 for layout in boards) <= sum(alone) + 1e-9
        assert {ref.split("/")[0] for layout in boards for ref in layout.surfaces} == {
            p.row.plot for p in delivery.plots
        }


def test_what_rounding_up_once_saves_is_plain_arithmetic(site: Site) -> None:
    """Screws and the like come by the box: plots alone round up each, together once."""
    (one, _) = site.deliveries
    apart = [site.alone[plot.variant].order.lines for plot in one.plots]
    for line in one.supply.order.lines:
        if line.material.kind in ("board", "bead"):
            continue
        alone = [own for lines in apart for own in lines if own.material.slug == line.material.slug]
        saving = next(s for s in one.savings if s.material == line.material.title)
        assert saving.packs_apart == sum(own.packs for own in alone)
        assert saving.packs_together == line.packs


def priced(place: Path, tmp_path: Path, site: Site, leave_out: str = "") -> Site:
    """The site with a rate for everything, and a price of 7 for each pack but those of `leave_out`."""
    slugs = {line.material.slug for d in site.deliveries for line in d.supply.order.lines}
    known = {slug for takeoff in site.takeoffs.values() for slug in catalogue(takeoff.job)}
    bases = {max((b for b in known if slug == b or slug.startswith(f"{b}-")), key=len) for slug in slugs}
    tables = [f"[settings.materials.{slug}]\nprice = 7" for slug in sorted(bases - {"board-12-5", leave_out})]
    more = """
[settings.gang]
people = 3
[settings.price]
labour_rate = 30
waste_rate = 0
material_margin = 10
[[settings.price.plant]]
what = "Hop-ups"
amount = 50
[[settings.price.markups]]
name = "overheads"
percent = 5
[[settings.boards.stock]]
board = "board-12-5"
length = 2.4
width = 1.2
price = 7
"""
    beads = "".join(f"[[settings.beads.stock]]\nlength = {length}\nprice = 7\n" for length in (2.4, 3.0))
    for other in ("small.dxf", "large.dxf", "large.toml"):
        (tmp_path / other).write_bytes((place / other).read_bytes())
    (tmp_path / "lime.toml").write_text("\n".join([FILE, *tables, more, beads]))
    return make_site(read_development(tmp_path / "lime.toml"), lambda _: None)


def test_prices_by_plain_arithmetic(place: Path, tmp_path: Path, site: Site) -> None:
    """Packs x 7 + 10 %, hours x 30, 50 a plot, all of it + 5 %; shares of plots add up to the penny."""
    made = priced(place, tmp_path, site)
    document = site_document(made)
    for delivery, row in zip(made.deliveries, document["deliveries"], strict=True):
        assert row["missing"] == [], row["missing"]
        packs = sum(line["packs"] for line in row["materials"])
        cost = packs * 7 * 1.1 + row["hours"] * 30 + len(delivery.plots) * 50
        assert float(row["price_before_tax"]) == pytest.approx(cost * 1.05, abs=0.5)  # pence rounded line by line
        own = [p for p in document["plots"] if p["delivery"] == delivery.name]
        assert sum(Decimal(p["price_before_tax"]) for p in own) == Decimal(row["price_before_tax"])
        assert row["gang_days"] == pytest.approx(row["hours"] / (3 * 8))
    whole = Decimal(document["site"]["price_before_tax"])
    for kind in ("plots", "types", "stages", "deliveries"):
        assert sum(Decimal(row["price_before_tax"]) for row in document[kind]) == whole, kind
    twins = [row["price_before_tax"] for row in document["plots"] if row["plot"] in "12"]
    assert float(twins[0]) == pytest.approx(float(twins[1]), rel=0.05)  # alike but for shares of off-cuts
    saved = document["site"]["saved"]
    fewer = sum(s.packs_apart - s.packs_together for d in made.deliveries for s in d.savings)
    assert float(saved["cost"]) == fewer * 7 > 0
    assert f"{saved['cost']} less" in " ".join(site_lines(made)) and "Price before tax" in site_lines(made)[-1]


@needs_soffice
def test_prices_in_the_workbook_are_live_and_blank_where_one_is_missing(
    place: Path, tmp_path: Path, site: Site
) -> None:
    for name, leave_out in (("all", ""), ("less", "screw-38")):
        (tmp_path / name).mkdir()
        made = priced(place, tmp_path / name, site, leave_out)
        content = site_workbook(made)
        assert differences(content, recalculated(openpyxl.load_workbook(io.BytesIO(content)), tmp_path)) == {}
        (tmp_path / name / "site.xlsx").write_bytes(content)
        stages = [row["Price before tax"] for row in table(tmp_path / name / "site.xlsx", "Stages")]
        plots = [row["Price before tax"] for row in table(tmp_path / name / "site.xlsx", "Plots")]
        if leave_out:
            assert stages == ["not priced"] * 2 and plots == [None] * 4
            assert any("screw" in what.lower() for what in made.missing)
            assert "Not priced" in site_lines(made)[-1]
        else:
            assert sum(stages) == pytest.approx(sum(plots)) and min(plots) > 0


@needs_soffice
def test_the_workbook_is_live_and_right(site: Site, tmp_path: Path) -> None:
    content = site_workbook(site)
    assert content == site_workbook(site)
    assert formulas(content)
    assert differences(content, recalculated(openpyxl.load_workbook(io.BytesIO(content)), tmp_path)) == {}
    path = tmp_path / "site.xlsx"
    path.write_bytes(content)
    assert [row["Handed"] or "" for row in table(path, "Plots")] == ["", "handed", "handed", ""]
    stages = {row["Stage"]: row["Walls net (m2)"] for row in table(path, "Stages")}
    assert stages["one"] == pytest.approx(2 * walls(SMALL, HEIGHT))


def test_documents_with_a_mirrored_plan_where_a_plot_is_handed(site: Site, tmp_path: Path) -> None:
    names = {str(path.relative_to(tmp_path)) for path in write_site(site, tmp_path)}
    assert {"site.xlsx", "site.json", "buying-list-01-one.pdf", "buying-list-02-late.pdf"} <= names
    assert {
        "types/small/marked-plan.pdf",
        "types/small/handed-marked-plan.pdf",
        "types/small-tall/takeoff.xlsx",
    } <= names
    assert "types/small-tall/handed-marked-plan.pdf" not in names
    json.loads((tmp_path / "site.json").read_text())
    before = {name: (tmp_path / name).read_bytes() for name in names}
    write_site(site, tmp_path)
    assert before == {name: (tmp_path / name).read_bytes() for name in names}


def test_the_buying_list_says_handed(site: Site, tmp_path: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    write_site(site, tmp_path)
    text = "".join(p.extract_text() for p in pypdf.PdfReader(tmp_path / "buying-list-01-one.pdf").pages)
    assert "1 (small), 2 (small, handed)" in " ".join(text.split())


def test_a_handed_plan_is_the_mirror_image() -> None:
    """Of the sample house: shapes mirrored by shapely, areas and turning sense as before."""
    from shapely import Polygon, affinity

    from takeoff.bulk.handed import handed_measured, handed_plan
    from takeoff.job import read_job
    from takeoff.pipeline import take_off

    takeoff = take_off(ROOT / "samples" / "new_house.dxf", read_job(ROOT / "samples" / "new_house.toml"))
    plan = handed_plan(takeoff.plan)
    for before, after in zip(takeoff.plan.rooms, plan.rooms, strict=True):
        mirrored = affinity.scale(Polygon(before.outline), -1, 1, origin=(0, 0))
        assert Polygon(after.outline).symmetric_difference(mirrored).area < 1e-9
        assert Polygon(after.outline).exterior.is_ccw
        for side, own in zip(before.sides, after.sides, strict=True):
            assert own.start == (-side.end[0], side.end[1]) and own.length_m == side.length_m
    assert handed_plan(plan).rooms[0].outline == takeoff.plan.rooms[0].outline
    assert handed_measured(takeoff.measured).quantities == takeoff.measured.quantities


WRONG: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "unknown type": (
        'type = "large"',
        'type = "larger"',
        ("plots[3].type", "no type is called 'larger'", "small, large"),
    ),
    "unknown option": ('options = ["tall"]', 'options = ["wide"]', ("plots[4].options", "'wide'", "tall")),
    "option of another type": ('types = ["small"]', 'types = ["large"]', ("plots[4].options", "not for type 'small'")),
    "plot twice": ('plot = "2"', 'plot = "1"', ("plots[2].plot", "there already")),
    "no drawing": ('drawing = "large.dxf"', 'drawing = "none.dxf"', ("types.large.drawing", "no file none.dxf")),
    "unknown key": ('address = "1 Lime Yard"', 'adress = "1 Lime Yard"', ("plots[1].adress", "no such key", "address")),
    "wrong setting": ("default = 2.7", 'default = "high"', ("options.tall.settings.heights.default", "'high'")),
    "unknown setting": (
        "default = 2.7",
        "defalt = 2.7",
        ("options.tall.settings.heights.defalt", "no such key", "default"),
    ),
    "unknown room": (
        "default = 2.7",
        "default = 2.7\n[options.tall.settings.rooms.R9]\nheight = 2.5",
        ("options.tall.settings.rooms.R9",),
    ),
    "unknown build-up": (
        'build_up = "skim-12-5"',
        'build_up = "gold leaf"',
        ("settings.wall_types.masonry.build_up", "gold leaf"),
    ),
    "no plots": (FILE[FILE.index("[[plots]]") :], "", ("plots", "is missing")),
    "not TOML": ("[options.tall]", "[options.tall", ("lime.toml",)),
}


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["site", *map(str, words)])


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_file_names_file_line_and_key(name: str, place: Path, tmp_path: Path) -> None:
    before, after, says = WRONG[name]
    assert before in FILE
    text = FILE.replace(before, after, 1)
    for other in ("small.dxf", "large.dxf", "large.toml"):
        (tmp_path / other).write_bytes((place / other).read_bytes())
    (tmp_path / "lime.toml").write_text(text)
    result = run(tmp_path / "lime.toml", "--out", tmp_path / "out")
    assert result.exit_code == 1 and "Traceback" not in result.output
    message = result.output[result.output.index("Error: ") :]
    for word in ("lime.toml", *says):
        assert word in message, message
    if after and name != "not TOML":
        lines = (*after.splitlines(), 'options = ["tall"]')
        wanted = [n for n, line in enumerate(text.splitlines(), 1) if line in lines]
        assert any(f"line {n}:" in message for n in wanted), message
    assert not (tmp_path / "out").exists()


def test_prices_that_differ_between_types_are_asked_for_the_site(place: Path, tmp_path: Path) -> None:
    for other in ("small.dxf", "large.dxf"):
        (tmp_path / other).write_bytes((place / other).read_bytes())
    (tmp_path / "large.toml").write_text("[materials.finish]\nprice = 8\n")
    text = FILE.replace(
        "[types.small.settings.job]", "[types.small.settings.materials.finish]\nprice = 9\n[types.small.settings.job]"
    )
    (tmp_path / "lime.toml").write_text(text)
    result = run(tmp_path / "lime.toml", "--out", tmp_path / "out")
    assert result.exit_code == 1 and "settings.materials.finish.price: small has" in result.output, result.output
    (tmp_path / "lime.toml").write_text(
        text.replace("price = 10.00", "price = 10.00\n[settings.materials.finish]\nprice = 7", 1)
    )
    assert (
        run(tmp_path / "lime.toml", "--out", tmp_path / "out").exit_code == 1
    )  # the type's own stands over the site's


TABLES: dict[str, type[BaseModel]] = {
    "[development]": SiteTable, "[types.NAME]": TypeRow, "[options.NAME]": OptionRow, "[[plots]]": PlotRow,
}  # fmt: skip


def test_every_key_of_the_development_file_is_described_and_no_other() -> None:
    described = sections("development-file.md")
    for heading, model in TABLES.items():
        assert named(described[heading]) == set(model.model_fields), heading
    tables = {heading.strip("[]").partition(".")[0] for heading in described if heading.startswith("[")}
    assert tables == set(DevelopmentFile.model_fields)


def test_every_column_and_every_key_of_the_documents_is_described(site: Site) -> None:
    described = sections("development-file.md")
    columns = named(described["The workbook"])
    for sheet in openpyxl.load_workbook(io.BytesIO(site_workbook(site))).worksheets:
        headings = {str(cell.value) for cell in sheet[4] if cell.value}
        assert headings and headings - columns == set(), sheet.title

    def keys(value: Any) -> set[str]:
        if isinstance(value, dict):
            return set(value) | {key for inner in value.values() for key in keys(inner)}
        return {key for inner in value for key in keys(inner)} if isinstance(value, list) else set()

    own = keys({k: v for k, v in site_document(site).items() if k != "development"})
    assert own - named(described["The JSON"]) == set()


def test_the_sample_site_is_sound() -> None:
    development = read_development(ROOT / "samples" / "kiln_field.toml")
    assert len(development.file.plots) == 24 and len(development.file.types) == 3
    jobs = {variant: development.job_of(variant) for variant in development.variants}
    assert development.order_job(jobs).price.currency == "£"


def test_plots_of_a_sample_type_come_to_its_hand_computed_truth() -> None:
    """Type cedar of the sample site: handed plots and plots with the option have the walls of the drawing all the same;
    the option's board is bought for its rooms alone."""
    development = read_development(ROOT / "samples" / "kiln_field.toml")
    cedar = tuple(plot for plot in development.file.plots if plot.type == "cedar")
    assert {plot.handed for plot in cedar} == {True} and {plot.options for plot in cedar} == {(), ("damp-room-bath",)}
    plots = (*cedar[:2], cedar[0].model_copy(update={"plot": "99", "handed": False}))
    made = make_site(replace(development, file=development.file.model_copy(update={"plots": plots})), lambda _: None)
    rooms = truth("terraced_house")["rooms"].values()
    for plot in made.plots:
        for name, key in (("walls_m2", "wall_net"), ("floor_m2", "floor_area"), ("reveals_m2", "reveals")):
            assert getattr(plot.summary, name) == pytest.approx(sum(room[key] for room in rooms), abs=0.02), name
    wet = 10.92552 + 16.30552 + 1.6 + 3.6  # walls and ceilings of WC and bathroom
    wet -= 1.6 * 2.40 + 1.8 * 2.35  # their party walls stay on dabs: the option's board is screwed to studs
    for delivery in made.deliveries:
        boards = [line for line in delivery.supply.order.lines if line.material.slug.startswith("mr-board")]
        with_option = sum("damp-room-bath" in plot.row.options for plot in delivery.plots)
        assert sum(line.net for line in boards) == pytest.approx(with_option * wet)
