"""The state of the session in one answer: version, job file, what can be undone, what is under way."""

from __future__ import annotations

from takeoff.documents.safe_text import clean
from takeoff.review.making import Making, title_of
from takeoff.review.session import Session
from takeoff.review.views.values import Json

__all__ = ["state"]


def state(session: Session) -> Json:
    """The answer of /api/state. The mark is taken first: what happens meanwhile then counts as news."""
    mark = str(session.bell.rings)
    seen, shown, step = session.seen, session.shown, session.step
    return {
        "version": seen.version if seen else 0,
        "mark": mark,
        "job": {
            "path_name": session.job_file.name if session.job_file else "",
            "name": clean(shown.job.job.name) if shown else "",
            "text": seen.content.decode("utf-8", "replace") if seen else "",
        },
        "undo": seen.undo if seen else None,
        "redo": seen.redo if seen else None,
        "reading": {"says": clean(step[0]), "done": step[1]} if step else None,
        "fault": session.fault,
        "documents": _documents(session.documents),
        "has_drawing": shown is not None,
    }


def _documents(documents: Making) -> Json:
    made = documents.made
    return {
        "state": documents.state,
        "says": clean(documents.says),
        "done": documents.done,
        "files": [
            {"name": name, "title": title_of(name), "size": len(content)}
            for name, content in (made.files.items() if made else ())
        ],
        "version": made.version if made else 0,
    }
