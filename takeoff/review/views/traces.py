"""Where a figure comes from: the drawn things behind surfaces, edges and openings, to be pointed out on the plan."""

from __future__ import annotations

from collections.abc import Iterable

from takeoff.measure.model import Edge, Surface
from takeoff.record import Takeoff
from takeoff.review.views.values import Json

__all__ = ["Traces"]


class Traces:
    """Looks up, by the ref of a surface, edge or opening, the handles of what was drawn for it."""

    def __init__(self, takeoff: Takeoff) -> None:
        self.surfaces = {s.ref: s for s in takeoff.measured.surfaces}
        self.edges = {e.ref: e for e in takeoff.measured.edges}
        self._openings = {o.ref: o.handles for o in takeoff.plan.openings}
        self.rooms = {r.ref: r for r in takeoff.plan.rooms}

    def handles(self, refs: Iterable[str]) -> list[str]:
        """Handles of all that `refs` name, each once; what is no ref, such as 'walls', has none."""
        return list(dict.fromkeys(handle for ref in refs for handle in self._of(ref)))

    def source(self, what: str, rule: str, refs: Iterable[str]) -> Json:
        return {"what": what, "rule": rule, "handles": self.handles(refs)}

    def place(self, ref: str) -> Surface | Edge | None:
        return self.surfaces.get(ref) or self.edges.get(ref)

    def _of(self, ref: str) -> tuple[str, ...]:
        if surface := self.surfaces.get(ref):
            return surface.handles or self._openings.get(surface.opening, ())
        if edge := self.edges.get(ref):
            own = self._openings.get(edge.opening, ())
            return own or tuple(handle for name in edge.surfaces for handle in self._of(name))
        if room := self.rooms.get(ref):
            return room.handles
        return self._openings.get(ref, ())
