"""How figures are written in workings: metres to the millimetre where needed, never fewer than two places."""

from __future__ import annotations

__all__ = ["metres", "square"]


def metres(length: float) -> str:
    """A length for a working: '4.20', '4.205'.

    >>> metres(4.2), metres(4.2049999), metres(0.0)
    ('4.20', '4.205', '0.00')
    """
    text = f"{length:.3f}"
    return text[:-1] if text.endswith("0") else text


def square(area: float) -> str:
    """An area for a working, two places: '10.08'."""
    return f"{area:.2f}"
