"""Documented or it does not exist: options, job keys, kinds of query, workbook columns."""

from __future__ import annotations

import io
import re
import typing
from collections.abc import Iterator
from pathlib import Path

import click
import openpyxl
import pytest

from takeoff.cli import main
from takeoff.data import load
from takeoff.documents.workbook import write_workbook
from takeoff.job import Job
from takeoff.job_tables import Table
from tests.documents.priced import priced

DOCS = Path(__file__).parents[1] / "docs"
HEADING_GROUND = "FFE4E4E4"
"""Ground of a heading cell in the workbook."""


def sections(document: str) -> dict[str, str]:
    """Text under each ``## heading`` of a document in docs/."""
    parts = re.split(r"^## +(.+?) *$", (DOCS / document).read_text(encoding="utf-8"), flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def named(section: str) -> set[str]:
    """What a section describes: names in backquotes in the first cell of a table's row, or at the head of a point."""
    cells = re.findall(r"^\|([^|]+)\|", section, re.MULTILINE) + re.findall(r"^- (`[^`]+`):", section, re.MULTILINE)
    return {name for cell in cells for name in re.findall(r"`([^`]+)`", cell)}


def commands(group: click.Command, name: str) -> Iterator[tuple[str, click.Command]]:
    yield name, group
    if isinstance(group, click.Group):
        for inner, command in group.commands.items():
            yield from commands(command, f"{name} {inner}")


@pytest.mark.parametrize(
    ("name", "command"), list(commands(main, "takeoff")), ids=lambda v: v if isinstance(v, str) else ""
)
def test_every_option_is_described(name: str, command: click.Command) -> None:
    described = sections("commands.md")
    assert name in described, f"docs/commands.md has no section '## {name}'"
    options = {opt for p in command.params if isinstance(p, click.Option) for opt in (*p.opts, *p.secondary_opts)}
    assert options - named(described[name]) == set()


def test_no_option_is_described_that_is_not_there() -> None:
    known = dict(commands(main, "takeoff"))
    for name, text in sections("commands.md").items():
        assert name in known, f"docs/commands.md describes '{name}', which is no command"
        options = {opt for p in known[name].params for opt in (*p.opts, *p.secondary_opts)} | {"--help", "-h"}
        assert {n for n in named(text) if n.startswith("-")} - options == set()


def test_every_kind_of_query_is_described() -> None:
    assert set(load("queries")) - set(sections("queries.md")) == set()


def test_no_kind_of_query_is_described_that_is_never_asked() -> None:
    assert {heading for heading in sections("queries.md") if re.fullmatch(r"[a-z0-9-]+", heading)} <= set(
        load("queries")
    )


def inner_tables(annotation: object) -> Iterator[type[Table]]:
    """The tables in a field's type: ``dict[str, RoomRow]`` holds `RoomRow`."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    for part in typing.get_args(annotation):
        yield from inner_tables(part)


def keys(table: type[Table], place: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    """(place, key) of every key of a table of the job file and of the tables in it: ``(("rooms", "slope"), "run")``."""
    for python_name, field in table.model_fields.items():
        name = field.alias or python_name
        inner = list(inner_tables(field.annotation))
        if inner or place:
            yield place, name
        for model in inner:
            yield from keys(model, (*place, name))


WANTED = {(place, key) for place, key in keys(Job, ()) if place}


def described_keys() -> set[tuple[tuple[str, ...], str]]:
    """What docs/job-file.md describes under ``## [rooms.R1]``, ``## [rooms.R1.slope]``, ``## [[price.markups]]``."""
    places = {place for place, _ in WANTED}
    found = set()
    for heading, text in sections("job-file.md").items():
        names = re.findall(r'"[^"]*"|[\w-]+', heading)
        fits = [place for place in ((names[0], *names[-1:]), (names[0],)) if place in places]
        assert fits, f"docs/job-file.md has a section {heading}, which is no table"
        found |= {(fits[0], key.removeprefix(f"{fits[0][-1]}.")) for key in named(text)}
    return found


@pytest.mark.parametrize("table", Job.model_fields)
def test_every_key_of_the_job_file_is_described(table: str) -> None:
    missing = {(place, key) for place, key in WANTED - described_keys() if place[0] == table}
    assert missing == set()


def test_no_key_is_described_that_the_job_file_has_not() -> None:
    assert described_keys() - WANTED == set()


def test_every_column_of_the_workbook_is_described() -> None:
    takeoff = priced(2, alternatives=[{"name": "hack off and rebuild", "hack_off": True}])
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(takeoff)))
    described = {heading: named(text) for heading, text in sections("workbook.md").items()}
    assert set(book.sheetnames) == set(described)
    materials = {line.material.title for line in takeoff.order.lines}
    for sheet in book.worksheets:
        headings = {
            str(cell.value)
            for row in sheet.iter_rows()
            for cell in row
            if cell.value is not None and cell.font.bold and cell.fill.fgColor.rgb == HEADING_GROUND
        }
        shown = {h for h in headings if not h.isdigit() and not any(h.startswith(f"{m} (") for m in materials)}
        assert shown, sheet.title
        assert shown - described[sheet.title] == set(), sheet.title
        assert described[sheet.title] - shown == set(), sheet.title
