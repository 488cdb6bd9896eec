"""Python's search for objects that only hold each other, put off while a drawing is worked on.

A takeoff makes hundreds of thousands of small objects that live to its end. Each search walks over all of them and
finds next to nothing, and together the searches took a fifth of the time of a takeoff. What is put off is done when
the outermost `put_off` is left, so a program that makes many takeoffs does not grow.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["put_off"]


@contextmanager
def put_off() -> Iterator[None]:
    """No search while this is entered, as ``with put_off():`` or as the decorator ``@put_off()``."""
    searched = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searched:
            gc.enable()
