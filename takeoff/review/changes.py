"""Changes to the text of a job file: what is said is changed, all else stays letter by letter.

A change is a mapping:

    {"op": "set",    "key": ["rooms", "R1", "height"], "value": 2.7}
    {"op": "unset",  "key": ["rooms", "R1", "height"]}
    {"op": "add",    "table": ["split"], "row": {...}}              a row more in [[split]]
    {"op": "change", "table": ["findings"], "index": 2, "row": {...}}   the row is then this, whole
    {"op": "remove", "table": ["split"], "index": 0}

Rows are counted in the order of the file from 0. No remark is ever lost: that of a line taken away stays on a line
of its own. Whether the job that comes out makes sense is for `takeoff.job` to say.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from takeoff.documents.toml_text import toml_key, toml_value
from takeoff.errors import JobError
from takeoff.review.toml_places import Path, Statement, remarks_in, row_statements, statements, under

__all__ = ["Change", "apply"]

Change = Mapping[str, Any]


def apply(text: str, changes: Sequence[Change]) -> str:
    """`text` with the `changes` made one after the other.

    Raises `JobError` with one sentence for a change that is none, a row that is not there, or a text that is no TOML.
    """
    for change in changes:
        _parsed(text)
        text = _applied(text, change)
    _parsed(text)
    return text


def _parsed(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise JobError(f"The job file cannot be read: {fault}. Mend that line in an editor first.") from None


def _applied(text: str, change: Change) -> str:
    op = change.get("op")
    if op == "set":
        return _set(text, _path(change, "key"), _wanted(change, "value"))
    if op == "unset":
        return _unset(text, _path(change, "key"))
    if op == "add":
        return _add(text, _path(change, "table"), _row(change))
    if op == "change":
        return _change(text, _path(change, "table"), _index(change), _row(change))
    if op == "remove":
        return _remove(text, _path(change, "table"), _index(change))
    raise JobError(f"{op!r} is no change to a job file; right would be: set, unset, add, change or remove.")


def _wanted(change: Change, part: str) -> Any:
    if change.get(part) is None:
        raise JobError(f"The change {change.get('op')!r} needs a {part}.")
    return change[part]


def _path(change: Change, part: str) -> Path:
    names = _wanted(change, part)
    if not isinstance(names, Sequence) or isinstance(names, str) or not names:
        raise JobError(f"The {part} of a change is a list of names, not {names!r}.")
    if not all(isinstance(n, str) for n in names):
        raise JobError(f"Each name in the {part} of a change is a text, which {list(names)!r} are not.")
    return tuple(names)


def _row(change: Change) -> dict[str, Any]:
    row = _wanted(change, "row")
    if not isinstance(row, Mapping):
        raise JobError(f"The row of a change is a table of keys and values, not {row!r}.")
    return {str(k): v for k, v in row.items() if v is not None}


def _index(change: Change) -> int:
    index = _wanted(change, "index")
    if not isinstance(index, int) or isinstance(index, bool) or index < 0:
        raise JobError(f"The index of a change is a row's number from 0, not {index!r}.")
    return index


# -- single keys ------------------------------------------------------------------------------------------------------


def _set(text: str, path: Path, value: Any) -> str:
    found = statements(text)
    _no_rows_on_the_way(found, path)
    for s in found:
        if s.kind == "key" and s.path == path:
            return _with_value(text, s, value)
        if s.kind == "key" and path[: len(s.path)] == s.path:
            return _with_value(text, s, _deep_set(_read(text, s), path[len(s.path) :], value))
    if any(under(found, path)):
        text = _unset(text, path)
        found = statements(text)
    return _new_key(text, found, path, value)


def _no_rows_on_the_way(found: Sequence[Statement], path: Path) -> None:
    for s in found:
        if s.kind == "row" and path[: len(s.path)] == s.path:
            raise JobError(f"{toml_key(*s.path)} is a list of rows: change a row of it by its number.")


def _with_value(text: str, statement: Statement, value: Any) -> str:
    """The text with another value in `statement`; remarks inside the old value move to lines above."""
    start, end = statement.value
    above = "".join(_indent(text, statement) + r + _break(text) for r in remarks_in(text[start:end]))
    return text[: statement.start] + above + text[statement.start : start] + toml_value(value) + text[end:]


def _read(text: str, statement: Statement) -> Any:
    return tomllib.loads(f"x = {text[slice(*statement.value)]}")["x"]


def _deep_set(table: Any, path: Path, value: Any) -> Any:
    if not path:
        return value
    if not isinstance(table, dict):
        raise JobError(f"{path[0]} cannot be set: what holds it is no table.")
    return {**table, path[0]: _deep_set(table.get(path[0], {}), path[1:], value)}


def _new_key(text: str, found: Sequence[Statement], path: Path, value: Any) -> str:
    """The text with a key that it does not hold yet, in its table, which is made where there is none."""
    table = path[:-1]
    heading = next((n for n, s in enumerate(found) if s.kind == "table" and s.path == table), None)
    if heading is not None or not table:
        at, margin = _end_of_block(text, found, -1 if heading is None else heading)
        return _inserted(text, at, f"{margin}{toml_key(path[-1])} = {toml_value(value)}")
    if last := _dotted_beside(found, table):
        name = toml_key(*path[_own(found, last) :])
        return _inserted(text, last.end, f"{_indent(text, last)}{name} = {toml_value(value)}")
    lines = [f"[{toml_key(*table)}]", f"{toml_key(path[-1])} = {toml_value(value)}"]
    return _new_block(text, found, table, lines)


def _dotted_beside(found: Sequence[Statement], table: Path) -> Statement | None:
    """The last of the dotted keys, such as ``R1.height`` in [rooms], that make the most of `table`'s path."""
    for depth in range(len(table), 0, -1):
        keys = [s for s in found if s.kind == "key" and s.path[:depth] == table[:depth] and _own(found, s) < depth]
        if keys:
            return keys[-1]
    return None


