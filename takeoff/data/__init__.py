"""Shipped defaults as TOML, every value with its source. Read with `load`."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

__all__ = ["load"]


@cache
def load(name: str) -> dict[str, Any]:
    """The shipped table `name` (without ``.toml``). Treat it as read-only: it is shared."""
    return tomllib.loads(files("takeoff.data").joinpath(f"{name}.toml").read_text(encoding="utf-8"))
