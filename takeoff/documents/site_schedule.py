"""The site schedule, a page per room: plan, what goes where, order and days, what to carry, tolerances, cautions."""

from __future__ import annotations

from collections.abc import Iterable

from takeoff.documents.bars import LEGEND, bars_pages
from takeoff.documents.day_plan import day_table, room_table
from takeoff.documents.marked_plan import room_page
from takeoff.documents.page import MM
from takeoff.documents.paper import Block, Bullets, Heading, NewPage, OnePage, Para, Picture, Table, paper_pdf
from takeoff.documents.rules_in_use import tolerances
from takeoff.documents.words import KIND_WORDS, SurfaceGroup, finding_words, room_title, surface_groups
from takeoff.materials.catalogue import catalogue
from takeoff.materials.model import OrderLine, RoomMix
from takeoff.plan.model import Room
from takeoff.record import Takeoff

__all__ = ["schedule_blocks", "schedule_pdf"]

PICTURE = (170 * MM, 66 * MM)
SHORT_CAUTION = (
    "Stop and ask where anything looks different from this page: damp, textured coating, cables, loose ceilings. "
    "This page is no survey; the cautions of the job are in the quotation and the workbook."
)


def schedule_pdf(takeoff: Takeoff) -> bytes:
    """The site schedule as PDF. Needs a takeoff with its programme."""
    return paper_pdf(schedule_blocks(takeoff), f"Site schedule {takeoff.job.job.name}".strip())


def schedule_blocks(takeoff: Takeoff) -> list[Block]:
    """First the days of the whole job, then a page per room."""
    blocks: list[Block] = [*_overview(takeoff)]
    for room in takeoff.plan.rooms:
        groups = surface_groups(takeoff, room.ref)
        if groups:
            blocks += [NewPage(), OnePage(tuple(_room(takeoff, room, groups)))]
    return blocks


def _overview(takeoff: Takeoff) -> Iterable[Block]:
    programme = takeoff.programme
    assert programme is not None
    job = takeoff.job
    yield Heading(f"Site schedule {job.job.name}".strip(), 0)
    if job.job.site:
        yield Para(job.job.site)
    sure = "no shorter programme exists" if programme.proven else f"within {programme.gap:.0%} of the shortest possible"
    yield Para(f"{programme.days} working days of {job.gang.hours_per_day:g} hours for {job.gang.people} ({sure}).")
    for page in bars_pages(programme):
        yield Picture(page)
    yield Para(LEGEND + ".", small=True)
    yield from day_table(takeoff)
    yield Para(f"Dry enough to decorate from about day {programme.ready_to_decorate_day}, if ventilated.")
    yield Heading("Conditions")
    yield Bullets(programme.conditions)
    yield Heading("Cautions")
    yield Bullets(takeoff.work.cautions, small=True)


def _room(takeoff: Takeoff, room: Room, groups: list[SurfaceGroup]) -> Iterable[Block]:
    totals = next(m for m in takeoff.measured.rooms if m.room == room.ref)
    yield Heading(room_title(room))
    yield Para(
        f"Floor {room.floor_area_m2:.2f} m2, round the walls {room.perimeter_m:.2f} m, height {totals.height_m:.2f} m "
        f"({'taken by default: check' if totals.height_from == 'default' else 'from the ' + totals.height_from})."
    )
    yield Picture(room_page(takeoff.drawing, takeoff.plan, takeoff.measured, room, *PICTURE))
    rows = [
        (KIND_WORDS.get(g.kind, g.kind), f"{g.net_m2:.2f}", g.build_up, g.background, _short(g.refs)) for g in groups
    ]
    yield Table((("What", "m2", "Goes on", "Background", "Where"), *rows), (1, 0.8, 3.4, 1.6, 2.4), (1,))
    findings = finding_words([f for f in takeoff.work.findings if f.room == room.ref])
    if findings:
        yield Para("Preparation first: " + "; ".join(findings) + ".")
    yield from room_table(takeoff, room)
    yield from _carry(takeoff, room)
    yield from _mixes(takeoff, room)
    yield from _edges(takeoff, room)
    yield from _cut_list(takeoff, room)
    yield from _tolerances(takeoff, room)
    beware = [
        n.title for n in takeoff.work.notices if n.slug != "not-a-survey" and (not n.about or room.ref in n.about)
    ]
    if beware:
        yield Para("Beware: " + "; ".join(beware) + ".", bold=True, small=True)
    yield Para(SHORT_CAUTION, bold=True, small=True)


