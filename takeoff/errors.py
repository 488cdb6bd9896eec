"""Errors that reach the user: what was wrong, where, and what to do about it."""

from __future__ import annotations

__all__ = ["BoundsError", "DrawingError", "JobError", "OutputError", "TakeoffError"]


class TakeoffError(Exception):
    """Something the user must put right before the takeoff can go on.

    ``str(error)`` is one clear sentence: what was wrong, where, and what to do.
    """


class DrawingError(TakeoffError, ValueError):
    """The drawing file cannot be read or holds nothing that can be measured."""


class BoundsError(DrawingError):
    """The drawing holds more than a run over many drawings lets one have."""


class JobError(TakeoffError, ValueError):
    """The job file is wrong: names file, line, key, what was wrong and what would be right."""


class OutputError(TakeoffError, OSError):
    """A document cannot be written where it was asked for."""
