"""Operations cut into pieces that can be placed on days, each knowing what it waits for.

A room's operations of one stage make one piece, cut where it is longer than a day: a coat by whole surfaces and whole
mixes, so that none is left half done or unset at knocking-off time; other work into lengths of an hour that fill a
day. Passes of a coat follow each other; boards wait for the services behind them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from takeoff.data import load
from takeoff.job import Job
from takeoff.programme.coats import Coat, Rules, coats_of, mixes_in, until_set_h
from takeoff.programme.model import Piece
from takeoff.programme.services import STAGE as SERVICES
from takeoff.programme.services import services_piece
from takeoff.query import Query, query
from takeoff.work.model import Operation

__all__ = ["make_pieces"]

CHUNK_HOURS = 1.0
"""Work that may be broken off is placed in lengths of this; a judgement that keeps days full."""
_NEARLY = 1e-9

After = tuple[tuple[str, float, str], ...]
"""(ref of the piece before, wait in hours, why)."""


@dataclass(frozen=True, slots=True)
class _Done:
    """What stands before a stage in its room: the pieces of an earlier stage, and the kinds of plaster in them."""

    refs: tuple[str, ...]
    kinds: frozenset[str] = frozenset()


@dataclass(frozen=True)
class _Site:
    areas: Mapping[str, float]
    rules: Rules
    job: Job
    before: dict[str, dict[str, _Done]] = field(default_factory=dict)
    """By room and stage, in the order of work: filled while the pieces are made."""


def make_pieces(
    operations: Iterable[Operation],
    areas: Mapping[str, float],
    job: Job,
    rules: Rules | None = None,
    closed: Iterable[str] = (),
) -> tuple[tuple[Piece, ...], tuple[Query, ...]]:
    """The pieces in order of room and stage, and a query about the coats that this gang cannot finish in a day.

    `areas` gives each surface's net area in m2, by ref: coats are cut in proportion to them; `rules` how their plaster
    is mixed (`coats.mix_rules`); `closed` the rooms in which boards wait for services.
    """
    stages: dict[tuple[str, str], list[Operation]] = {}
    for operation in operations:
        if operation.hours > 0:
            stages.setdefault((operation.room, operation.stage), []).append(operation)
    waiting = [(room, SERVICES) for room in closed if (room, "board") in stages]
    order = {stage: n for n, stage in enumerate(load("programme")["order"])}
    site = _Site(areas, rules or {}, job)
    rooms = {room: n for n, room in enumerate(dict.fromkeys(room for room, _ in stages))}
    pieces: list[Piece] = []
    for room, stage in sorted([*stages, *waiting], key=lambda key: (rooms[key[0]], order[key[1]])):
        if stage == SERVICES:
            pieces.append(_services(room, site))
        else:
            pieces += _stage_pieces(room, stage, stages[room, stage], site)
    long = [p for p in pieces if p.unbroken and max(p.hours, p.until_set_h) > job.gang.hours_per_day + _NEARLY]
    return tuple(pieces), tuple(_too_long(long))


def _services(room: str, site: _Site) -> Piece:
    """The wait for other trades: after what must be off and re-fixed first."""
    first = load("programme")["services"]["after"]
    done = site.before.get(room, {})
    after = tuple((ref, 0.0, "order of work") for stage in first if stage in done for ref in done[stage].refs)
    piece = services_piece(room, after, site.job)
    site.before.setdefault(room, {})[SERVICES] = _Done((piece.ref,))
    return piece


def _after(stage: str, before: Mapping[str, _Done]) -> After:
    """What a piece of `stage` waits for: every piece of the stages before it in its room, with the wait."""
    ignored = SERVICES if stage not in load("programme")["services"]["before"] else ""
    return tuple(
        (ref, *_wait(earlier, stage, done.kinds))
        for earlier, done in before.items()
        if earlier != ignored
        for ref in done.refs
    )


def _wait(earlier: str, stage: str, kinds: frozenset[str]) -> tuple[float, str]:
    """(hours, why) between two stages of a room, or two passes of one; `kinds` of plaster laid in the earlier one."""
    rows = [
        (float(row["hours"]), str(row["why"]))
        for row in load("programme")["waits"]
        if row["before"] == earlier and stage in row["after"] and row.get("kind", "") in kinds | {""}
    ]
    return max(rows, default=(0.0, "order of work"))


def _stage_pieces(room: str, stage: str, operations: Sequence[Operation], site: _Site) -> list[Piece]:
    unbroken = stage in load("programme")["unbroken"]
    people = min(site.job.gang.people, 2 if any(o.task in load("programme")["together"] for o in operations) else 1)
    passes: list[list[list[Coat]]]
    if unbroken:
        passes = [list(_parts(coats, site.job.gang.hours_per_day)) for coats in _passes(operations, site)]
    else:
        passes = [[[Coat(h)] for h in _lengths(sum(o.hours for o in operations) / people)]]
    count = sum(len(parts) for parts in passes)
    title = ", ".join(dict.fromkeys(o.title for o in operations))
    refs = tuple(o.ref for o in operations)
    after = _after(stage, site.before.get(room, {}))
    made: list[Piece] = []
    for parts in passes:
        earlier = len(made)
        for coats in parts:
            n = len(made) + 1
            part, of = (f"-{n}", f" (part {n} of {count})") if count > 1 else ("", "")
            hands = _hands(coats, site.job) if unbroken else people
            length = sum(c.hours for c in coats) / (hands if unbroken else 1)
            piece = Piece(
                f"{room}-{stage}{part}", room, stage, title + of, length, hands, after, unbroken, refs,
                mixes=mixes_in(coats), until_set_h=until_set_h(coats, hands) if unbroken else 0.0,
            )  # fmt: skip
            made.append(piece)
        after = tuple((piece.ref, *_wait(stage, stage, _kinds(parts))) for piece in made[earlier:])
    kinds = _kinds(coats for parts in passes for coats in parts)
    site.before.setdefault(room, {})[stage] = _Done(tuple(piece.ref for piece in made), kinds)
    return made


def _kinds(parts: Iterable[Sequence[Coat]]) -> frozenset[str]:
    return frozenset(coat.rule.kind for coats in parts for coat in coats if coat.rule)


def _lengths(hours: float) -> list[float]:
    """Whole lengths and the rest: whole quarter hours leave no gaps in a day."""
    whole = int(hours / CHUNK_HOURS + _NEARLY)
    rest = hours - whole * CHUNK_HOURS
    return [CHUNK_HOURS] * whole + ([rest] if rest > _NEARLY or not whole else [])


def _passes(operations: Sequence[Operation], site: _Site) -> list[list[Coat]]:
    """The coats of a stage, pass by pass over all its operations."""
    each = [coats_of(o, site.areas, site.rules, CHUNK_HOURS) for o in operations]
    most = max(len(passes) for passes in each)
    return [[coat for passes in each if n < len(passes) for coat in passes[n]] for n in range(most)]


def _parts(coats: Sequence[Coat], most_h: float) -> Iterator[list[Coat]]:
    """Whole coats together as long as one person lays them within `most_h`, until their last mix has set."""
    part: list[Coat] = []
    for coat in coats:
        if part and until_set_h([*part, coat], 1) > most_h + _NEARLY:
            yield part
            part = []
        part = [*part, coat]
    if part:
        yield part


def _hands(coats: Sequence[Coat], job: Job) -> int:
    """The fewest people who finish the coats within a day; all of them where none do."""
    people = range(1, job.gang.people + 1)
    fit = (n for n in people if until_set_h(coats, n) <= job.gang.hours_per_day + _NEARLY)
    return next(fit, job.gang.people)


def _too_long(pieces: Sequence[Piece]) -> list[Query]:
    """One question for all coats that are longer than the day."""
    if not pieces:
        return []
    longest = ", ".join(f"{p.room} {p.stage} {max(p.hours, p.until_set_h):.1f} h" for p in pieces[:6])
    longest += " ..." if len(pieces) > 6 else ""
    says = (
        f"A coat on one surface takes longer than your day, laid without a break until it has set: {longest}. Set more "
        "people to it, a longer day, or plan a joint where the coat may stop."
    )
    about = tuple(dict.fromkeys(p.room for p in pieces))
    return [query("coat-longer-than-day", says, about=about, answer="[gang]\npeople = 2")]
