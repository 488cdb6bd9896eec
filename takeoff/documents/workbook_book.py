"""A workbook of the library whose file is put together quicker: plain texts as they stand, less effort in packing.

A big takeoff holds thousands of texts and some megabytes of sheets; looking each text over three times and packing
as hard as possible took a third of the time of the whole workbook, for a file a twentieth smaller.
"""

from __future__ import annotations

import io
import re
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from xlsxwriter.packager import Packager
from xlsxwriter.sharedstrings import SharedStrings
from xlsxwriter.workbook import Workbook

__all__ = ["BulkBook"]

EFFORT = 4
"""Of 9, put into packing (zlib level)."""
PACKED_AT = (1980, 1, 1, 0, 0, 0)
"""The first moment a ZIP file can name, so that the same book gives the same bytes."""
_NOT_PLAIN = re.compile("[&<>\x00-\x1f\ufffe\uffff]|_x|^\\s|\\s$")
"""What has to be written otherwise than it stands in a shared string (ECMA-376 part 1, 18.4.12 and 22.4.2.4)."""


class BulkBook(Workbook):  # type: ignore[misc]
    """A workbook that is had from `packed` instead of being written to a file."""

    def __init__(self) -> None:
        super().__init__(io.BytesIO(), {"in_memory": True})
        self._parts = _Parts()

    def packed(self) -> bytes:
        """The workbook's file. Nothing can be added afterwards. The same book gives the same bytes."""
        self.close()
        out = io.BytesIO()
        with ZipFile(out, "w") as file:
            for part, name, _ in self._parts.made:
                file.writestr(ZipInfo(name, PACKED_AT), part.getvalue(), ZIP_DEFLATED, EFFORT)
        return out.getvalue()

    def _get_packager(self) -> Packager:
        return self._parts


class _Parts(Packager):  # type: ignore[misc]
    """Keeps the parts of the file; the library, which would pack them, gets none."""

    def __init__(self) -> None:
        super().__init__()
        self.made: list[tuple[io.StringIO | io.BytesIO, str, bool]] = []

    def _create_package(self) -> list[tuple[io.StringIO | io.BytesIO, str, bool]]:
        self.made = super()._create_package()
        return []

    def _write_shared_strings_file(self) -> None:
        if self.workbook.str_table.count:
            strings = _Strings()
            strings.string_table = self.workbook.str_table
            strings._set_xml_writer(self._filename("xl/sharedStrings.xml"))
            strings._assemble_xml_file()


class _Strings(SharedStrings):  # type: ignore[misc]
    """The texts of the book, each once."""

    def _write_si(self, string: str) -> None:
        if _NOT_PLAIN.search(string):
            super()._write_si(string)
        else:
            self.fh.write(f"<si><t>{string}</t></si>")
