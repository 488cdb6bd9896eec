"""MTEXT as it stands on the sheet: its paragraphs wrapped by the width of its box, its columns, its inline heights.

Terms:
  chunk       a word with the spaces behind it: what a line may end after. Chinese, Japanese and Korean characters are
              chunks of their own.
  paragraph   what ends at ``\\P``; it is wrapped into as many printed lines as its box makes of it.
  depth       how far something lies below the top of its column, along the text's own turned axis.

Fonts are not at hand on every machine, so that widths are those of common sans-serif faces (`printed_width`). Where
the file says how high the whole text stands, the number of lines follows from it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from ezdxf.tools.text import MTextContext, MTextParser, TokenType

from takeoff.drawing.words import fractions_apart, fractions_marked, paragraphs, readable

__all__ = ["LINE_STEP", "TAB", "Box", "Printed", "box_of", "printed_lines", "printed_width"]

_UPPER, _LOWER, _SPACE, _WIDE = 0.93, 0.76, 0.39, 1.35
"""Advance of a character per height of a capital: upper case, lower case and digits, space, CJK.
From the metrics of common sans-serif faces (capital 0.716 em; from memory): good enough to find a text's middle."""
_CJK = 0x2E7F
"""Characters after this one are as wide as high, and a line may end after each of them."""
_PIECES = re.compile(rf"[{chr(_CJK + 1)}-\U0010ffff] *|[^ {chr(_CJK + 1)}-\U0010ffff]+ *| +")
LINE_STEP = 5.0 / 3.0
"""MTEXT lines stand 5/3 of the text height apart at spacing factor 1 (DXF reference, MTEXT group 44)."""
TAB = "    "
"""What stands for a tab in the words of a text, as ezdxf writes it."""
_SLACK = (1.15, 1.0, 1.3, 0.9, 1.5, 0.8, 0.7)
"""Widths of the box tried, as shares: the first where nothing else is known, since many faces are narrower than
`printed_width` says; the others until the number of lines is that which the file's height of the text makes."""
_LAID_OUT = 2_000
"""Characters of a text that are laid out; a longer one is a page of notes, read paragraph by paragraph."""
_LEFT, _RIGHT, _CENTRE = 1, 2, 3
"""Alignments of a paragraph (inline code ``\\pxq``), as ezdxf numbers them; any other is as the text is attached."""


@dataclass(frozen=True, slots=True)
class Box:
    """What a text is printed into; lengths in drawing units."""

    height: float
    """Of a capital, where nothing else is said inline."""
    width: float = math.inf
    """Of a column, inf for one that does not wrap."""
    spacing: float = 1.0
    """Line spacing factor."""
    columns: int = 1
    gutter: float = 0.0
    depths: tuple[float, ...] = ()
    """Of the columns; empty where nothing but a break ends one."""
    printed_height: float = 0.0
    """Of the whole text as the file has it, 0 where it does not."""
    narrow: float = 1.0
    """Width factor of the text style."""


@dataclass(frozen=True, slots=True)
class Printed:
    """One printed line. `along` and `depth` are those of its middle, from the top left corner of the first column."""

    value: str
    width: float
    height: float
    wraps: bool = False
    """It goes on from the line before it, in the same paragraph."""
    align: int = 0
    along: float = 0.0
    depth: float = 0.0


@dataclass(frozen=True, slots=True)
class _Chunk:
    text: str
    width: float
    """Without the spaces behind it, `space` wide."""
    space: float
    height: float


@dataclass(frozen=True, slots=True)
class _Paragraph:
    chunks: tuple[_Chunk, ...]
    align: int
    breaks: bool = False
    """The next one begins a new column."""


def printed_width(value: str, height: float) -> float:
    """Approximate width of `value` printed at `height`."""
    width = 0.0
    for c in value:
        if c == " ":
            width += _SPACE
        elif ord(c) > _CJK:
            width += _WIDE
        else:
            width += _UPPER if c.isupper() else _LOWER
    return width * height


def printed_lines(raw: str, box: Box, attached: int, encoding: str = "") -> tuple[list[Printed], tuple[float, float]]:
    """The printed lines of an MTEXT with content `raw`, empty ones left out, and the width and depth of the whole.

    `attached` is the column of the attachment point: 0 left, 1 centre, 2 right.
    """
    found = _paragraphs(readable(raw, encoding), box.height, encoding)
    lines = _wrapped(found, box)
    widest = max((line.width for line, _ in lines), default=0.0)
    one = box.width if math.isfinite(box.width) else widest
    placed, depth, columns = _placed(lines, box, one, attached)
    return placed, (columns * one + (columns - 1) * box.gutter, depth)


def _paragraphs(raw: str, height: float, encoding: str) -> list[_Paragraph]:
    """The paragraphs of a `readable` text, `height` high where nothing else is said inline."""
    if len(raw) > _LAID_OUT or not any(sign in raw for sign in "\\{"):
        return [_Paragraph(tuple(_chunks([(line, height, 1.0)])), 0) for line in paragraphs(raw, encoding)]
    return list(_parsed(fractions_marked(raw), height))


def _parsed(raw: str, height: float) -> Iterator[_Paragraph]:
    looks = MTextContext()
    looks.cap_height = height
    spaces = {TokenType.SPACE: " ", TokenType.NBSP: " ", TokenType.TABULATOR: TAB}
    runs: list[tuple[str, float, float]] = []
    align = 0
    for token in MTextParser(raw, looks):
        kind, looks = token.type, token.ctx
        if kind in (TokenType.NEW_PARAGRAPH, TokenType.NEW_COLUMN):
            yield _Paragraph(tuple(_chunks(runs)), align, kind == TokenType.NEW_COLUMN)
            runs = []
            continue
        if kind == TokenType.WORD:
            text = token.data
        elif kind == TokenType.STACK:
            upper, lower, divider = token.data
            text = f"{upper}/{lower}" if divider else upper
        else:
            text = spaces.get(kind, "")
        align = int(looks.paragraph.align)
        runs.append((text, looks.cap_height, looks.width_factor * looks.char_tracking_factor))
    yield _Paragraph(tuple(_chunks(runs)), align)


