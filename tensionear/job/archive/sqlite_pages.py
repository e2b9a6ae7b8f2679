"""Rows of an SQLite file whose beginning, tables or indexes may be damaged, read page by page without SQLite.

SQLite itself finds a row only by way of the pages above it, and gives up where one of those is damaged. Here every
page of the file is looked at, and what is a leaf of a table is read by itself [1]_. To which table a row belongs has
to be told from its values; a row may come twice where SQLite moved it and left the old page unused. Commits that are
only in the write-ahead log beside the file count, as they do for SQLite.

Nothing is opened for writing, and no lock is taken: nobody should be at work with the file.

References
----------
.. [1] SQLite, Database File Format: 1.2 to 1.6, 2.1, 4 (https://www.sqlite.org/fileformat.html).
"""

import os
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import BinaryIO, Self

Value = int | float | str | bytes | None

USUAL_PAGE_BYTES = 4096
_SMALLEST_PAGE, _LARGEST_PAGE = 512, 65_536
_MAGIC = b"SQLite format 3\0"
_LEAF_OF_TABLE = 0x0D
_HEADER_BYTES = 100
_LOG_HEADER_BYTES, _FRAME_HEADER_BYTES = 32, 24
_LOG_MAGIC = 0x377F0682
_INTEGER_BYTES = (0, 1, 2, 3, 4, 6, 8)


@dataclass(frozen=True)
class FoundRow:
    """A row as it lies in the file.

    Attributes
    ----------
    page : int
        From 1.
    rowid : int
    values : tuple of Value or None
        None: it cannot be read. A text that is no UTF-8 makes a row unreadable.
    """

    page: int
    rowid: int
    values: tuple[Value, ...] | None


