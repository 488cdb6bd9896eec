"""How far a command is, told beside its output so that the output can be piped elsewhere."""

from __future__ import annotations

import sys

import click

__all__ = ["counted", "step"]


def step(message: str) -> None:
    """A step that begins, on a line of its own."""
    click.echo(f"{message} ...", err=True)


def counted(message: str) -> None:
    """Progress that comes often: on one line of a terminal, line by line elsewhere."""
    terminal = sys.stderr.isatty()
    click.echo(f"\r{message:78}" if terminal else message, err=True, nl=not terminal)
