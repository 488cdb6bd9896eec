"""Where each key, table and row of a TOML text stands, so that one can be changed and the rest left as it is.

Terms:
  statement  a heading ``[rooms.R1]``, a row's heading ``[[split]]``, or one ``key = value``, which may run over lines.
  span       the characters of a statement from the start of its first line to the end of its last, line break included.
  remark     from ``#`` to the end of the line.

The text must be TOML that ``tomllib`` reads: nothing is checked again here. A well-kept library for editing TOML was
tried first; it moves tables that do not stand together and drops the remarks of what is taken away.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

__all__ = [
    "Path", "Statement", "names_in", "remarked", "remarks_in", "row_statements", "statements", "under",
]  # fmt: skip

Path = tuple[str, ...]

_NAME = re.compile(r"""\s*("(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)\s*""")
_TOKEN = re.compile(
    r'''"""(?:[^\\]|\\.)*?"{3,5}(?!")|\'\'\'.*?\'{3,5}(?!\')|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|\#[^\n]*|[\[\]{}\n]''', re.S
)
"""What matters for the end of a value: texts, remarks, brackets and line breaks."""


@dataclass(frozen=True, slots=True)
class Statement:
    kind: str
    """'table', 'row' or 'key'."""
    path: Path
    """Of a key, with its table's path before it."""
    start: int
    end: int
    """The span."""
    value: tuple[int, int] = (0, 0)
    """Where the value of a key stands."""
    block: int = -1
    """Number of the heading it stands under among the statements; its own number for a heading; -1 above them all."""


def statements(text: str) -> list[Statement]:
    """The statements of `text` in order."""
    found: list[Statement] = []
    table: Path = ()
    block, at = -1, 0
    while at < len(text):
        stop = _line_end(text, at)
        line = text[at:stop].strip()
        if not line or line.startswith("#"):
            at = stop
            continue
        first = at + len(text[at:stop]) - len(text[at:stop].lstrip())
        if line.startswith("["):
            row = line.startswith("[[")
            table, _ = _dotted(text, first + (2 if row else 1))
            block = len(found)
            found.append(Statement("row" if row else "table", table, at, stop, block=block))
        else:
            names, equals = _dotted(text, first)
            value, stop = _value(text, equals + 1)
            found.append(Statement("key", table + names, at, stop, value, block))
        at = stop
    return found


def remarks_in(text: str) -> list[str]:
    """The remarks in a piece of TOML, in order."""
    return [m.group().rstrip() for m in _TOKEN.finditer(text) if m.group().startswith("#")]


def _line_end(text: str, at: int) -> int:
    """Just past the line break of the line that holds `at`."""
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


def _dotted(text: str, at: int) -> tuple[Path, int]:
    """The dotted key that begins at `at`, and where it ends."""
    names: list[str] = []
    while match := _NAME.match(text, at):
        names.append(_plain(match.group(1)))
        at = match.end()
        if text[at : at + 1] != ".":
            break
        at += 1
    return tuple(names), at


def _plain(name: str) -> str:
    """A key as it is meant: quotes and escapes resolved."""
    return str(tomllib.loads(f"x = {name}")["x"]) if name[0] in "\"'" else name


def _value(text: str, at: int) -> tuple[tuple[int, int], int]:
    """The value that begins after `at`: its span, and where its last line ends."""
    start = at + len(text[at:]) - len(text[at:].lstrip(" \t"))
    end, depth = start, 0
    for token in _TOKEN.finditer(text, start):
        mark = token.group()
        if mark == "\n" and not depth:
            return (start, _trimmed(text, start, end, token.start())), token.end()
        if mark.startswith("#") and not depth:
            return (start, _trimmed(text, start, end, token.start())), _line_end(text, token.start())
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(mark, 0)
        end = token.end()
    return (start, _trimmed(text, start, end, len(text))), len(text)


def _trimmed(text: str, start: int, end: int, stop: int) -> int:
    """The end of the value between `start` and `stop`, blanks after it left off."""
    return start + len(text[start : max(stop, end)].rstrip())


def under(found: Sequence[Statement], path: Path) -> Iterator[int]:
    """Numbers of the statements at or below `path`."""
    return (n for n, s in enumerate(found) if s.path[: len(path)] == path)


def row_statements(found: Sequence[Statement], table: Path, index: int) -> list[int]:
    """Numbers of the statements that make up a row, tables below it included; none where it is not spelled out."""
    headings = [n for n, s in enumerate(found) if s.kind == "row" and s.path == table]
    if index >= len(headings):
        return []
    own = [headings[index]]
    for n in range(headings[index] + 1, len(found)):
        if (found[n].kind == "row" and found[n].path == table) or found[n].path[: len(table)] != table:
            break
        own.append(n)
    return own


def names_in(text: str, statement: Statement) -> list[tuple[int, int, int]]:
    """The names that a statement spells out: number in its path, start and end in the text, quotes included."""
    line = text[statement.start : statement.end]
    at = statement.start + len(line) - len(line.lstrip())
    at += {"key": 0, "table": 1, "row": 2}[statement.kind]
    spans: list[tuple[int, int]] = []
    while match := _NAME.match(text, at):
        spans.append(match.span(1))
        at = match.end()
        if text[at : at + 1] != ".":
            break
        at += 1
    first = len(statement.path) - len(spans)
    return [(first + n, *span) for n, span in enumerate(spans)]


def remarked(text: str, gone: Sequence[Statement], why: str) -> str:
    """The text with some statements made remarks where they stand, a line before them saying `why`."""
    for n, s in reversed(list(enumerate(gone))):
        lines = text[s.start : s.end].splitlines(keepends=True)
        body = "".join(line if line.lstrip().startswith("#") else f"# {line}" for line in lines)
        head = f"# {why}" + ("\r\n" if "\r\n" in text else "\n") if n == 0 else ""
        text = text[: s.start] + head + body + text[s.end :]
    return text
