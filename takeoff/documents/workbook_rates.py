"""Sheet Rates: the settings and each material's pack, waste and price, every one to be changed, with its source."""

from __future__ import annotations

from typing import TYPE_CHECKING

from takeoff.documents.workbook_areas import default_height
from takeoff.documents.workbook_cells import HEADER, Cell, Styles, begin_sheet, cell_at, put_table
from takeoff.documents.workbook_layout import RATE_COLUMNS, RATES, SETTING_COLUMNS, SETTINGS
from takeoff.documents.workbook_order import RATE_HEADER, RateRow
from takeoff.documents.workbook_places import Places
from takeoff.documents.workbook_takes import material_names
from takeoff.materials.model import Material
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["write_rates"]

SAYS = "Every figure on the pale ground is yours to change. A price that nobody gave is blank: unknown, not nought."


def write_rates(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Rates."""
    sheet = begin_sheet(book, styles, RATES, SAYS, RATE_COLUMNS)
    values = _settings(takeoff, places)
    rows: list[list[Cell]] = [[label, values[name], unit, why] for name, label, unit, why in SETTINGS]
    put_table(book, sheet, styles, SETTING_COLUMNS, rows, filtered=False)
    for number, (name, *_) in enumerate(SETTINGS, HEADER + 1):
        book.define_name(name, f"={cell_at(SETTING_COLUMNS, 'Value', number, RATES)}")
    names = material_names(takeoff)
    put_table(
        book, sheet, styles, RATE_COLUMNS, [_rate(row, names) for row in places.rates.values()], header=RATE_HEADER
    )


def _settings(takeoff: Takeoff, places: Places) -> dict[str, float | None]:
    heights = takeoff.job.heights
    return {
        "default_height": default_height(takeoff),
        "default_door": heights.door,
        "default_window": heights.window,
        "default_opening": heights.opening,
        "smallest_deducted": places.smallest_deducted,
    }


def _rate(row: RateRow, names: dict[str, str]) -> list[Cell]:
    material = row.material
    price = None if material.price is None else float(material.price)
    cells: list[Cell] = [names[material.slug], material.pack, material.unit, material.pack_size, material.pack_kg]
    return [*cells, row.waste_pct, price, material.price_date, material.supplier, _source(material)]


def _source(material: Material) -> str:
    """Where the figures of this sheet come from."""
    told = [f"{SOURCES[key]}: {source}" for key, source in material.sources if key in SOURCES]
    return "; ".join(told) or material.source


SOURCES = {
    "pack_size": "pack",
    "pack_kg": "weight",
    "kg_per_m2": "weight",
    "sizes_mm": "sheets",
    "lengths_m": "lengths",
    "kg_per_m2_mm": "coverage",
    "waste": "waste",
}
"""Values of data/materials.toml that the sheet shows, in the sheet's words."""
