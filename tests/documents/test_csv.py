"""The quantities as CSV, read back with two independent readers."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pandas
import pytest

from takeoff.documents.csv_document import CSV_COLUMNS, to_csv
from takeoff.record import Takeoff
from tests.documents import building
from tests.documents.building import DEEP, HEIGHTS, WIDE

DANGEROUS = ("=1+1", "+1", "-1", "@A1", "\t=1", '=cmd|"/c calc"!A1')
"""Beginnings that a spreadsheet takes for a formula: OWASP, CSV injection."""


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline="")))


def test_figures_are_those_measured(two_rooms: Takeoff) -> None:
    table = pandas.read_csv(io.BytesIO(to_csv(two_rooms).encode("utf-8")))
    walls = table[table["item"] == "walls"]
    assert list(walls["gross"]) == pytest.approx([2 * (WIDE + DEEP) * high for high in HEIGHTS])
    assert list(table["net"]) == pytest.approx([q.net for q in two_rooms.measured.quantities], abs=5e-4)


def test_lines_end_as_rfc_4180_says_and_every_row_is_whole(two_rooms: Takeoff) -> None:
    text = to_csv(building.with_names(two_rooms, 'a "wide", one', "two\nlines"))
    assert text.startswith("\ufeffplan,")
    assert text.endswith("\r\n")
    assert [row["name"] for row in rows_of(text)][:1] == ['a "wide", one']
    assert all(set(row) == set(CSV_COLUMNS) for row in rows_of(text))


@pytest.mark.parametrize("name", DANGEROUS)
def test_no_cell_begins_a_formula(two_rooms: Takeoff, name: str) -> None:
    for row in rows_of(to_csv(building.with_names(two_rooms, name))):
        for column, cell in row.items():
            if column not in ("gross", "deducted", "net"):
                assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
        assert row["name"] == f"'{name}"


def test_negative_figures_stay_figures(two_rooms: Takeoff) -> None:
    quantity = replace(two_rooms.measured.quantities[0], net=-1.5)
    measured = replace(two_rooms.measured, quantities=(quantity,))
    assert rows_of(to_csv(replace(two_rooms, measured=measured)))[0]["net"] == "-1.500"


def test_same_takeoff_same_text(two_rooms: Takeoff) -> None:
    assert to_csv(two_rooms) == to_csv(building.takeoff(2))
