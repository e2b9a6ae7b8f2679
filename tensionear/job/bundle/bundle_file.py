"""A record bundle as a file: written whole, read as if it came from an enemy.

The container is the one form of .zip that `tensionear.job.bundle.bundle_layout` lays out. What is read is laid out
anew and compared, so that a single bit that is different shows, wherever it is: in a file, in a date, in a flag.
Nothing is ever unpacked to disk; for people, any program that opens .zip does it.
"""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from tensionear.errors import BundleError, InputError
from tensionear.job.bundle.bundle_layout import (
    ENCRYPTED_FLAG,
    END,
    END_MARK,
    HEAD,
    HEAD_MARK,
    LINE,
    LINE_MARK,
    STORED,
    pieces,
)
from tensionear.job.bundle.bundle_names import LONGEST_NAME_BYTES, check_names, shown
from tensionear.job.whole_file import write_whole_file

LARGEST_BUNDLE_BYTES = 2_000_000_000
"""Some hours of sound; a job has minutes. Below what a .zip can hold without its extension ZIP64."""

MOST_FILES = 10_000

_KIND_OF_FILE, _PLAIN_FILE = 0o170000, 0o100000


@dataclass(frozen=True)
class Difference:
    """A place where a container is not as it is laid out for the files in it.

    Attributes
    ----------
    offset : int
        Of the first byte that is different, from the start of the bundle.
    name : str or None
        The file whose entry it is in; None for the end of the container.
    sentence : str
        What that means.
    """

    offset: int
    name: str | None
    sentence: str


@dataclass(frozen=True)
class Unpacked:
    """What is in a container.

    Attributes
    ----------
    files : dict of str to bytes
        The files by name, in the order of the container.
    differences : tuple of Difference
        Where the container is not as it was written; empty if it is.
    """

    files: dict[str, bytes]
    differences: tuple[Difference, ...]


@dataclass(frozen=True)
class _Entry:
    name: str
    n_bytes: int


def pack(files: Mapping[str, bytes]) -> bytes:
    """Make the bytes of a bundle; the same files make the same bytes, in whatever order they are given.

    Raises
    ------
    InputError
        If a name is not permitted, or there are too many files, or too large ones.
    """
    _require_room(files)
    return b"".join(piece.content for piece in pieces(files))


def write_bundle(path: Path, files: Mapping[str, bytes], *, overwrite: bool = False) -> None:
    """Write a bundle, whole or not at all.

    Parameters
    ----------
    path : Path
        Its folder has to exist.
    files : mapping of str to bytes
        By name.
    overwrite : bool
        Whether a file that is there already may be replaced.

    Raises
    ------
    InputError
        As `pack`; or if there is such a file already, or it cannot be written.
    """
    _require_room(files)
    write_whole_file(path, (piece.content for piece in pieces(files)), overwrite=overwrite)


def read_bundle(path: Path) -> dict[str, bytes]:
    """Read a bundle of which every byte of the container is as it was written.

    That says nothing yet of the files: whoever changes one and packs anew makes a flawless container. It takes
    `tensionear.job.bundle.seal_check.check_seal` to see that.

    Raises
    ------
    BundleError
        If it is no bundle, or a byte of the container differs; the message says which and where.
    InputError
        If the file is missing or cannot be read.
    """
    content = read_bundle_file(path)
    try:
        found = unpack(content)
    except BundleError as error:
        raise BundleError(f"record bundle {path}: {error}") from error
    if found.differences:
        first = found.differences[0]
        more = f" ({len(found.differences)} such places in all)" if len(found.differences) > 1 else ""
        raise BundleError(f"record bundle {path}: {first.sentence} (at byte {first.offset}){more}")
    return found.files


def read_bundle_file(path: Path) -> bytes:
    """Read the bytes of a bundle, if they are not too many.

    Raises
    ------
    BundleError
        If the file is too large.
    InputError
        If the file is missing or cannot be read.
    """
    try:
        with path.open("rb") as file:
            _require_size(os.fstat(file.fileno()).st_size)
            return _all_of(file)
    except BundleError as error:
        raise BundleError(f"record bundle {path}: {error}") from error
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        reason = error.strerror if isinstance(error, OSError) and error.strerror else error
        raise InputError(f"record bundle {path} cannot be read ({reason}): is the name right?") from error


def unpack(content: bytes) -> Unpacked:
    """Take the files out of a container, and tell where it is not as it was written.

    For `tensionear verify`, which tells of a changed file also what is unchanged besides.

    Raises
    ------
    BundleError
        If it is no bundle, or so damaged that its files cannot be told apart, or made to do harm.
    """
    _require_size(len(content))
    entries = _directory(content)
    files = {}
    offset = 0
    view = memoryview(content)
    for entry in entries:
        offset += HEAD.size + len(entry.name.encode("utf-8"))
        files[entry.name] = bytes(view[offset : offset + entry.n_bytes])
        offset += entry.n_bytes
    return Unpacked(files, tuple(_differences(files, view)))


def _all_of(file: BinaryIO) -> bytes:
    content = file.read(LARGEST_BUNDLE_BYTES + 1)  # a pipe has no size to ask for
    _require_size(len(content))
    return content


def _require_size(n_bytes: int) -> None:
    if n_bytes > LARGEST_BUNDLE_BYTES:
        raise BundleError(f"it has {n_bytes} bytes, more than {LARGEST_BUNDLE_BYTES}: is it the right file?")


