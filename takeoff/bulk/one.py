"""One drawing from request to outcome: the part that runs in a worker, and how it is asked for under limits."""

from __future__ import annotations

import zlib
from pathlib import Path
from tempfile import TemporaryDirectory

from msgspec import msgpack

from takeoff.bulk.model import Asked, Outcome, Request, Summary
from takeoff.documents.write_all import make_documents
from takeoff.errors import BoundsError, JobError, TakeoffError
from takeoff.job import Job, job_of
from takeoff.limited import CrashedError, LimitError, StoppedError, Worker
from takeoff.pipeline import need_rooms, price_up, take_off
from takeoff.record import Takeoff

__all__ = ["attempt", "packed", "take_off_one", "unpacked"]

EFFORT = 1
"""Of 9, put into packing an outcome: pictures and JSON shrink to a sixth, the rest is packed already."""


def attempt(worker: Worker, request: Request, scratch: Path, stop: object = None) -> Outcome:
    """What becomes of `request`, whatever it is. A crash is tried once more in a new process: it may have been the
    doing of the drawing before, or of a computer out of memory. Raises `StoppedError` only.
    """
    for last in (False, True):
        try:
            packet = worker.call(take_off_one, request, str(scratch), stop=stop)  # type: ignore[arg-type]
            return unpacked(packet)
        except StoppedError:
            raise
        except CrashedError as fault:
            if last:
                return Outcome("given up", str(fault))
        except (LimitError, BoundsError) as fault:
            return Outcome("given up", str(fault))
        except TakeoffError as fault:
            return Outcome("refused", str(fault))
    raise AssertionError("not reached")


def take_off_one(request: Request, scratch: str) -> bytes:
    """The packed outcome of `request`, whose files are laid in a folder in `scratch` meanwhile.

    Raises the `TakeoffError` that says why there is none.
    """
    job = _job(request)
    with TemporaryDirectory(dir=scratch) as folder:
        path = _laid_out(request, Path(folder))
        takeoff = take_off(path, job, laid=request.wanted.quote, bounds=request.wanted.bounds)
    need_rooms(takeoff.plan, takeoff.queries)
    if request.wanted.quote:
        takeoff = price_up(takeoff)
    made = make_documents(takeoff, request.wanted.only)
    files = {name: content.encode() if isinstance(content, str) else content for name, content in made.items()}
    return packed(Outcome("done", summary=summary_of(takeoff), files=files))


def _laid_out(request: Request, folder: Path) -> Path:
    """The first drawing, on the disk in `folder` with those beside it. Raises `JobError` for a name that leads out."""
    path = folder / request.drawing_name
    path.write_bytes(request.drawing)
    for name, content in request.more:
        beside = folder / name
        if Path(name).is_absolute() or ".." in Path(name).parts:
            raise JobError(f"{request.job_name}: drawing.more: {name} is not beside the first drawing; put it there.")
        beside.parent.mkdir(parents=True, exist_ok=True)
        beside.write_bytes(content)
    return path


def _job(request: Request) -> Job:
    if request.job is None:
        return Job()
    try:
        return job_of(request.job.decode("utf-8"), request.job_name)
    except UnicodeDecodeError:
        raise JobError(f"{request.job_name}: not a text file in UTF-8. Save the job file as plain text.") from None


def summary_of(takeoff: Takeoff) -> Summary:
    """The totals of a takeoff."""
    rooms = [room for room in takeoff.measured.rooms if room.measured]
    floors = {room.ref: room.floor_area_m2 for room in takeoff.plan.rooms}
    price = takeoff.price
    return Summary(
        rooms=len(rooms),
        openings=len(takeoff.plan.openings),
        floor_m2=_rounded(sum(floors[room.room] for room in rooms)),
        walls_m2=_rounded(sum(room.wall_net_m2 for room in rooms)),
        ceilings_m2=_rounded(sum(room.ceiling_m2 for room in rooms)),
        reveals_m2=_rounded(sum(room.reveal_m2 for room in rooms)),
        hours=_rounded(sum(operation.hours for operation in takeoff.work.operations)),
        weight_kg=_rounded(sum(line.weight_kg for line in takeoff.order.lines)),
        currency=price.currency if price else "",
        before_tax=price.before_tax if price and price.complete else None,
        queries=tuple(Asked(q.ref, q.kind, q.concerns, q.about, q.says) for q in takeoff.queries),
    )


def _rounded(number: float) -> float:
    """To a millionth, as in the JSON document."""
    return round(float(number), 6) + 0.0


def packed(outcome: Outcome) -> bytes:
    """An outcome as bytes, the same for the same outcome."""
    return zlib.compress(msgpack.encode(outcome), EFFORT)


def unpacked(content: bytes) -> Outcome:
    """What `packed` packed. Raises `ValueError` for anything else."""
    try:
        return msgpack.decode(zlib.decompress(content), type=Outcome)
    except zlib.error as fault:
        raise ValueError(str(fault)) from fault
