"""Changes to the text of a job file, checked against `tomllib` (the standard library's reader of TOML 1.0)."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import JobError
from takeoff.review.changes import apply
from takeoff.review.toml_places import remarks_in, statements

HAND_WRITTEN = """\
# The Old Dairy, first visit
[drawing]
file = "dairy.dxf"   # as sent

# rooms
[rooms.R1]
height = 2.7         # measured with the laser
# the hall has a beam
[rooms.R2]
name = "Hall # 2"
slope = { low_side = "R2-S1", low_height = 1.0, high_height = 2.4 }

[[split]]
room = "R1"          # the big one
line = [[0, 0],      # by the stove
  [1, 1]]
# tail of the first

[[split]]
room = "R2"
line = [[0,0],[1,1]]

# and one more room
[rooms.R5]
name = 'x'
[heights]
default = 2.4"""


def applied(text: str, *changes: dict[str, Any]) -> dict[str, Any]:
    return tomllib.loads(apply(text, changes))


def test_a_value_changes_in_its_place_and_nothing_else_moves() -> None:
    new = apply(HAND_WRITTEN, [{"op": "set", "key": ["rooms", "R1", "height"], "value": 2.55}])
    assert new == HAND_WRITTEN.replace("height = 2.7 ", "height = 2.55 ")


def test_a_new_room_goes_after_the_last_room_and_the_rest_stays() -> None:
    new = apply(HAND_WRITTEN, [{"op": "set", "key": ["rooms", "R9", "name"], "value": 'The "snug"'}])
    assert new == HAND_WRITTEN.replace("name = 'x'\n", 'name = \'x\'\n\n[rooms.R9]\nname = "The \\"snug\\""\n\n')


def test_a_key_more_goes_below_the_others_of_its_table() -> None:
    new = apply(HAND_WRITTEN, [{"op": "set", "key": ["rooms", "R1", "name"], "value": "Kitchen"}])
    assert new == HAND_WRITTEN.replace("the laser\n", 'the laser\nname = "Kitchen"\n')


def test_a_key_inside_a_table_on_one_line() -> None:
    data = applied(HAND_WRITTEN, {"op": "set", "key": ["rooms", "R2", "slope", "run"], "value": 1.5})
    assert data["rooms"]["R2"]["slope"] == {"low_side": "R2-S1", "low_height": 1.0, "high_height": 2.4, "run": 1.5}
    data = applied(HAND_WRITTEN, {"op": "unset", "key": ["rooms", "R2", "slope", "low_height"]})
    assert data["rooms"]["R2"]["slope"] == {"low_side": "R2-S1", "high_height": 2.4}


def test_a_row_taken_away_leaves_its_remarks() -> None:
    new = apply(HAND_WRITTEN, [{"op": "remove", "table": ["split"], "index": 0}])
    assert tomllib.loads(new)["split"] == [{"room": "R2", "line": [[0, 0], [1, 1]]}]
    assert remarks_in(new) == remarks_in(HAND_WRITTEN)


def test_rows_are_added_after_their_like_or_at_the_end() -> None:
    new = apply(
        HAND_WRITTEN, [{"op": "add", "table": ["split"], "row": {"room": "R7", "line": [[0.0, 1.0], [2.0, 3.0]]}}]
    )
    assert new.index("R7") < new.index("# and one more room")
    new = apply(HAND_WRITTEN, [{"op": "add", "table": ["join"], "row": {"rooms": ["R1", "R2"], "name": None}}])
    assert new == HAND_WRITTEN + '\n\n[[join]]\nrooms = ["R1", "R2"]\n'


def test_a_changed_row_keeps_the_lines_that_say_the_same() -> None:
    row = {"room": "R1", "line": [[0, 0], [1, 1]], "names": ["a", "b"]}
    new = apply(HAND_WRITTEN, [{"op": "change", "table": ["split"], "index": 0, "row": row}])
    assert new == HAND_WRITTEN.replace("  [1, 1]]\n", '  [1, 1]]\nnames = ["a", "b"]\n')


def test_a_table_that_is_left_empty_goes_and_one_with_a_remark_stays() -> None:
    new = apply(
        "[rooms.R1]\nheight = 2\n\n[rooms.R2]\nheight = 3\n", [{"op": "unset", "key": ["rooms", "R1", "height"]}]
    )
    assert new == "[rooms.R2]\nheight = 3\n"
    new = apply(HAND_WRITTEN, [{"op": "unset", "key": ["rooms", "R1", "height"]}])
    assert "[rooms.R1]\n# measured with the laser\n# the hall" in new


def test_set_then_unset_gives_the_first_text_back() -> None:
    key = ["openings", "D1", "width"]
    changes = [{"op": "set", "key": key, "value": 0.9}, {"op": "unset", "key": key}]
    text = "[heights]\ndefault = 2.4\n"
    assert apply(text, changes).rstrip() == text.rstrip()


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("rooms.R1.height = 2.5\nheights.default = 2.4\n", ["rooms", "R3", "height"]),
        ("[rooms]\nR1.height = 2.5\nR2 = { height = 2 }\n", ["rooms", "R1", "name"]),
        ("[rooms]\nR1.height = 2.5\nR2 = { height = 2 }\n", ["rooms", "R2", "name"]),
        ("[rooms]\nR1.height = 2.5\n", ["rooms", "R4", "name"]),
        ("rooms = { R1 = { height = 2.5 } }\n", ["rooms", "R4", "name"]),
        ('[rooms."R 1".slope]\nlow_height = 1\n', ["rooms", "R 1", "name"]),
        ("[rooms.R1.slope]\nlow_height = 1\n[heights]\n", ["rooms", "R1", "slope"]),
        ("", ["rooms", "R1", "name"]),
        ("# only this", ["top"]),
    ],
)
def test_every_way_to_write_a_table(text: str, key: list[str]) -> None:
    want = tomllib.loads(text)
    place = want
    for name in key[:-1]:
        place = place.setdefault(name, {})
    place[key[-1]] = "new"
    assert applied(text, {"op": "set", "key": key, "value": "new"}) == want


def test_windows_line_ends_stay() -> None:
    text = HAND_WRITTEN.replace("\n", "\r\n")
    new = apply(
        text,
        [{"op": "set", "key": ["rooms", "R9", "name"], "value": "a"}, {"op": "remove", "table": ["split"], "index": 1}],
    )
    assert "\n" not in new.replace("\r\n", "")


@pytest.mark.parametrize(
    "change",
    [
        {"op": "drop"},
        {"op": "set", "key": "rooms", "value": 1},
        {"op": "set", "key": ["rooms", "R1"], "value": None},
        {"op": "set", "key": ["split", "room"], "value": "R1"},
        {"op": "remove", "table": ["split"], "index": 2},
        {"op": "remove", "table": ["split"], "index": -1},
        {"op": "change", "table": ["findings"], "index": 0, "row": {}},
        {"op": "add", "table": ["split"], "row": ["R1"]},
        {"op": "add", "table": ["heights"], "row": {"a": 1}},
    ],
)
def test_what_is_no_change_is_told(change: dict[str, Any]) -> None:
    with pytest.raises(JobError):
        apply(HAND_WRITTEN, [change])


# -- any text, any change ---------------------------------------------------------------------------------------------

_words = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=6)
_values = st.recursive(
    st.one_of(_words, st.integers(-(10**6), 10**6), st.booleans(), st.floats(-1e4, 1e4).map(lambda v: round(v, 3))),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_words, inner, max_size=2),
    max_leaves=4,
)
_remark = st.none() | _words.map(lambda w: "# " + w.replace("\n", ""))
_refs = st.sampled_from(["R1", "R2", "D1", 'odd "name"', "a.b"])


def _line(key: str, value: Any, remark: str | None, spread: bool) -> str:
    from takeoff.documents.toml_text import toml_key, toml_value

    shown = toml_value(value)
    if spread and isinstance(value, list) and value:
        shown = "[\n" + "".join(f"  {toml_value(v)}, # item {n}\n" for n, v in enumerate(value)) + "]"
    return f"{toml_key(key)} = {shown}" + (f"  {remark}" if remark else "")


@st.composite
def texts(draw: st.DrawFn) -> str:
    """A job-like text: tables in any order, apart from their like, rows, remarks everywhere."""
    from takeoff.documents.toml_text import toml_key

    heads = draw(
        st.lists(st.tuples(st.sampled_from(["rooms", "openings", "split", "findings"]), _refs), max_size=6, unique=True)
    )
    lines: list[str] = []
    for table, ref in heads:
        rows = table in ("split", "findings")
        lines += [draw(_remark) or ""]
        lines += [f"[[{table}]]" if rows else f"[{toml_key(table, ref)}]"]
        for key in draw(st.lists(st.sampled_from(["name", "height", "x y", "note"]), max_size=3, unique=True)):
            lines += [_line(key, draw(_values), draw(_remark), draw(st.booleans()))]
        lines += [draw(_remark) or ""]
    return "\n".join(lines)


_keys = st.tuples(
    st.sampled_from(["rooms", "openings", "heights"]), _refs, st.sampled_from(["name", "height", "x y"])
).map(list)
_tables = st.sampled_from(["split", "findings", "join"]).map(lambda t: [t])
_rows = st.dictionaries(st.sampled_from(["name", "height", "x y"]), _values, max_size=3)
_changes = st.one_of(
    st.builds(lambda k, v: {"op": "set", "key": k, "value": v}, _keys, _values),
    st.builds(lambda k: {"op": "unset", "key": k}, _keys),
    st.builds(lambda t, r: {"op": "add", "table": t, "row": r}, _tables, _rows),
    st.builds(lambda t, i, r: {"op": "change", "table": t, "index": i, "row": r}, _tables, st.integers(0, 2), _rows),
    st.builds(lambda t, i: {"op": "remove", "table": t, "index": i}, _tables, st.integers(0, 2)),
)


def meant(data: dict[str, Any], change: dict[str, Any]) -> dict[str, Any]:
    """What a change means for the data, without any text."""
    data = copy.deepcopy(data)
    if "key" in change:
        *way, last = change["key"]
        place = data
        for name in way:
            place = place.setdefault(name, {})
        place.pop(last, None)
        if change["op"] == "set":
            place[last] = change["value"]
        return data
    rows = data.setdefault(change["table"][0], [])
    if change["op"] == "add":
        rows.append(change["row"])
    elif change["op"] == "change":
        rows[change["index"]] = change["row"]
    else:
        del rows[change["index"]]
    return data


def bare(data: Any) -> Any:
    """Empty tables and lists left out: an emptied table may stand or go."""
    if not isinstance(data, dict):
        return data
    return {k: v for k, v in ((k, bare(v)) for k, v in data.items()) if v not in ({}, [])}


@given(texts(), st.lists(_changes, min_size=1, max_size=5))
def test_any_changes_do_what_they_say_and_lose_no_remark(text: str, changes: list[dict[str, Any]]) -> None:
    for change in changes:
        data = tomllib.loads(text)
        if "index" in change and change["index"] >= len(data.get(change["table"][0], [])):
            with pytest.raises(JobError):
                apply(text, [change])
            continue
        new = apply(text, [change])
        assert bare(tomllib.loads(new)) == bare(meant(data, change))
        assert sorted(remarks_in(new)) == sorted(remarks_in(text))
        text = new


@given(texts(), _keys, _values)
def test_a_set_key_leaves_every_other_statement_letter_by_letter(text: str, key: list[str], value: Any) -> None:
    new = apply(text, [{"op": "set", "key": key, "value": value}])
    before = [text[s.start : s.end].rstrip("\n") for s in statements(text) if s.path[: len(key)] != tuple(key)]
    after = iter([new[s.start : s.end].rstrip("\n") for s in statements(new)])
    assert all(line in after for line in before), "each in its turn"


@given(texts())
def test_statements_cover_all_but_remarks_and_blanks(text: str) -> None:
    found = statements(text)
    rest, at = "", 0
    for s in found:
        rest, at = rest + text[at : s.start], s.end
    assert all(not line.strip() or line.lstrip().startswith("#") for line in (rest + text[at:]).splitlines())