def _own(found: Sequence[Statement], statement: Statement) -> int:
    """How many names of a key's path stand in the heading above it."""
    return len(found[statement.block].path) if statement.block >= 0 else 0


def _unset(text: str, path: Path) -> str:
    found = statements(text)
    _no_rows_on_the_way(found, path[:-1])
    for s in found:
        if s.kind == "key" and len(s.path) < len(path) and path[: len(s.path)] == s.path:
            return _with_value(text, s, _deep_unset(_read(text, s), path[len(s.path) :]))
    gone = list(under(found, path))
    text = _without(text, [found[n] for n in gone])
    return _without_bare_heading(text, path[:-1]) if gone else text


def _deep_unset(table: Any, path: Path) -> Any:
    if not isinstance(table, dict) or path[0] not in table:
        return table
    rest = {k: v for k, v in table.items() if k != path[0]}
    return rest if len(path) == 1 else {**rest, path[0]: _deep_unset(table[path[0]], path[1:])}


def _without_bare_heading(text: str, table: Path) -> str:
    """A table of one room or opening in which nothing is left, not even a remark, goes too."""
    if len(table) < 2:
        return text
    found = statements(text)
    for n, s in enumerate(found):
        if s.kind == "table" and s.path == table:
            stop = found[n + 1].start if n + 1 < len(found) else len(text)
            last = n + 1 == len(found) or found[n + 1].block != n
            if last and not remarks_in(text[s.start : stop]):
                return _without(text, [s])
    return text


# -- rows -------------------------------------------------------------------------------------------------------------


def _add(text: str, table: Path, row: Mapping[str, Any]) -> str:
    found = statements(text)
    if listed := _inline(found, table):
        return _with_value(text, listed, [*_listed(text, listed), dict(row)])
    _no_rows_on_the_way(found, table[:-1])
    if _dotted_beside(found, table[:-1]) or any(s.kind == "key" and table[: len(s.path)] == s.path for s in found):
        return _set(text, table, [dict(row)])
    lines = [f"[[{toml_key(*table)}]]", *(f"{toml_key(k)} = {toml_value(v)}" for k, v in row.items())]
    rows = _rows(found, table)
    if any(under(found, table)) and not rows:
        raise JobError(f"{toml_key(*table)} is no list of rows.")
    return _new_block(text, found, table, lines)


def _change(text: str, table: Path, index: int, row: Mapping[str, Any]) -> str:
    found = statements(text)
    if listed := _inline(found, table):
        rows = _listed(text, listed)
        _there(table, index, len(rows))
        return _with_value(text, listed, [*rows[:index], dict(row), *rows[index + 1 :]])
    own = _rows(found, table)
    _there(table, index, len(own))
    old = _parsed(text)
    for name in table:
        old = old[name]
    before = old[index]  # type: ignore[index]
    for key in before:
        if key not in row:
            text = _without(text, _of_key(text, table, index, key))
    for key, value in row.items():
        if key not in before or before[key] != value:
            text = _row_key(text, table, index, key, value)
    return text