def _short(refs: tuple[str, ...]) -> str:
    """The refs without the room's own, the first few of many."""
    names = [ref.split("-", 1)[-1] for ref in refs]
    return ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")


def _carry(takeoff: Takeoff, room: Room) -> Iterable[Block]:
    rows = [text for line in takeoff.order.lines if (text := _carried(line, room.ref))]
    if rows:
        yield Para("Carry to the room: " + "; ".join(rows) + ".")


def _carried(line: OrderLine, room: str) -> str:
    share = next((s for s in line.shares if s.room == room), None)
    if share is None or not share.carry:
        return ""
    return f"{share.carry} x {line.material.pack} {line.material.title.lower()} (takes {share.packs:.1f})"


def _mixes(takeoff: Takeoff, room: Room) -> Iterable[Block]:
    """How far a mix goes, what it is mixed with, and why no further."""
    stock = {line.material.slug: line.material for line in takeoff.order.lines}
    rows = [
        f"{stock[m.material].title.lower()} {m.thickness_mm:g} mm, a mix for at most {m.m2_per_mix:.1f} m2 "
        f"({_why(m)}), {m.water_l:.0f} l of water in all, "
        f"about {stock[m.material].water_l_per_pack:g} l to a {stock[m.material].pack}"
        for m in takeoff.order.mixes
        if m.room == room.ref and m.material in stock
    ]
    if rows:
        yield Para("Mixes: " + "; ".join(rows) + ".")


def _why(mix: RoomMix) -> str:
    coats = {"one mix": "both coats from it", "two mixes": "one coat of it"}.get(mix.two_coats, "")
    limit = "so much is in it" if mix.limited_by == "the mix" else "so much can be laid before it stiffens"
    return f"{coats}, {limit}" if coats else limit


def _edges(takeoff: Takeoff, room: Room) -> Iterable[Block]:
    lengths: dict[str, list[float]] = {}
    for edge in takeoff.measured.edges:
        if edge.room == room.ref:
            lengths.setdefault(edge.kind, []).append(edge.length_m)
    if lengths:
        rows = [f"{kind} {sum(some):.2f} m in {len(some)}" for kind, some in lengths.items()]
        yield Para("Angles and beads: " + "; ".join(rows) + ". Longest pieces first, mitred where they meet.")


def _cut_list(takeoff: Takeoff, room: Room) -> Iterable[Block]:
    """The beads of the room as they are cut: lengths by the numbered bar they come from."""
    lists = takeoff.beads.rooms() if takeoff.beads else {}
    if room.ref not in lists:
        return
    titles = {slug: material.title for slug, material in catalogue(takeoff.job).items()}
    bars: dict[str, dict[str, list[str]]] = {}
    for bead, bar, cut in lists[room.ref]:
        joined = f" (part {cut.part} of {cut.parts})" if cut.parts > 1 else ""
        of_bead = bars.setdefault(titles.get(bead, bead), {})
        of_bead.setdefault(f"no. {bar.number} ({bar.stock_m:.1f} m)", []).append(
            f"{cut.length_m:.2f} for {_short((cut.edge,))}{joined}"
        )
    rows = [
        f"{title}: " + "; ".join(f"{bar} {', '.join(cuts)}" for bar, cuts in of_bead.items())
        for title, of_bead in bars.items()
    ]
    yield Para("Cut the beads. " + ". ".join(rows) + ".", small=True)


def _tolerances(takeoff: Takeoff, room: Room) -> Iterable[Block]:
    rows = tolerances(takeoff, [room])
    if rows:
        yield Para(
            "Check: " + "; ".join(f"{r['work'].lower()} {r['limit']} ({r['source']})" for r in rows) + ".", small=True
        )
