"""The quantities as CSV (RFC 4180): one row a measured quantity, for a spreadsheet or a bill of quantities.

UTF-8 with a byte order mark, because a spreadsheet opened by a double click takes a file without one for the old
code page of the machine and garbles every accent. Read it with the encoding ``utf-8-sig``.
"""

from __future__ import annotations

import csv
import io

from takeoff.documents.safe_text import csv_safe
from takeoff.record import Takeoff

__all__ = ["CSV_COLUMNS", "to_csv"]

CSV_COLUMNS = (
    "plan", "room", "name", "surface", "item", "unit", "gross", "deducted", "net", "rule", "working", "handles",
)  # fmt: skip
DECIMALS = 3
BYTE_ORDER_MARK = "\ufeff"


def to_csv(takeoff: Takeoff) -> str:
    """The quantities of `takeoff`, heading first, lines ended by CR LF. No cell begins a formula."""
    rooms = {room.ref: room for room in takeoff.plan.rooms}
    out = io.StringIO(newline="")
    out.write(BYTE_ORDER_MARK)
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(CSV_COLUMNS)
    for row in takeoff.measured.quantities:
        room = rooms.get(row.room)
        place = (room.plan, row.room, room.name) if room else ("", row.room, "")
        figures = (_figure(row.gross), _figure(row.deducted), _figure(row.net))
        words = (*place, row.surface, row.item, row.unit)
        writer.writerow([*map(csv_safe, words), *figures, *map(csv_safe, (row.rule, row.how, " ".join(row.handles)))])
    return out.getvalue()


def _figure(number: float) -> str:
    return f"{round(number, DECIMALS) + 0.0:.{DECIMALS}f}"
