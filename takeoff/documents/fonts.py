"""Which font prints a text: the standard ones where they can, a shipped or built-in one where they cannot.

Room names come in any language. Helvetica prints Western European text and needs no embedding; the shipped
DejaVu Sans prints other alphabets; Chinese, Japanese and Korean use the fonts that PDF readers hold themselves.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import as_file, files

__all__ = ["font_for", "printable", "text_width", "wrapped"]

_CJK = ((0x2E80, 0x9FFF), (0xAC00, 0xD7AF), (0xF900, 0xFAFF), (0xFF00, 0xFFEF))
_KANA = (0x3040, 0x30FF)


@cache
def _registered(name: str) -> str:
    """Make the font `name` known to the PDF library and return its name."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.cidfonts import UnicodeCIDFont
    from reportlab.pdfbase.ttfonts import TTFont

    if name.startswith("DejaVu"):
        with as_file(files("takeoff.data").joinpath("fonts", f"{name}.ttf")) as path:
            pdfmetrics.registerFont(TTFont(name, str(path)))
    elif name not in ("Helvetica", "Helvetica-Bold"):
        pdfmetrics.registerFont(UnicodeCIDFont(name))
    return name


def _western(text: str) -> bool:
    """Whether the standard fonts have every letter of `text`."""
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


@cache
def font_for(text: str, bold: bool = False) -> str:
    """The name of a font that prints all of `text`."""
    if _western(text):
        return "Helvetica-Bold" if bold else "Helvetica"
    codes = [ord(c) for c in text]
    if any(_KANA[0] <= c <= _KANA[1] for c in codes):
        return _registered("HeiseiKakuGo-W5")
    if any(low <= c <= high for c in codes for low, high in _CJK):
        return _registered("STSong-Light")
    return _registered("DejaVuSans-Bold" if bold else "DejaVuSans")


def printable(text: str) -> str:
    """`text` without control characters, on one line."""
    return "".join(c if c.isprintable() else " " for c in text).strip()


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Printed width of `text` in points at `size` points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(text, font_for(text, bold), size))


def wrapped(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """`text` broken into lines no wider than `width` points; a word longer than a line is cut."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        while text_width(word, size, bold) > width and len(word) > 1:
            keep = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or text_width(word[:n], size, bold) <= width)
            if line:
                lines.append(line)
                line = ""
            lines.append(word[:keep])
            word = word[keep:]
        trial = f"{line} {word}".strip()
        if line and text_width(trial, size, bold) > width:
            lines.append(line)
            line = word
        else:
            line = trial
    return [*lines, line] if line else lines
