"""What a later issue of a drawing changes, as text, as a variation sheet to agree on, and as JSON."""

from __future__ import annotations

import json
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from takeoff.documents.agreed import known_part, to_be_agreed
from takeoff.documents.paper import Block, Bullets, Heading, Para, Table, paper_docx, paper_pdf
from takeoff.documents.words import signed_money
from takeoff.revision.compare import KINDS, Change, Comparison, Figures

__all__ = ["CHANGE_WORDS", "FIGURES", "comparison_docx", "comparison_json", "comparison_pdf", "comparison_text"]

CHANGE_WORDS = {
    "changed": "changed",
    "split": "split",
    "joined": "joined",
    "added": "new",
    "removed": "gone",
    "renamed": "renamed",
    "same": "as before",
}
FIGURES = (
    ("floor_m2", "floor", "m2"),
    ("wall_net_m2", "walls, net", "m2"),
    ("ceiling_m2", "ceilings", "m2"),
    ("reveal_m2", "reveals", "m2"),
    ("external_angles_m", "external angles", "m"),
    ("hours", "hours", "h"),
)
"""(field of `Figures`, words, unit)."""
SHOWN = 0.005
"""Smaller differences are not printed."""
SCHEMA = 1


def comparison_text(comparison: Comparison) -> str:
    """The comparison for the terminal."""
    lines = [f"{comparison.before.drawing.file} -> {comparison.after.drawing.file}: {_counted(comparison)}"]
    for change in comparison.told:
        lines.append(f"  {CHANGE_WORDS[change.kind]:8s} {change.title}{_moved_words(change)}")
        lines += [f"           {line}" for line in change.differs]
    if moved := [c for c in comparison.changes if c.kind == "same" and c.moved]:
        lines.append(f"  {len(moved)} rooms only lie elsewhere on the sheet ({moved[0].moved}).")
    if not comparison.told:
        lines.append("  Nothing is changed.")
        return "\n".join(lines)
    lines += ["", "Whole job, more or less:"]
    lines += [f"  {words:24s} {text}" for words, text in _difference_lines(comparison)]
    return "\n".join(lines)


def _counted(comparison: Comparison) -> str:
    counts = [(kind, sum(1 for c in comparison.changes if c.kind == kind)) for kind in KINDS]
    return ", ".join(f"{n} {CHANGE_WORDS[kind]}" for kind, n in counts if n)


def _moved_words(change: Change) -> str:
    return f", {change.moved}" if change.moved else ""


def _difference_lines(comparison: Comparison) -> list[tuple[str, str]]:
    difference = comparison.difference
    rows = [(words, f"{getattr(difference, name):+.2f} {unit}") for name, words, unit in FIGURES]
    rows += [(title, f"{amount:+.1f} {unit}") for title, amount, unit in comparison.materials]
    if (whole := _whole_price(comparison)) is not None:
        rows.append(("price before tax", whole))
    return rows


def _whole_price(comparison: Comparison) -> str | None:
    old, new = comparison.before.price, comparison.after.price
    if old is None or new is None:
        return None
    return signed_money(new.before_tax - old.before_tax, new.currency)


def comparison_pdf(comparison: Comparison) -> bytes:
    """The variation sheet as PDF."""
    return paper_pdf(_blocks(comparison), _title(comparison))


def comparison_docx(comparison: Comparison) -> bytes:
    """The variation sheet as an editable .docx."""
    return paper_docx(_blocks(comparison), _title(comparison))


def _title(comparison: Comparison) -> str:
    job = comparison.after.job.job
    return f"Changes to the drawing {job.reference} {job.name}".strip()


def _blocks(comparison: Comparison) -> list[Block]:
    blocks: list[Block] = [
        Heading(_title(comparison), 0),
        Para(
            f"Before: {comparison.before.drawing.file}. Now: {comparison.after.drawing.file}. {_counted(comparison)}."
        ),
    ]
    if not comparison.told:
        return [*blocks, Para("Nothing is changed: the rooms, their openings and heights are those of before.")]
    blocks.append(_room_table(comparison))
    blocks += known_part(t.price for t in (comparison.before, comparison.after) if t.price is not None)
    for change in comparison.told:
        blocks += [Heading(f"{change.title}: {CHANGE_WORDS[change.kind]}", 2), Bullets(change.differs)]
        if words := _figure_words(change.old, change.new):
            blocks.append(Para(words))
    if comparison.materials:
        words = "; ".join(f"{title} {amount:+.1f} {unit}" for title, amount, unit in comparison.materials)
        blocks += [Heading("Materials of the whole job, more or less", 1), Para(f"{words}.")]
    return [*blocks, *to_be_agreed("the changed work")]


def _room_table(comparison: Comparison) -> Table:
    price = comparison.after.price
    currency = price.currency if price else ""
    rows = [
        (
            change.title,
            CHANGE_WORDS[change.kind],
            f"{change.difference.wall_net_m2 + change.difference.ceiling_m2 + change.difference.reveal_m2:+.2f}",
            f"{change.difference.hours:+.1f}",
            signed_money(change.difference.price, currency),
        )
        for change in comparison.told
    ]
    whole = comparison.difference
    area = whole.wall_net_m2 + whole.ceiling_m2 + whole.reveal_m2
    last = ("Whole job", "", f"{area:+.2f}", f"{whole.hours:+.1f}", _whole_price(comparison) or "not priced")
    heading = ("Room", "", "Plaster m2", "Hours", "Price before tax")
    return Table((heading, *rows, last), (3, 1, 1.2, 1, 1.6), (2, 3, 4), strong_last=True)


def _figure_words(old: Figures, new: Figures) -> str:
    words = []
    for name, what, unit in FIGURES:
        was, now = getattr(old, name), getattr(new, name)
        if abs(now - was) >= SHOWN:
            words.append(f"{what} {was:.2f} -> {now:.2f} {unit}")
    return "; ".join(words) + "." if words else ""


def comparison_json(comparison: Comparison) -> str:
    """The comparison for scripts: docs/comparing.md lists the keys."""
    document = {
        "schema": SCHEMA,
        "before": _source(comparison, "before"),
        "after": _source(comparison, "after"),
        "changes": [_as_json(change) for change in comparison.changes],
        "materials": [{"material": m, "difference": amount, "unit": u} for m, amount, u in comparison.materials],
        "difference": _figures_json(comparison.difference),
    }
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _source(comparison: Comparison, side: str) -> dict[str, Any]:
    takeoff = getattr(comparison, side)
    return {
        "file": takeoff.drawing.file,
        "sha256": takeoff.drawing.sha256,
        "figures": _figures_json(comparison.old if side == "before" else comparison.new),
    }


def _as_json(change: Change) -> dict[str, Any]:
    return {
        "kind": change.kind,
        "rooms_before": list(change.before),
        "rooms_after": list(change.after),
        "differs": list(change.differs),
        "moved": change.moved,
        "before": _figures_json(change.old),
        "after": _figures_json(change.new),
    }


def _figures_json(figures: Figures) -> dict[str, Any]:
    return {
        name: None if value is None else str(value) if isinstance(value, Decimal) else round(value, 4)
        for name, value in asdict(figures).items()
    }
