"""Every byte of a record bundle's container, so that the same files always make the same bytes.

A bundle is a .zip [1]_ that any program opens, in one form of the many that are possible: entries are stored, not
compressed (FLAC, PNG and PDF are compressed as they are); sorted by the UTF-8 bytes of their names; one behind the
other without gaps; dated 1980-01-01 00:00, the first date there is; plain files that may be read by all; names in
UTF-8; no extra fields, no comments, no ZIP64. The layout is written out here and not left to a library, because a
bundle has to be found unchanged years later, by another version of that library too.

References
----------
.. [1] PKWARE: .ZIP File Format Specification (APPNOTE), 4.3.7 (local file header), 4.3.12 (central directory),
   4.3.16 (end of central directory record), 4.4 (fields), appendix D (UTF-8 names).
"""

import struct
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

HEAD = struct.Struct("<4s5H3L2H")
"""Local file header, without its name."""
LINE = struct.Struct("<4s6H3L5H2L")
"""Line of the central directory, without its name."""
END = struct.Struct("<4s4H2LH")
"""End of central directory record."""

HEAD_MARK, LINE_MARK, END_MARK = b"PK\3\4", b"PK\1\2", b"PK\5\6"

STORED = 0
ENCRYPTED_FLAG = 1 << 0
_UTF8_FLAG = 1 << 11
_VERSION = 20
_MADE_BY = 3 << 8 | _VERSION  # 3 is Unix: gives the upper half of the attributes their meaning
_TIME, _DATE = 0, 1 << 5 | 1
_ATTRIBUTES = 0o100644 << 16


@dataclass(frozen=True)
class Piece:
    """A piece of the container.

    Attributes
    ----------
    name : str or None
        Of the file that it belongs to; None for the end.
    what : str
        What it is of it.
    content : bytes
        What it has to be.
    """

    name: str | None
    what: str
    content: bytes


def pieces(files: Mapping[str, bytes]) -> Iterator[Piece]:
    """Lay a bundle out, piece by piece, from its first byte to its last."""
    offset = 0
    lines = []
    for name in sorted(files, key=lambda name: name.encode("utf-8")):
        content, encoded = files[name], name.encode("utf-8")
        common = (_VERSION, _UTF8_FLAG, STORED, _TIME, _DATE, zlib.crc32(content), len(content), len(content))
        head = HEAD.pack(HEAD_MARK, *common, len(encoded), 0) + encoded
        line = (
            LINE.pack(LINE_MARK, _MADE_BY, *common, len(encoded), 0, 0, 0, 0, _ATTRIBUTES, offset) + encoded
        )
        yield Piece(name, "head", head)
        yield Piece(name, "content", content)
        lines.append(Piece(name, "line in the directory", line))
        offset += len(head) + len(content)
    yield from lines
    n_bytes = sum(len(line.content) for line in lines)
    yield Piece(None, "end", END.pack(END_MARK, 0, 0, len(lines), len(lines), n_bytes, offset, 0))
