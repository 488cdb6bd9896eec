"""Text from a drawing made safe for a document: no control characters, no lone surrogates, no live formulas."""

from __future__ import annotations

import re

__all__ = ["FORMULA_STARTS", "clean", "csv_safe"]

# What XML 1.0 (5th edition, section 2.2) cannot hold, and the marks that turn the direction of reading.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff\u202a-\u202e\u2066-\u2069]")
# What a spreadsheet takes for the beginning of a formula (OWASP, "CSV injection").
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def clean(text: str, limit: int = 1000) -> str:
    """`text` without what no document can hold, cut to `limit` characters with an ellipsis."""
    safe = _UNPRINTABLE.sub("\N{REPLACEMENT CHARACTER}", text) if not text.isprintable() else text
    return safe if len(safe) <= limit else safe[: limit - 1] + "\N{HORIZONTAL ELLIPSIS}"


def csv_safe(text: str) -> str:
    """`text` as a CSV field that no spreadsheet runs: an apostrophe before what would begin a formula."""
    safe = clean(text)
    return f"'{safe}" if safe.startswith(FORMULA_STARTS) else safe
