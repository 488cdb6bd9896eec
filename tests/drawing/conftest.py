"""Shared by the tests of reading: the corpus beside the project, and drawings made on the spot."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest

CORPUS = Path(__file__).resolve().parents[3] / "shared" / "corpus"


def corpus(pattern: str) -> list[Path]:
    """Drawings of the shared corpus, none where it is absent."""
    return sorted(CORPUS.glob(pattern))


@pytest.fixture
def make(tmp_path: Path) -> Callable[..., Path]:
    """Writes a drawing: give it a function that draws into a new document."""

    def write(draw: Callable[[Any], None], version: str = "R2010", name: str = "made.dxf", **save: Any) -> Path:
        document = ezdxf.new(version, setup=True)
        draw(document)
        document.saveas(tmp_path / name, **save)
        return tmp_path / name

    return write
