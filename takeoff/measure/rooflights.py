"""Rooflights: the sides of the shaft from the ceiling up to the frame, where they are plastered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from takeoff.job import Job
from takeoff.measure._figures import metres
from takeoff.measure.model import Edge, Surface
from takeoff.measure.placing import said_flag, said_reveal_depth, stated_height
from takeoff.measure.reveals import reveal_surface
from takeoff.measure.rules import Rule, effect_of_void
from takeoff.plan.model import Opening

__all__ = ["depth_of_shaft", "shaft_edges", "shaft_surfaces"]

SIDES = ("left", "right", "head", "cill")


def depth_of_shaft(light: Opening, job: Job) -> float | None:
    """Depth in metres of the plastered shaft: 0 where it is lined, None where nobody has said."""
    if said_flag(light, job, "lining", False):
        return 0.0
    return said_reveal_depth(light, job)


def shaft_surfaces(ceiling: Surface, lights: Sequence[Opening], rule: Rule, job: Job) -> Iterator[Surface]:
    """The four sides of the shaft of each rooflight that comes off `ceiling`."""
    cut = {d.opening for d in ceiling.deductions}
    for light in lights:
        depth = depth_of_shaft(light, job)
        if light.ref in cut and depth:
            height = stated_height(light, job)
            effect = effect_of_void(rule, light.width_m * height)
            for part in SIDES:
                length = height if part in ("left", "right") else light.width_m
                ref = f"{ceiling.ref}-{light.ref}-{part}"
                yield reveal_surface(ref, ceiling.room, light, part, (length, depth), "side of the shaft", effect, rule)


def shaft_edges(surfaces: Sequence[Surface], lights: Sequence[Opening]) -> Iterator[Edge]:
    """The arris at the foot of each side of a shaft, and the stop at the frame. Refs are given by the caller."""
    refs = {light.ref for light in lights}
    for surface in surfaces:
        if surface.kind == "reveal" and surface.opening in refs:
            how = f"{surface.part} of {surface.opening}, {metres(surface.length_m)}"
            ceiling = surface.ref.rsplit("-", 2)[0]
            meets = (ceiling, surface.ref)
            yield Edge("", surface.room, "opening angle", surface.length_m, how, meets, surface.opening)
            at_frame = f"{how}, at the frame"
            yield Edge("", surface.room, "stop", surface.length_m, at_frame, (surface.ref,), surface.opening)
