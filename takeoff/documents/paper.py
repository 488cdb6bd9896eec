"""A written document as plain blocks, printed alike as PDF and as an editable .docx.

Build a list of blocks, then `paper_pdf(blocks, title)` or `paper_docx(blocks, title)`. Same blocks, same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from takeoff.documents.fonts import font_for, printable
from takeoff.documents.page import A4, MM, Page, draw_on, plain_bytes

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["Block", "Bullets", "Heading", "NewPage", "OnePage", "Para", "Picture", "Table", "paper_docx", "paper_pdf"]

MARGIN = 18 * MM
BODY = 9.5
SMALLEST = 0.72
"""How far a page may be shrunk: tables of 8.5 points to about 6."""
EPOCH = (2000, 1, 1, 0, 0, 0)
"""Date of every part of a .docx: the same input must give the same bytes."""


@dataclass(frozen=True, slots=True)
class Heading:
    text: str
    level: int = 1
    """0 the document's title, 1 a section, 2 a room."""


@dataclass(frozen=True, slots=True)
class Para:
    text: str
    bold: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True)
class Bullets:
    items: tuple[str, ...]
    small: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text; the first is the header. `widths` in shares of the line; `right` the columns set to the right."""

    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    right: tuple[int, ...] = ()
    strong_last: bool = False
    """The last row is a total."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A vector drawing, printed in PDF only: a .docx says where to find it."""

    page: Page
    caption: str = ""


@dataclass(frozen=True, slots=True)
class NewPage:
    pass


@dataclass(frozen=True, slots=True)
class OnePage:
    """What belongs on one page: printed a little smaller where it would run over, as long as it can be read."""

    blocks: tuple[Block, ...]


Block = Heading | Para | Bullets | Table | Picture | NewPage | OnePage


# ---------------------------------------------------------------- PDF


def paper_pdf(blocks: Sequence[Block], title: str) -> bytes:
    """The blocks as an A4 PDF with page numbers."""
    from reportlab.platypus import SimpleDocTemplate

    plain_bytes()
    stream = BytesIO()
    template = SimpleDocTemplate(
        stream, pagesize=A4, leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=MARGIN,
        title=printable(title), invariant=1,
    )  # fmt: skip
    width = A4[0] - 2 * MARGIN - 12
    flow = [piece for block in blocks for piece in _flowables(block, width)]

    def footer(canvas: Canvas, _template: Any) -> None:
        canvas.setFont(font_for(title), 7.5)
        canvas.drawString(MARGIN, 10 * MM, printable(title))
        canvas.drawRightString(A4[0] - MARGIN, 10 * MM, f"Page {canvas.getPageNumber()}")

    template.build(flow, onFirstPage=footer, onLaterPages=footer)
    return stream.getvalue()


def _style(size: float, bold: bool = False, before: float = 0.0, after: float = 3.0, right: bool = False) -> Any:
    from reportlab.lib.styles import ParagraphStyle

    return ParagraphStyle(
        "text", fontName="Helvetica-Bold" if bold else "Helvetica", fontSize=size, leading=size * 1.25,
        spaceBefore=before, spaceAfter=after, alignment=2 if right else 0,
    )  # fmt: skip


def _paragraph(text: str, style: Any) -> Any:
    """A paragraph in a font that has its letters."""
    from xml.sax.saxutils import escape

    from reportlab.platypus import Paragraph

    plain = printable(text)
    font = font_for(plain, "Bold" in style.fontName)
    inner = escape(plain)
    return Paragraph(inner if font == style.fontName else f'<font name="{font}">{inner}</font>', style)


def _flowables(block: Block, width: float) -> list[Any]:
    from reportlab.platypus import PageBreak, Spacer

    match block:
        case Heading():
            size = (18.0, 13.0, 10.5)[block.level]
            style = _style(size, True, before=size * 0.7, after=size * 0.35)
            style.keepWithNext = 1
            return [_paragraph(block.text, style)]
        case Para():
            return [_paragraph(block.text, _style(7.5 if block.small else BODY, block.bold))]
        case Bullets():
            style = _style(8.0 if block.small else BODY, after=1 if block.small else 2)
            style.leftIndent, style.firstLineIndent = 10, -8
            return [_paragraph(f"\u2022 {item}", style) for item in block.items]
        case Table():
            return [_pdf_table(block, width), Spacer(1, 6)]
        case Picture():
            caption = [_paragraph(block.caption, _style(7.5))] if block.caption else []
            return [_drawn(block.page, width), *caption]
        case NewPage():
            return [PageBreak()]
        case OnePage():
            return _on_one_page([piece for inner in block.blocks for piece in _flowables(inner, width)], width)


