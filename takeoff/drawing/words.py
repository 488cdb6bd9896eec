"""The words of a text as a person reads them: formatting codes, character codes and wrong encodings resolved."""

from __future__ import annotations

import re

from ezdxf.tools.text import fast_plain_mtext, plain_mtext, plain_text

__all__ = ["LONGEST", "fractions_apart", "fractions_marked", "one_line", "paragraphs", "readable", "sound"]

LONGEST = 20_000
"""Characters read of one text; no label, note or schedule cell is longer, and hostile files hold megabytes."""

_UNICODE = re.compile(r"\\[Uu]\+([0-9A-Fa-f]{4})")
_MULTIBYTE = re.compile(r"\\[Mm]\+([1-5])([0-9A-Fa-f]{2})([0-9A-Fa-f]{2})")
_PAGES = {"1": "cp932", "2": "cp950", "3": "cp949", "4": "johab", "5": "gbk"}
"""Code pages of the multibyte escape \\M+nxxxx (DXF reference, "Unicode and multibyte escapes"; from memory)."""
_FIELD = re.compile(r"%<(?:(?!%<|>%).)*>%", re.DOTALL)
"""The formula of a field that was never worked out, innermost first; one that was is a text like any other."""
_CHARACTER = re.compile(r"%%(\d{3})")
"""A character by its number (DXF reference, control codes of TEXT)."""
_INLINE = re.compile(r"\\(?:[fFHCcWQTA][^;\\{}]{1,60};|p[ilrqxt][^;\\{}]{0,60};|P(?=[A-Z0-9(])|[LlOoKk~])")
"""MTEXT codes in a plain TEXT or attribute, where some programs leave them; a path such as C:\\PLANS is none."""
_PATH = re.compile(r"[A-Za-z]:\\|\\\\")
_FRACTION = re.compile(r"\\S\s*(\d+)\s*[/#^]\s*(\d+)\s*;")
_RAISED = re.compile(r"\\S([^;^\\]*)\^\s*;")
_LOWERED = re.compile(r"\\S\^\s*([^;\\]*);")
_OVER = re.compile(r"(\\S[^;^\\]*\^)(?=[^\s;])")
"""Two stacked texts; a caret is written with a space behind it, but not by every program."""
_MARK = "\x1f"
"""Stands before a stacked fraction until it is known whether a figure comes before it."""
_AFTER_FIGURE = re.compile(rf"(?<=\d)\s*{_MARK}")
_LINES = re.compile(r"%%[UuOoKk]")


def sound(raw: str, encoding: str = "") -> str:
    """`raw` with character escapes resolved and bytes of a wrong encoding decoded; never holds lone surrogates.

    `encoding` is the one that the file claims: text in UTF-8 that a single-byte code page swallowed is put right.
    """
    if raw.isascii() and "\\" not in raw:
        return raw
    if "\\U+" in raw or "\\u+" in raw:
        raw = _UNICODE.sub(lambda m: chr(int(m[1], 16)), raw)
    if "\\M+" in raw or "\\m+" in raw:
        raw = _MULTIBYTE.sub(lambda m: bytes.fromhex(m[2] + m[3]).decode(_PAGES[m[1]], "replace"), raw)
    if raw.isascii():
        return raw
    if encoding.startswith(("cp125", "latin", "iso8859")):
        raw = _from_utf8(raw, encoding)
    try:
        raw.encode("utf-8")
    except UnicodeEncodeError:
        raw = raw.encode("utf-8", "surrogateescape").decode("cp1252", "replace")
        raw = raw.encode("utf-8", "replace").decode("utf-8")
    return raw


def _from_utf8(raw: str, encoding: str) -> str:
    try:
        return raw.encode(encoding, "surrogateescape").decode("utf-8")
    except UnicodeError:
        return raw


def readable(raw: str, encoding: str = "") -> str:
    """At most `LONGEST` characters of `raw`, those sound, characters by number and formulas of fields resolved."""
    raw = sound(raw[:LONGEST], encoding)
    if "%<" in raw:
        while raw != (raw := _FIELD.sub("", raw)):
            pass
    if "%%" in raw:
        raw = _CHARACTER.sub(lambda code: _numbered(code, encoding), raw)
    return raw


def _numbered(code: re.Match[str], encoding: str) -> str:
    number = int(code[1])
    if not 32 <= number < 256:
        return " " if number < 32 else code[0]
    return bytes([number]).decode(encoding or "cp1252", "replace") if number > 127 else chr(number)


def one_line(raw: str, encoding: str = "") -> list[str]:
    """The printed lines of a TEXT or ATTRIB (one, save in files that broke it), trimmed; without empty ones."""
    raw = readable(raw, encoding)
    if "\\" in raw and _INLINE.search(raw) and not _PATH.search(raw):
        return [line for line in paragraphs(raw, encoding) if line]
    parts = raw.split("^J") if "^J" in raw else [raw]
    if "%" in raw or "^" in raw:
        parts = [plain_text(part) for part in parts]
    return [line for part in parts if (line := part.strip())]


def paragraphs(raw: str, encoding: str = "") -> list[str]:
    """The paragraphs of an MTEXT, formatting resolved; empty ones stay, so that the lines keep their places."""
    raw = fractions_marked(readable(raw, encoding))
    if not any(sign in raw for sign in "\\{^%\n"):
        return [raw.strip()]
    parse = plain_mtext if len(raw) < 2000 else fast_plain_mtext
    return [fractions_apart(line) for line in parse(raw, split=True)]


def fractions_marked(raw: str) -> str:
    """MTEXT content with its stacked fractions, powers and indices as plain text, and without the strokes of TEXT."""
    if "\\S" in raw:
        raw = _FRACTION.sub(rf"{_MARK}\1/\2", raw)
        raw = _OVER.sub(r"\1 ", _LOWERED.sub(r"\1", _RAISED.sub(r"\1", raw)))
    return _LINES.sub("", raw) if "%%" in raw else raw


def fractions_apart(line: str) -> str:
    """A line, trimmed, with a space between a figure and the fraction that was stacked behind it."""
    return _AFTER_FIGURE.sub(" ", line).replace(_MARK, "").strip()