def _require_room(files: Mapping[str, bytes]) -> None:
    try:
        check_names(files)
    except BundleError as error:  # nothing is damaged yet: it was given so
        raise InputError(str(error)) from error
    if len(files) > MOST_FILES:
        raise InputError(
            f"{len(files)} files are more than {MOST_FILES}, which is what a record bundle can hold"
        )
    n_bytes = _size_of_container([_Entry(name, len(content)) for name, content in files.items()])
    if n_bytes > LARGEST_BUNDLE_BYTES:
        raise InputError(
            f"the record bundle would have {n_bytes} bytes, more than {LARGEST_BUNDLE_BYTES}: "
            "are photos or recordings larger than they need to be?"
        )


def _size_of_container(entries: list[_Entry]) -> int:
    names = sum(len(entry.name.encode("utf-8")) for entry in entries)
    return (
        len(entries) * (HEAD.size + LINE.size)
        + 2 * names
        + sum(entry.n_bytes for entry in entries)
        + END.size
    )


def _directory(content: bytes) -> list[_Entry]:
    at = len(content) - END.size
    if at < 0 or content[at : at + 4] != END_MARK:
        raise BundleError(_why_it_has_no_end(content))
    *_, n_entries, n_bytes, start, _ = END.unpack_from(content, at)
    if n_entries > MOST_FILES:
        raise BundleError(f"it names {n_entries} files, more than {MOST_FILES}: no record bundle has so many")
    if start + n_bytes != at:
        raise BundleError(
            f"its directory should end at byte {start + n_bytes}, but its end is at byte {at}: "
            "bytes were put before or into it, or cut out of it"
        )
    entries = []
    place = start
    for number in range(1, n_entries + 1):
        entry, place = _entry(content, place, at, number)
        entries.append(entry)
    check_names(entry.name for entry in entries)
    if [entry.name for entry in entries] != sorted((entry.name for entry in entries), key=str.encode):
        raise BundleError(
            "its files are not in the order in which tensionear writes them: it was packed anew"
        )
    if _size_of_container(entries) != len(content):
        raise BundleError(
            f"its directory promises {_size_of_container(entries)} bytes, but it has {len(content)}: "
            "bytes were put in or cut out, or a size was forged"
        )
    return entries


def _entry(content: bytes, place: int, end: int, number: int) -> tuple[_Entry, int]:
    """Read a line of the directory, and where the next one begins."""
    if place + LINE.size > end or content[place : place + 4] != LINE_MARK:
        raise BundleError(f"line {number} of its directory, at byte {place}, is damaged")
    line = LINE.unpack_from(content, place)
    flags, method, n_bytes, n_name, n_extra, n_comment = (line[i] for i in (3, 4, 9, 10, 11, 12))
    name_at = place + LINE.size
    if n_name > LONGEST_NAME_BYTES or name_at + n_name > end:
        raise BundleError(f"line {number} of its directory has a name of {n_name} bytes, which is too long")
    raw_name = content[name_at : name_at + n_name]
    try:
        name = raw_name.decode("utf-8")
    except UnicodeDecodeError as error:
        raise BundleError(f"the name {raw_name!r} in its directory is no UTF-8") from error
    fault = None
    if flags & ENCRYPTED_FLAG:
        fault = "is encrypted; a record bundle has nothing to hide"
    elif method != STORED:
        fault = (
            "is compressed; tensionear stores files as they are, and unpacks nothing, so that no small file can "
            "swell: this bundle was packed by another program"
        )
    elif line[1] >> 8 == 3 and line[15] >> 16 & _KIND_OF_FILE not in (0, _PLAIN_FILE):
        fault = "is no plain file but a link, a folder or a device"
    elif n_extra or n_comment:
        fault = "has notes of another program: this bundle was packed anew"
    if fault:
        raise BundleError(f"its file {shown(name)} {fault}")
    return _Entry(name, n_bytes), name_at + n_name


def _why_it_has_no_end(content: bytes) -> str:
    if not content:
        return "it is empty: was it copied to its end?"
    last = content.rfind(END_MARK)
    if last >= 0 and last + END.size < len(content):
        return (
            f"{len(content) - last - END.size} bytes follow its end at byte {last + END.size}: "
            "something was appended, or it has a comment"
        )
    if content.startswith(HEAD_MARK):
        return f"it breaks off at byte {len(content)}: was it copied to its end?"
    return "it is no .zip: is it the right file?"


def _differences(files: Mapping[str, bytes], container: memoryview) -> list[Difference]:
    found = []
    offset = 0
    for piece in pieces(files):
        there = container[offset : offset + len(piece.content)]
        if there != piece.content:
            at = next(i for i, byte in enumerate(piece.content) if byte != there[i])
            found.append(Difference(offset + at, piece.name, _meaning(piece.name, piece.what, at)))
        offset += len(piece.content)
    return found


def _meaning(name: str | None, what: str, at: int) -> str:
    if name is None:
        return "the container's end is not as it was written: it was changed, damaged or packed anew"
    first_byte_of_checksum = 14 if what == "head" else 16
    if first_byte_of_checksum <= at < first_byte_of_checksum + 4:
        return f"{shown(name)} does not fit the checksum in its {what}: the file was changed or damaged"
    return f"the {what} of {shown(name)} is not as it was written: it was changed, damaged or packed anew"
