"""Every figure shipped for the trade says where it comes from, or that it is common practice or from memory."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from takeoff.data import load

TABLES = ("beads", "boards", "build_ups", "cautions", "labour", "materials", "tolerances")
STATUS = ("seen", "memory", "common practice", "own judgement", "NBS-based", "NHBC", ".com", "lecture")
"""What a source may say: read in the text named, or one of the kinds of knowledge that need a check."""


def _said_of(key: str, table: dict[str, Any], above: str) -> str:
    """The source of `key` in its table: its own, that of the keys it begins like, or the table's."""
    own = table.get("source", "")
    if isinstance(own, dict):
        own = own.get(key, "")
    stems = [name.removesuffix("_source") for name in table if name.endswith("_source")]
    fits = [stem for stem in stems if key.startswith(stem)]
    return str(table[f"{max(fits, key=len)}_source"]) if fits else str(own or above)


def _figures(path: str, table: dict[str, Any], above: str = "") -> Iterator[tuple[str, str]]:
    """(where it stands, its source) of every number in `table` and the tables within it."""
    for key, value in table.items():
        if key == "source" or key.endswith("_source"):
            continue
        source, place = _said_of(key, table, above), f"{path}.{key}"
        rows = value if isinstance(value, list) else [value]
        for number, row in enumerate(rows):
            if isinstance(row, dict):
                yield from _figures(f"{place}.{number}" if isinstance(value, list) else place, row, source)
            elif isinstance(row, int | float) and not isinstance(row, bool):
                yield place, source


@pytest.mark.parametrize("name", TABLES)
def test_every_figure_has_its_source(name: str) -> None:
    lacking = {place: source for place, source in _figures(name, load(name)) if not any(w in source for w in STATUS)}
    assert not lacking


def test_a_figure_without_a_source_is_found() -> None:
    """The check itself fails where it should."""
    table = {"a": {"length_mm": 3, "width_mm": 4, "width_source": "from memory"}, "b": [{"waste": 5}]}
    assert dict(_figures("t", table)) == {"t.a.length_mm": "", "t.a.width_mm": "from memory", "t.b.0.waste": ""}