def _on_one_page(pieces: list[Any], width: float) -> list[Any]:
    """The pieces shrunk to one page; as they are where they would get too small to read."""
    from reportlab.platypus import KeepInFrame

    height = A4[1] - 2 * MARGIN - 12 - 1
    natural = sum(p.wrap(width, height)[1] + p.getSpaceBefore() + p.getSpaceAfter() for p in pieces)
    if natural <= height or height / natural < SMALLEST**2:
        return pieces
    return [KeepInFrame(width, height, pieces, mode="shrink")]


def _pdf_table(block: Table, width: float) -> Any:
    from reportlab.lib.colors import HexColor
    from reportlab.platypus import Table as PdfTable
    from reportlab.platypus import TableStyle

    share = width / sum(block.widths)
    last = len(block.rows) - 1
    cells = [
        [
            _paragraph(cell, _style(8.5, n == 0 or (block.strong_last and n == last), after=0, right=c in block.right))
            for c, cell in enumerate(row)
        ]
        for n, row in enumerate(block.rows)
    ]
    table = PdfTable(cells, colWidths=[w * share for w in block.widths], repeatRows=1)
    rules = [
        ("LINEBELOW", (0, 0), (-1, 0), 0.8, HexColor("#000000")),
        ("LINEBELOW", (0, 1), (-1, -1), 0.25, HexColor("#999999")),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
    ]
    table.setStyle(TableStyle(rules))
    return table


def _drawn(page: Page, width: float) -> Any:
    from reportlab.platypus import Flowable

    shrink = min(1.0, width / page.width)

    class Drawn(Flowable):  # type: ignore[misc]
        """The page's items at their place in the text."""

        def __init__(self) -> None:
            super().__init__()
            self.width, self.height = page.width * shrink, page.height * shrink

        def draw(self) -> None:
            self.canv.saveState()
            self.canv.scale(shrink, shrink)
            draw_on(self.canv, page)
            self.canv.restoreState()

    return Drawn()


# ---------------------------------------------------------------- DOCX


def paper_docx(blocks: Sequence[Block], title: str) -> bytes:
    """The blocks as a .docx to edit. Pictures become a line that names them."""
    from datetime import datetime

    from docx import Document
    from docx.shared import Pt

    document = Document()
    document.styles["Normal"].font.name = "Arial"
    document.styles["Normal"].font.size = Pt(BODY)
    document.core_properties.title = printable(title)
    document.core_properties.author = ""
    document.core_properties.created = document.core_properties.modified = datetime(*EPOCH)
    for block in blocks:
        _add(document, block)
    stream = BytesIO()
    document.save(stream)
    return _dated(stream.getvalue())


def _add(document: Any, block: Block) -> None:
    match block:
        case Heading():
            document.add_heading(printable(block.text), block.level)
        case Para():
            run = document.add_paragraph().add_run(printable(block.text))
            run.bold = block.bold
        case Bullets():
            for item in block.items:
                document.add_paragraph(printable(item), style="List Bullet")
        case Table():
            _add_table(document, block)
        case Picture():
            document.add_paragraph(f"[{printable(block.caption or 'See the drawing in the PDF')}]")
        case NewPage():
            document.add_page_break()
        case OnePage():
            for inner in block.blocks:
                _add(document, inner)


def _add_table(document: Any, block: Table) -> None:
    from docx.enum.text import WD_ALIGN_PARAGRAPH
    from docx.shared import Mm

    table = document.add_table(rows=0, cols=len(block.widths))
    table.style = "Table Grid"
    table.autofit = False
    share = 165 / sum(block.widths)
    for n, row in enumerate(block.rows):
        cells = table.add_row().cells
        for c, text in enumerate(row):
            cells[c].width = Mm(block.widths[c] * share)
            paragraph = cells[c].paragraphs[0]
            paragraph.add_run(printable(text)).bold = n == 0 or (block.strong_last and n == len(block.rows) - 1)
            if c in block.right:
                paragraph.alignment = WD_ALIGN_PARAGRAPH.RIGHT
    document.add_paragraph()


def _dated(data: bytes) -> bytes:
    """The same .docx with the date of every part fixed."""
    stream = BytesIO()
    with ZipFile(BytesIO(data)) as old, ZipFile(stream, "w", ZIP_DEFLATED) as new:
        for name in old.namelist():
            info = ZipInfo(name, EPOCH)
            info.compress_type = ZIP_DEFLATED
            new.writestr(info, old.read(name))
    return stream.getvalue()
