"""Which texts stand together as one label: found with a tree of boxes, no step compares all with all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from shapely import STRtree, box

from takeoff.drawing.model import Floats, Text
from takeoff.geometry.near import met
from takeoff.plan._clusters import components

__all__ = ["groups_of"]

_LINE_STEP = 2.1
"""Lines of a label are no farther apart, middle to middle, than so many heights of the larger print."""
_BESIDE = 1.2
"""Texts on one line belong together when the gap is no wider than so many heights."""
_SAME_LINE = 0.4
"""Texts whose middles are no farther apart than so many heights stand on one line."""
_HEIGHT_RATIO = 2.2
_ALIGNED = 1.0
"""Left ends or middles within so many heights are aligned."""


def groups_of(texts: Sequence[Text], symbols: Sequence[int]) -> list[list[int]]:
    """Groups of indices of `texts`, each from top to bottom and left to right; `symbols` names the symbol whose
    attribute a text is, or -1."""
    if not texts:
        return []
    pairs = [*_by_symbol(symbols), *_by_entity(texts)]
    by_turn: dict[int, list[int]] = defaultdict(list)
    for i, text in enumerate(texts):
        by_turn[round(np.degrees(text.rotation)) % 360].append(i)
    turned = np.empty((len(texts), 2))
    for degrees, members in by_turn.items():
        index = np.array(members)
        turned[index] = _level(np.array([texts[i].at for i in members]), np.radians(degrees))
        pairs += _near_pairs(texts, symbols, index, turned[index])
    label = components(len(texts), np.array(pairs, dtype=np.int64).reshape(-1, 2))
    groups: dict[int, list[int]] = defaultdict(list)
    for i, first in enumerate(label):
        groups[int(first)].append(i)
    return [_as_read(g, turned, np.array([texts[i].height for i in g])) for g in groups.values()]


def _as_read(group: list[int], turned: Floats, height: Floats) -> list[int]:
    """A group from top to bottom, texts on one line from left to right."""
    by_height = sorted(group, key=lambda i: -turned[i, 1])
    line, lines = 0, {by_height[0]: 0}
    for above, i in pairwise(by_height):
        line += turned[above, 1] - turned[i, 1] > _SAME_LINE * float(height.min())
        lines[i] = line
    return sorted(group, key=lambda i: (lines[i], turned[i, 0]))


def _level(at: Floats, turn: float) -> Floats:
    """Points turned so that text at angle `turn` runs level."""
    c, s = np.cos(turn), np.sin(turn)
    return np.stack([at[:, 0] * c + at[:, 1] * s, -at[:, 0] * s + at[:, 1] * c], axis=1)


def _by_symbol(symbols: Sequence[int]) -> list[tuple[int, int]]:
    first: dict[int, int] = {}
    return [(first.setdefault(s, i), i) for i, s in enumerate(symbols) if s >= 0]


def _by_entity(texts: Sequence[Text]) -> list[tuple[int, int]]:
    """Paragraphs of one text belong together."""
    first: dict[int, int] = {}
    return [(first.setdefault(t.entity, i), i) for i, t in enumerate(texts) if not t.tag]


def _near_pairs(
    texts: Sequence[Text], symbols: Sequence[int], index: npt.NDArray[np.int64], at: Floats
) -> list[tuple[int, int]]:
    """Pairs of texts of one direction that stand close under or beside one another."""
    height = np.array([texts[i].height for i in index])
    width = np.maximum([texts[i].width for i in index], height * 0.5)
    left, right = at[:, 0] - width / 2, at[:, 0] + width / 2
    reach = _LINE_STEP * height / 2
    tree = STRtree(box(left - _BESIDE * height / 2, at[:, 1] - reach, right + _BESIDE * height / 2, at[:, 1] + reach))
    symbol = np.array([symbols[i] for i in index])
    pairs = []
    for a, b in met("texts", tree, tree.geometries, predicate="intersects"):
        a, b = a[a < b], b[a < b]
        tall, short = np.maximum(height[a], height[b]), np.minimum(height[a], height[b])
        apart = np.abs(at[a, 1] - at[b, 1])
        overlap = np.minimum(right[a], right[b]) - np.maximum(left[a], left[b])
        aligned = (np.abs(at[a, 0] - at[b, 0]) <= _ALIGNED * tall) | (np.abs(left[a] - left[b]) <= _ALIGNED * tall)
        facing = (overlap >= 0.5 * np.minimum(width[a], width[b])) | (aligned & (overlap > 0))
        under = (apart <= _LINE_STEP * tall) & (apart > _SAME_LINE * tall) & facing
        beside = (apart <= _SAME_LINE * tall) & (overlap <= 0.5 * short) & (overlap >= -_BESIDE * tall)
        own = (symbol[a] < 0) & (symbol[b] < 0)
        near = (under | beside) & (tall <= _HEIGHT_RATIO * short) & own
        pairs.append(index[np.column_stack([a[near], b[near]])])
    return [(int(i), int(j)) for i, j in np.concatenate(pairs)] if pairs else []
