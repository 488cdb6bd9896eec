"""The state of the session in one answer: version, job file, what can be undone, what is under way."""

from __future__ import annotations

from takeoff.review.session import Session
from takeoff.review.views.values import Json

__all__ = ["state"]


def state(session: Session) -> Json:
    shown = session.shown
    return {
        "version": shown.version if shown else 0,
        "mark": str(session.bell.rings),
        "job": {
            "path_name": session.job_file.name,
            "name": shown.job.job.name if shown else "",
            "text": shown.text if shown else "",
        },
        "undo": None,
        "redo": None,
        "reading": {"says": session.step, "done": 0.5} if session.step else None,
        "fault": session.fault,
        "documents": {"state": "none", "says": "", "done": 0.0, "files": [], "version": 0},
        "has_drawing": shown is not None,
    }
