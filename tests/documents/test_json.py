"""The JSON against its schema, the contract's names and the documentation."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from takeoff.documents.json_document import as_document, to_json
from takeoff.job import Job
from takeoff.pipeline import take_off
from takeoff.record import Takeoff
from tests.documents import building
from tests.documents.priced import priced

DOCS = Path(__file__).parents[2] / "docs"
SCHEMA = json.loads((DOCS / "takeoff.schema.json").read_text(encoding="utf-8"))


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_output_fits_the_schema(four_rooms: Takeoff) -> None:
    jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(to_json(four_rooms)))


@pytest.mark.parametrize("key", ["rooms", "openings", "quantities", "materials", "queries"])
def test_the_schema_refuses_a_wrong_document(four_rooms: Takeoff, key: str) -> None:
    document = json.loads(to_json(four_rooms))
    document[key][0]["no-such-key"] = 1
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(SCHEMA).validate(document)


def test_coordinates_are_drawing_coordinates_times_the_unit(two_rooms: Takeoff) -> None:
    """The fixture's drawing has its rooms at (1 000 000, 2 000 000) mm; R1 begins there."""
    room = as_document(two_rooms)["rooms"][0]
    assert room["outline"] == [[1000.0, 2000.0], [1004.2, 2000.0], [1004.2, 2003.0], [1000.0, 2003.0]]


def test_queries_point_at_rooms_and_back(two_rooms: Takeoff) -> None:
    document = as_document(two_rooms)
    asked = {query["ref"]: query["about"] for query in document["queries"]}
    for room in document["rooms"]:
        assert room["queries"] == [ref for ref, about in asked.items() if room["ref"] in about]


def test_nothing_but_rows_and_scalars_on_a_line(two_rooms: Takeoff) -> None:
    lines = to_json(two_rooms).splitlines()
    assert sum(line.startswith('{"ref":"R') for line in lines) >= 2


def test_hostile_names_are_written_as_text(two_rooms: Takeoff) -> None:
    text = to_json(building.with_names(two_rooms, "\udcff\x00", "a\u2028b"))
    text.encode("utf-8")
    assert json.loads(text)["rooms"][0]["name"] == "\ufffd\ufffd"


@pytest.mark.parametrize("number", [math.nan, math.inf])
def test_what_is_no_number_is_refused(two_rooms: Takeoff, number: float) -> None:
    """JSON (RFC 8259, section 6) has no word for it; nothing may be written in its place."""
    first, *others = two_rooms.measured.rooms
    measured = replace(two_rooms.measured, rooms=(replace(first, ceiling_m2=number), *others))
    with pytest.raises(ValueError, match="no quantity"):
        to_json(replace(two_rooms, measured=measured))


def test_same_takeoff_same_text(two_rooms: Takeoff) -> None:
    assert to_json(two_rooms) == to_json(building.takeoff(2))


def keys_of(value: Any, path: str = "") -> set[str]:
    """Every key of a document, dotted: ``rooms.outline``."""
    if isinstance(value, list):
        return set().union(*(keys_of(item, path) for item in value)) if value else set()
    if not isinstance(value, dict) or path == "layers":
        return set()
    found = set()
    for key, inner in value.items():
        name = f"{path}.{key}" if path else key
        found |= {name} | keys_of(inner, name)
    return found


def test_every_key_is_described(four_rooms: Takeoff) -> None:
    described = set(re.findall(r"^\| `([\w.]+)` \|", (DOCS / "json.md").read_text(encoding="utf-8"), re.MULTILINE))
    assert keys_of(as_document(four_rooms)) - described == set()
    assert described - keys_of(example_of(SCHEMA)) == set()


def example_of(schema: dict[str, Any]) -> Any:
    """The schema as a document that has every key."""
    if schema.get("type") == "array" or "items" in schema:
        return [example_of(schema["items"])]
    if "$ref" in schema:
        return example_of(SCHEMA["$defs"][schema["$ref"].rsplit("/", 1)[1]])
    return {key: example_of(inner) for key, inner in schema.get("properties", {}).items()}


@pytest.mark.parametrize("sample", sorted((DOCS.parent / "samples").glob("*.dxf")), ids=lambda p: p.stem)
def test_real_output_fits_the_schema(sample: Path) -> None:
    text = to_json(take_off(sample, Job()))
    jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(text))


def test_a_priced_takeoff_fits_the_schema() -> None:
    document = json.loads(to_json(priced(2)))
    jsonschema.Draft202012Validator(SCHEMA).validate(document)
    assert document["price"]["total"]
    assert document["programme"]["days"] > 0
