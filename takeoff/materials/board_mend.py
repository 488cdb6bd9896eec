"""A laid job made better: surfaces laid anew with the off-cuts of all the others.

Every change is tried on a copy and kept only where it costs less. Sheets keep their numbers until the end; those given
up are left out of the order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from random import Random

from takeoff.materials.board_choice import Choice, choose
from takeoff.materials.board_faces import Face
from takeoff.materials.board_offcuts import Blank, Stack, Worth

__all__ = ["lay_anew"]

USED_WELL = 0.97
SEED = 1
HOPE = 0.5
"""Share of the worth of off-cuts that counts while there are many tries left."""
SLACK_M2 = 0.4
"""How much dearer a layout may be and still be taken as the next start, at first; nought at the end."""

Under = Mapping[str, Mapping[str, Sequence[float]]]


def lay_anew(
    stack: Stack,
    choices: dict[str, Choice],
    faces: Mapping[str, tuple[Face, ...]],
    under: Under,
    ideas: Sequence[Worth],
    tries: int,
) -> tuple[Stack, dict[str, Choice]]:
    """Lay surfaces anew, `tries` times: those that share the worst used sheet, then sets drawn with a fixed seed.

    `choices` by surface. The rest of the sheets that they were cut from is cut anew as well.
    """
    if not choices:
        return stack, choices
    draw = Random(SEED)
    best = (stack, choices)
    slack = SLACK_M2 * stack.spec.cost_per_m2
    for n in range(tries):
        left = 1.0 - n / tries
        chosen = _next(stack, choices, draw, n)
        trial = _relaid(stack.valued(draw.choice(ideas)), choices, faces, under, chosen)
        if trial is None:
            continue
        trial = (trial[0].valued(stack.worth), trial[1])
        if _total(trial, left) < _total((stack, choices), left) + slack * left * draw.random():
            stack, choices = trial
            if _total(trial) < _total(best) - 1e-9:
                best = trial
    return best


def _total(laid: tuple[Stack, Mapping[str, Choice]], left: float = 0.0) -> float:
    """What a layout costs: its sheets and what its joints weigh, less what off-cuts may still save."""
    stack, choices = laid
    return stack.cost + sum(choice.weight for choice in choices.values()) - HOPE * left * stack.kept


def _next(stack: Stack, choices: Mapping[str, Choice], draw: Random, n: int) -> list[str]:
    """Surfaces to lay anew: of the sheets in order of their loss every other time, else drawn."""
    wanted = {d.blank.ref: d.blank for c in choices.values() for d in c.drafts}
    owner = {d.blank.ref: ref for ref, c in choices.items() for d in c.drafts}
    sheets = _by_loss(stack, wanted)
    if not sheets:
        return draw.sample(sorted(choices), 1)
    first = sheets[(n // 2) % len(sheets)] if n % 2 == 0 else draw.choice(sheets)
    found = dict.fromkeys(owner[cut.blank] for cut in stack.cuts if cut.sheet == first)
    if n % 2:
        other = draw.choice(sheets)
        found |= dict.fromkeys(owner[cut.blank] for cut in stack.cuts if cut.sheet == other)
    return list(found)[:3]


def _relaid(
    stack: Stack,
    choices: Mapping[str, Choice],
    faces: Mapping[str, tuple[Face, ...]],
    under: Under,
    chosen: Sequence[str],
) -> tuple[Stack, dict[str, Choice]] | None:
    own = {d.blank.ref for ref in chosen for d in choices[ref].drafts}
    sheets = {cut.sheet for cut in stack.cuts if cut.blank in own}
    wanted = {d.blank.ref: d.blank for c in choices.values() for d in c.drafts}
    others = [wanted[cut.blank] for cut in stack.cuts if cut.sheet in sheets and cut.blank not in own]
    trial = _place_all(_removed(stack, sheets), others)
    changed = {}
    for ref in chosen:
        found = choose(faces[ref], trial.spec, trial, under.get(ref, {}))
        if found is None:
            return None
        changed[ref], trial = found
    return trial, {**choices, **changed}


def _by_loss(stack: Stack, wanted: Mapping[str, Blank]) -> list[int]:
    """Sheets not used well, most wasteful first."""
    used: dict[int, float] = {}
    for cut in stack.cuts:
        blank = wanted[cut.blank]
        notched = sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in blank.notches)
        used[cut.sheet] = used.get(cut.sheet, 0.0) + blank.width * blank.length - notched
    lost = {n: stack.sheets[n].length * stack.sheets[n].width - area for n, area in used.items()}
    open_ones = [n for n in lost if used[n] < USED_WELL * stack.sheets[n].length * stack.sheets[n].width]
    return sorted(open_ones, key=lambda n: (-round(lost[n]), n))


def _place_all(stack: Stack, blanks: Iterable[Blank]) -> Stack:
    for blank in sorted(blanks, key=lambda b: (-b.width * b.length, b.ref)):
        stack.place(blank)
    return stack


def _removed(stack: Stack, sheets: set[int]) -> Stack:
    """A copy without some sheets and all that is cut from them."""
    trial = stack.copy()
    trial.off_cuts = [o for o in trial.off_cuts if o.sheet not in sheets]
    trial.cuts = [c for c in trial.cuts if c.sheet not in sheets]
    trial.given_up = trial.given_up | sheets
    return trial
