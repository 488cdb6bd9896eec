"""Writing TOML: keys, values and remarks that hold any text a drawing may bring."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from decimal import Decimal

from takeoff.documents.safe_text import clean

__all__ = ["one_line", "remark", "toml_key", "toml_value"]

DECIMALS = 6


def one_line(text: str) -> str:
    """`text` as a remark can hold it: a line break in a drawing's text must not begin a line of the file."""
    return " ".join(clean(text).split())


def remark(text: str) -> str:
    """`text` as a line that TOML passes over; blanks at its beginning are kept."""
    indent = text[: len(text) - len(text.lstrip(" "))]
    return f"# {indent}{one_line(text)}".rstrip()


def toml_key(*path: str) -> str:
    """The dotted key, quoted where TOML asks for it."""
    return ".".join(name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _quoted(name) for name in path)


def toml_value(value: object) -> str:
    """`value` (text, number, truth, list, table) in TOML 1.0, on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(round(value, DECIMALS))
    if isinstance(value, int | Decimal):
        return str(value)
    if isinstance(value, Mapping):
        return (
            "{ " + ", ".join(f"{toml_key(str(k))} = {toml_value(v)}" for k, v in value.items() if v is not None) + " }"
        )
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    return _quoted(str(value))


def _quoted(text: str) -> str:
    """A basic string: as JSON writes it, the delete character escaped too, lone surrogates replaced."""
    whole = re.sub("[\ud800-\udfff]", "\N{REPLACEMENT CHARACTER}", text)
    return json.dumps(whole, ensure_ascii=False).replace("\x7f", "\\u007f")
