"""The job file that a job begins with on the page: it names its drawing, and what the page is told comes after.

`takeoff start` writes what was found into the file as remarks; here the page shows what was found, and the file stays
short.
"""

from __future__ import annotations

from pathlib import Path

from takeoff.documents.toml_text import one_line, toml_value
from takeoff.review.ledger import Ledger
from takeoff.review.uploads import free_name

__all__ = ["begun_for"]

TEXT = """\
# Job file for {title}. What you decide on the review page is written here; every key is described in docs/job-file.md.

[drawing]
file = {name}
"""


def begun_for(drawing: Path) -> Path:
    """A new job file beside `drawing`, of its name, or with a number where that is taken. Returns its path."""
    text = TEXT.format(title=one_line(drawing.name), name=toml_value(drawing.name))
    path = next(path for path in free_name(drawing.parent, f"{drawing.stem}.toml") if not path.exists())
    return Ledger.start(path, text).path
