"""The picture for the person who fixes the boards: whole XML, every piece labelled, nothing outside the page."""

from __future__ import annotations

import re
from collections import Counter
from xml.etree import ElementTree

import pytest

from takeoff.documents.board_picture import board_pictures
from takeoff.job import job_from
from takeoff.materials.boards import BoardLayout, board_spec, lay_boards

from .rooms import house

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def layout() -> BoardLayout:
    return lay_boards(house(), board_spec("board-12-5", 12.5, "timber", job_from({})))


@pytest.fixture(scope="module")
def pictures(layout: BoardLayout) -> dict[str, str]:
    return board_pictures([layout], house(), {"R1": "LIVING & <DINING>"}, {"board-12-5": "Plasterboard 12.5 mm"})


def test_one_picture_for_each_room_and_all_of_them_well_formed(layout: BoardLayout, pictures: dict[str, str]) -> None:
    assert set(pictures) == set(layout.rooms())
    for svg in pictures.values():
        ElementTree.fromstring(svg)
    assert "LIVING &amp; &lt;DINING&gt;" in pictures["R1"]


def test_every_piece_of_a_room_is_drawn_and_labelled(layout: BoardLayout, pictures: dict[str, str]) -> None:
    for room, svg in pictures.items():
        pieces = [p for own in layout.surfaces.values() if own.room == room for p in own.pieces]
        texts = Counter(t.text for t in ElementTree.fromstring(svg).iter(f"{SVG}text") if t.get("class") != "halo")
        drawn = re.findall(r'class="piece (?:whole|cut|off)" fill-rule', svg)
        assert len(drawn) >= len(pieces)
        for piece in pieces:
            sheet = layout.sheets[piece.sheet - 1]
            letter = ""
            if len(sheet.pieces) > 1:
                letter = chr(97 + [p.piece for p in sheet.pieces].index(piece.ref))
            assert texts[f"{piece.sheet}{letter}"] >= 1, piece.ref


def test_off_cuts_say_where_the_rest_of_the_sheet_is(layout: BoardLayout, pictures: dict[str, str]) -> None:
    rooms = {p.ref: p.room for own in layout.surfaces.values() for p in own.pieces}
    for sheet in layout.sheets:
        for placed in sheet.pieces:
            for other in sheet.pieces:
                if rooms[other.piece] != rooms[placed.piece]:
                    assert f": {other.piece.rsplit('-', 1)[0]}<" in pictures[rooms[placed.piece]]


def test_nothing_lies_outside_the_page(pictures: dict[str, str]) -> None:
    for svg in pictures.values():
        root = ElementTree.fromstring(svg)
        width, height = float(root.get("width", 0)), float(root.get("height", 0))
        for path in root.iter(f"{SVG}path"):
            if path.get("class", "").startswith(("piece", "opening", "waste", "framing")):
                numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", path.get("d", ""))]
                assert all(-0.01 <= x <= width for x in numbers[::2])
                assert all(-0.01 <= y <= height for y in numbers[1::2])


def test_black_and_white_only(pictures: dict[str, str]) -> None:
    for svg in pictures.values():
        assert set(re.findall(r"#[0-9a-fA-F]{3,6}\b", svg)) == {"#000", "#fff"}


def test_the_same_layout_gives_the_same_picture(layout: BoardLayout, pictures: dict[str, str]) -> None:
    again = board_pictures([layout], house(), {"R1": "LIVING & <DINING>"}, {"board-12-5": "Plasterboard 12.5 mm"})
    assert again == pictures
