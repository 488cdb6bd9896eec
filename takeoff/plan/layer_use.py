"""What each layer was taken for, in the words that people are shown."""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.drawing.model import Drawing
from takeoff.plan.enclose import Enclosure
from takeoff.plan.layers import Role

__all__ = ["layer_use"]


def layer_use(drawing: Drawing, roles: Sequence[Role], enclosure: Enclosure) -> dict[str, str]:
    """What each layer was taken for; of a layer told apart by pens, each pen too."""
    use = {}
    for n, layer in enumerate(drawing.layers):
        use[layer.name] = _use(roles[n].name, bool(enclosure.fabric_layers[n]))
        if layer.pen_of and enclosure.fabric_layers[n]:
            use[layer.pen_of] = use[layer.name]
    return use


def _use(role: str, fabric: bool) -> str:
    if fabric:
        return "walls" if role != "column" else "columns"
    if role in ("door", "window", "opening", "text", "dimension"):
        return {"door": "doors", "window": "windows", "opening": "openings"}.get(role, role)
    return f"ignored: {role}"