class SqlitePages:
    """The pages of an SQLite file, as they are after the last commit of its write-ahead log.

    Parameters
    ----------
    path : Path
        Of the file.

    Raises
    ------
    OSError
        If it cannot be read.
    """

    def __init__(self, path: Path) -> None:
        self._file = path.open("rb")
        self._log: BinaryIO | None = None
        try:
            self._n_file_bytes = os.fstat(self._file.fileno()).st_size
            header = self._file.read(_HEADER_BYTES)
            self.page_bytes, reserved = _page_size(header)
            self._usable = self.page_bytes - reserved
            self._in_log: dict[int, int] = {}
            log = path.with_name(f"{path.name}-wal")
            if log.exists():
                self._log = log.open("rb")
                self._in_log = _committed(self._log, self.page_bytes)
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the files."""
        self._file.close()
        if self._log is not None:
            self._log.close()

    @property
    def n_pages(self) -> int:
        """Of the file and its log; a last page that was cut off counts."""
        return max(-(-self._n_file_bytes // self.page_bytes), max(self._in_log, default=0))

    def rows(self, page: int) -> Iterator[FoundRow]:
        """Rows on a page, if it is a leaf of a table.

        Parameters
        ----------
        page : int
            From 1.
        """
        content = self._page(page)
        start = _HEADER_BYTES if page == 1 else 0
        if len(content) < start + 8 or content[start] != _LEAF_OF_TABLE:
            return
        n_cells = int.from_bytes(content[start + 3 : start + 5], "big")
        end_of_pointers = start + 8 + 2 * n_cells
        if end_of_pointers > self._usable:
            return
        for place in range(start + 8, end_of_pointers, 2):
            cell = int.from_bytes(content[place : place + 2], "big")
            row = self._row(page, content, cell) if end_of_pointers <= cell < self._usable else None
            yield row or FoundRow(page, 0, None)

    def _row(self, page: int, content: bytes, cell: int) -> FoundRow | None:
        try:
            n_payload, at = _varint(content, cell)
            rowid, at = _varint(content, at)
            payload = self._payload(content, at, n_payload)
            return FoundRow(page, _signed(rowid), _values(payload))
        except (IndexError, ValueError, struct.error):
            return None

    def _payload(self, content: bytes, at: int, n_payload: int) -> bytes:
        """Bytes of a row: on its page as far as they go, then on overflow pages."""
        if n_payload > self.n_pages * self.page_bytes:
            raise ValueError("longer than the file")
        most = self._usable - 35
        if n_payload <= most:
            if at + n_payload > self._usable:
                raise ValueError("beyond the page")
            return content[at : at + n_payload]
        least = (self._usable - 12) * 32 // 255 - 23
        here = least + (n_payload - least) % (self._usable - 4)
        here = here if here <= most else least
        if at + here + 4 > self._usable:
            raise ValueError("beyond the page")
        parts, missing = [content[at : at + here]], n_payload - here
        following = int.from_bytes(content[at + here : at + here + 4], "big")
        while missing > 0:
            if not 1 < following <= self.n_pages:
                raise ValueError("the rest lies nowhere")
            overflow = self._page(following)
            part = overflow[4 : min(self._usable, 4 + missing)]
            if not part:
                raise ValueError("the rest was cut off")
            parts.append(part)
            missing -= len(part)
            following = int.from_bytes(overflow[:4], "big")
        return b"".join(parts)

    def _page(self, page: int) -> bytes:
        in_log = self._in_log.get(page)
        if in_log is not None and self._log is not None:
            return _read(self._log, in_log, self.page_bytes)
        return _read(self._file, (page - 1) * self.page_bytes, self.page_bytes)


def _read(file: BinaryIO, at: int, n_bytes: int) -> bytes:
    """Bytes of a file; sectors that the disk refuses are as if they were zero."""
    try:
        file.seek(at)
        return file.read(n_bytes)
    except OSError:
        return bytes(n_bytes)


def _page_size(header: bytes) -> tuple[int, int]:
    """Bytes of a page, and how many at its end are reserved."""
    if header.startswith(_MAGIC):
        size = int.from_bytes(header[16:18], "big")
        size = _LARGEST_PAGE if size == 1 else size
        if _SMALLEST_PAGE <= size <= _LARGEST_PAGE and size & (size - 1) == 0:
            return size, header[20]
    return USUAL_PAGE_BYTES, 0


def _committed(log: BinaryIO, page_bytes: int) -> dict[int, int]:
    """Where in a write-ahead log the last committed form of each page is."""
    header = log.read(_LOG_HEADER_BYTES)
    if len(header) < _LOG_HEADER_BYTES:
        return {}
    magic, _, size, _, *salts = struct.unpack(">6I", header[:24])
    if magic & ~1 != _LOG_MAGIC or size != page_bytes:
        return {}
    words = ">" if magic & 1 else "<"
    checked = _checksum(header[:24], words, (0, 0))
    if checked != struct.unpack(">2I", header[24:32]):
        return {}
    committed: dict[int, int] = {}
    since: dict[int, int] = {}
    while True:
        frame = log.read(_FRAME_HEADER_BYTES + page_bytes)
        if len(frame) < _FRAME_HEADER_BYTES + page_bytes:
            return committed
        page, n_pages_after, *rest = struct.unpack(">6I", frame[:_FRAME_HEADER_BYTES])
        checked = _checksum(frame[_FRAME_HEADER_BYTES:], words, _checksum(frame[:8], words, checked))
        if rest[:2] != salts or tuple(rest[2:]) != checked:
            return committed
        since[page] = log.tell() - page_bytes
        if n_pages_after:
            committed |= since
            since = {}


def _checksum(content: bytes, words: str, before: tuple[int, int]) -> tuple[int, int]:
    first, second = before
    numbers = struct.unpack(f"{words}{len(content) // 4}I", content)
    for one, other in zip(numbers[::2], numbers[1::2], strict=True):
        first = (first + one + second) & 0xFFFFFFFF
        second = (second + other + first) & 0xFFFFFFFF
    return first, second


def _varint(content: bytes, at: int) -> tuple[int, int]:
    """A number of 1 to 9 bytes, and where it ends."""
    number = 0
    for place in range(at, at + 8):
        byte = content[place]
        number = number << 7 | byte & 0x7F
        if byte < 0x80:
            return number, place + 1
    return number << 8 | content[at + 8], at + 9


def _signed(number: int) -> int:
    return number - (1 << 64) if number >= 1 << 63 else number


def _values(payload: bytes) -> tuple[Value, ...]:
    """Values of a row; ValueError if its bytes do not fit its own header."""
    n_header, at = _varint(payload, 0)
    body = n_header
    values: list[Value] = []
    while at < n_header:
        kind, at = _varint(payload, at)
        value, n_bytes = _value(payload, body, kind)
        values.append(value)
        body += n_bytes
    if at != n_header or body != len(payload):
        raise ValueError("the row is not as long as it says")
    return tuple(values)


def _value(payload: bytes, at: int, kind: int) -> tuple[Value, int]:
    if kind == 0:
        return None, 0
    if kind < len(_INTEGER_BYTES):
        n_bytes = _INTEGER_BYTES[kind]
        return int.from_bytes(payload[at : at + n_bytes], "big", signed=True), n_bytes
    if kind == 7:
        return struct.unpack(">d", payload[at : at + 8])[0], 8
    if kind in (8, 9):
        return kind - 8, 0
    if kind < 12:
        raise ValueError("no such kind of value")
    n_bytes = (kind - 12) // 2
    content = payload[at : at + n_bytes]
    return (content.decode("utf-8") if kind % 2 else content), n_bytes