def _chunks(runs: Iterable[tuple[str, float, float]]) -> Iterator[_Chunk]:
    """Chunks of `runs` of text, each with its height and its width factor."""
    last: _Chunk | None = None
    for run, height, factor in runs:
        for piece in _PIECES.findall(run):
            word = piece.rstrip(" ")
            space = (len(piece) - len(word)) * _SPACE * height * factor
            chunk = _Chunk(piece, printed_width(word, height * factor), space, height if word else 0.0)
            if last is None:
                last = chunk
            elif _parts(last.text, word):
                yield last
                last = chunk
            else:
                last = _Chunk(
                    last.text + piece, last.width + chunk.width, last.space + space, max(last.height, chunk.height)
                )
    if last:
        yield last


def _parts(before: str, word: str) -> bool:
    """May a line end between what stands `before` and a `word`?"""
    return bool(word) and (before.endswith(" ") or ord(before[-1]) > _CJK or ord(word[0]) > _CJK)


def _wrapped(found: Sequence[_Paragraph], box: Box) -> list[tuple[Printed, bool]]:
    """The printed lines and whether a column ends after each."""
    if not math.isfinite(box.width):
        return _all_lines(found, box, math.inf)
    if not box.printed_height:
        return _all_lines(found, box, box.width * _SLACK[0])
    wanted = 1 + round((box.printed_height / box.height - 1) / (LINE_STEP * box.spacing))
    tries = (_all_lines(found, box, box.width * share) for share in _SLACK)
    return min(tries, key=lambda lines: abs(len(lines) - wanted))


def _all_lines(found: Sequence[_Paragraph], box: Box, width: float) -> list[tuple[Printed, bool]]:
    limit = width / box.narrow
    lines: list[tuple[Printed, bool]] = []
    for paragraph in found:
        rows = list(_rows(paragraph.chunks, limit))
        for n, row in enumerate(rows):
            lines.append((_printed(row, box, n > 0, paragraph.align), paragraph.breaks and n == len(rows) - 1))
    return lines


def _rows(chunks: Sequence[_Chunk], limit: float) -> Iterator[list[_Chunk]]:
    """Chunks line by line, none wider than `limit` save where one chunk alone is."""
    row: list[_Chunk] = []
    used = 0.0
    for chunk in chunks:
        if row and used + chunk.width > limit:
            yield row
            row, used = [], 0.0
        row.append(chunk)
        used += chunk.width + chunk.space
    yield row


def _printed(row: Sequence[_Chunk], box: Box, wraps: bool, align: int) -> Printed:
    value = fractions_apart("".join(chunk.text for chunk in row))
    width = sum(chunk.width + chunk.space for chunk in row) - (row[-1].space if row else 0.0)
    height = max((chunk.height for chunk in row), default=0.0) or box.height
    return Printed(value, width * box.narrow, height, wraps, align)


def _placed(
    lines: Sequence[tuple[Printed, bool]], box: Box, one: float, attached: int
) -> tuple[list[Printed], float, int]:
    """Each line where it stands in columns of width `one`; the depth of the deepest column; how many columns."""
    placed: list[Printed] = []
    column, base, deepest = 0, 0.0, 0.0
    end = _ends(box)
    for line, breaks in lines:
        step = line.height if base == 0 else LINE_STEP * box.spacing * line.height
        if base and base + step > end(column) and column + 1 < box.columns:
            column, base, step = column + 1, 0.0, line.height
        base += step
        deepest = max(deepest, base)
        if line.value:
            along = column * (one + box.gutter) + _along(line, one, attached)
            depth = base - line.height / 2
            placed.append(Printed(line.value, line.width, line.height, line.wraps, line.align, along, depth))
        if breaks:
            column, base = column + 1, 0.0
    return placed, deepest, max(box.columns, column + 1 if base else column, 1)


def _ends(box: Box) -> Callable[[int], float]:
    """The depth at which each column ends."""
    depths = box.depths
    return lambda column: (depths[min(column, len(depths) - 1)] or math.inf) if depths else math.inf


def _along(line: Printed, one: float, attached: int) -> float:
    """Middle of a line in a column of width `one`."""
    place = {_LEFT: 0, _CENTRE: 1, _RIGHT: 2}.get(line.align, attached)
    return {0: line.width / 2, 1: one / 2, 2: one - line.width / 2}[place]


def box_of(entity: Any, have: dict[str, Any], narrow: float) -> Box:
    """The box of an MTEXT whose attributes are `have` and whose text style is `narrow` times as wide."""
    height = have.get("char_height", 1.0)
    width = have.get("width", 0.0) or math.inf
    spacing = have.get("line_spacing_factor", 1.0)
    columns = entity.columns if entity.has_columns else None
    if columns is None or columns.linked_columns:
        known = have.get("rect_height", 0.0) or 0.0
        return Box(height, width if width > height else math.inf, spacing, printed_height=known, narrow=narrow)
    depths = tuple(columns.heights) or ((columns.defined_height,) if columns.defined_height else ())
    count, gutter = max(1, columns.count), columns.gutter_width
    return Box(height, columns.width or width, spacing, count, gutter, depths, 0.0, narrow)