def _row_key(text: str, table: Path, index: int, key: str, value: Any) -> str:
    """The text with `key` of a row set to `value`."""
    old = _of_key(text, table, index, key)
    if len(old) == 1 and old[0].kind == "key" and old[0].path == (*table, key):
        return _with_value(text, old[0], value)
    text = _without(text, old)
    found = statements(text)
    at, margin = _end_of_block(text, found, _rows(found, table)[index])
    return _inserted(text, at, f"{margin}{toml_key(key)} = {toml_value(value)}")


def _remove(text: str, table: Path, index: int) -> str:
    found = statements(text)
    if listed := _inline(found, table):
        rows = _listed(text, listed)
        _there(table, index, len(rows))
        return _with_value(text, listed, [*rows[:index], *rows[index + 1 :]])
    _there(table, index, len(_rows(found, table)))
    return _without(text, [found[n] for n in row_statements(found, table, index)])


def _inline(found: Sequence[Statement], table: Path) -> Statement | None:
    """The statement that gives the rows as a value, ``split = [{...}]``."""
    return next((s for s in found if s.kind == "key" and s.path == table), None)


def _listed(text: str, statement: Statement) -> list[Any]:
    rows = _read(text, statement)
    if not isinstance(rows, list):
        raise JobError(f"{toml_key(*statement.path)} is no list of rows.")
    return rows


def _rows(found: Sequence[Statement], table: Path) -> list[int]:
    return [n for n, s in enumerate(found) if s.kind == "row" and s.path == table]


def _of_key(text: str, table: Path, index: int, key: str) -> list[Statement]:
    found = statements(text)
    whole = (*table, key)
    return [found[n] for n in row_statements(found, table, index) if found[n].path[: len(whole)] == whole]


def _there(table: Path, index: int, count: int) -> None:
    if index >= count:
        raise JobError(f"{toml_key(*table)} has {count} rows; there is none with number {index + 1}.")


# -- text -------------------------------------------------------------------------------------------------------------


def _break(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _indent(text: str, statement: Statement) -> str:
    line = text[statement.start : statement.end]
    return line[: len(line) - len(line.lstrip(" \t"))]


def _inserted(text: str, at: int, *lines: str) -> str:
    """The text with whole `lines` put in at a line's start."""
    line = _break(text)
    before = text[:at] if not at or text[:at].endswith("\n") else text[:at] + line
    return before + "".join(x + line for x in lines) + text[at:]


def _end_of_block(text: str, found: Sequence[Statement], heading: int) -> tuple[int, str]:
    """Where a key more of a block goes, after its last one, and its margin; the block above all headings is -1."""
    keys = [s for s in found if s.block == heading and s.kind == "key"]
    if keys:
        return keys[-1].end, _indent(text, keys[-1])
    return (found[heading].end, _indent(text, found[heading])) if heading >= 0 else (0, "")


def _new_block(text: str, found: Sequence[Statement], path: Path, lines: Sequence[str]) -> str:
    """The text with a heading and its keys after the last of their like, else at the end."""
    like = list(under(list(found), path[:1]))
    at = max(s.end for s in found if s.block == found[like[-1]].block) if like else len(text)
    blank_before = [""] if text[:at].strip() and not text[:at].replace("\r", "").endswith("\n\n") else []
    blank_after = [""] if text[at:].strip() and not text[at:].lstrip(" \t\r").startswith("\n") else []
    return _inserted(text, at, *blank_before, *lines, *blank_after)


def _without(text: str, gone: Sequence[Statement]) -> str:
    """The text without some statements; their remarks stay, each on its line."""
    for s in sorted(gone, key=lambda s: -s.start):
        kept = "".join(_indent(text, s) + r + _break(text) for r in remarks_in(text[s.start : s.end]))
        after = text[s.end :]
        if not kept and s.kind != "key" and _blank_end(text[: s.start]) and after.lstrip(" \t\r").startswith("\n"):
            after = after.split("\n", 1)[1]
        text = text[: s.start] + kept + after
    return text


def _blank_end(text: str) -> bool:
    return not text.strip() or text.replace("\r", "").endswith("\n\n")
