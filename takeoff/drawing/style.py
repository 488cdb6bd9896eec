"""What is seen and how: layers on and off, broken line types, colours by layer and by block."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from takeoff.drawing.dynamic import Settings
from takeoff.drawing.model import Layer
from takeoff.drawing.words import sound

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

__all__ = ["BY_BLOCK", "BY_LAYER", "INHERIT", "Styles", "styles_of"]

INHERIT = -1
"""Layer number of an entity drawn on layer 0 inside a block: it takes the layer of the block reference."""
BY_LAYER = 2
"""Dash code: as the layer has it. 0 is unbroken, 1 broken."""
BY_BLOCK = 3
"""Dash code: as the block reference has it."""


@dataclass
class Styles:
    """The tables of one file, grown when an entity names a layer that the file does not list."""

    layers: list[Layer] = field(default_factory=list)
    number: dict[str, int] = field(default_factory=dict)
    """Layer name in lower case (layer names know no case) -> index."""
    off: list[bool] = field(default_factory=list)
    frozen: list[bool] = field(default_factory=list)
    broken: dict[str, int] = field(default_factory=dict)
    """Line type name -> dash code."""
    narrow: dict[str, float] = field(default_factory=dict)
    """Text style name in lower case -> its width factor."""
    encoding: str = ""
    """What the file's texts are encoded in."""
    settings: Settings | None = None
    """What its dynamic blocks were set to."""

    def layer(self, name: str) -> int:
        """Index of the layer called `name`."""
        known = self.number.get(name)
        if known is not None:
            return known
        key = name.lower()
        if key not in self.number:
            self.add(Layer(sound(name, self.encoding)), key, off=False, frozen=False)
        self.number[name] = self.number[key]
        return self.number[key]

    def add(self, layer: Layer, key: str, *, off: bool, frozen: bool) -> None:
        self.number[key] = len(self.layers)
        self.layers.append(layer)
        self.off.append(off)
        self.frozen.append(frozen)

    def hidden(self, layer: int) -> bool:
        """Is layer number `layer` off or frozen? Never for `INHERIT`: that is told where the block stands."""
        return layer >= 0 and (self.off[layer] or self.frozen[layer])

    def why_hidden(self, layer: int) -> str:
        """The reason for things left out on a hidden layer."""
        return "layer frozen" if self.frozen[layer] else "layer off"

    def dash(self, linetype: str | None) -> int:
        """Dash code of a line type name."""
        if linetype is None:
            return BY_LAYER
        code = self.broken.get(linetype)
        if code is None:
            code = self.broken[linetype] = self.broken.get(linetype.lower(), 0)
        return code

    def resolved(self, layer: int, dash: int, colour: int) -> tuple[int, int]:
        """Dash code and colour of a block reference on `layer`, as its "by block" parts take them."""
        if layer != INHERIT and dash == BY_LAYER:
            dash = int(self.broken.get(self.layers[layer].linetype.lower()) == 1)
        if layer != INHERIT and colour == 256:
            colour = self.layers[layer].colour
        return dash, colour

    def layer_dash(self) -> list[bool]:
        """For each layer: is its own line type broken?"""
        return [self.broken.get(layer.linetype.lower()) == 1 for layer in self.layers]


def styles_of(document: Document) -> Styles:
    """The layer and line type tables of `document`."""
    have: dict[str, Any]
    styles = Styles(encoding=document.encoding, settings=Settings(document))
    styles.broken.update({"bylayer": BY_LAYER, "byblock": BY_BLOCK})
    for linetype in document.linetypes:
        name = str(vars(linetype.dxf).get("name", "")).lower()
        if name not in styles.broken:
            styles.broken[name] = int(_has_gaps(linetype))
    for style in document.styles:
        have = vars(style.dxf)
        styles.narrow[str(have.get("name", "")).lower()] = have.get("width", 1.0) or 1.0
    for layer in document.layers:
        have = vars(layer.dxf)
        colour = int(have.get("color", 7))
        name = str(have.get("name", ""))
        styles.add(
            Layer(sound(name, styles.encoding), have.get("linetype", ""), abs(colour)),
            name.lower(),
            off=colour < 0,
            frozen=bool(int(have.get("flags", 0)) & 1),
        )
    return styles


def _has_gaps(linetype: Any) -> bool:
    """Negative lengths in a line type's pattern are gaps (DXF reference, LTYPE group 49)."""
    return any(tag.code == 49 and tag.value < 0 for tag in linetype.pattern_tags.tags)
