"""The file of a re-analysis: JSON lines, written one by one, so that nothing that was read is lost or doubled."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from pydantic import ValidationError

from tensionear.errors import InputError
from tensionear.job.reanalysis.lines import FORMAT_VERSION, READ_LINE, Begin, ReadLine
from tensionear.job.validation import faults_of

Append = Callable[[ReadLine], None]
"""Writes a line, which is with the operating system when it returns."""


def read_results(path: Path) -> tuple[Begin, Iterator[ReadLine]]:
    """Read what a re-analysis left behind; a last line that was torn is left out.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Begin
        What was read, and with what.
    iterator of ReadLine
        The rest, line by line; it raises an `InputError` where a line is damaged.

    Raises
    ------
    InputError
        If the file cannot be read or is no such file.
    """
    lines = _lines(path)
    first = next(lines, None)
    if first is None:
        raise InputError(f"{path} holds no results of a re-analysis: it has no complete line")
    return _begin(path, first), _read_lines(path, lines)


@contextmanager
def results_to_go_on(path: Path, begin: Begin) -> Iterator[tuple[Iterator[ReadLine], Append]]:
    """Go on with a file of results, or begin one.

    Parameters
    ----------
    path : Path
        The file; it is made if it is not there.
    begin : Begin
        What is to be read.

    Yields
    ------
    iterator of ReadLine
        What was read before; to be gone through before the first line is appended.
    Append
        Adds a line.

    Raises
    ------
    InputError
        If it is no such file, was begun for something else or by another version, or cannot be written.
    """
    try:
        file = path.open("a+b")
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        raise _not_written(path, error) from error
    with file:
        first_line = begin.model_dump_json().encode() + b"\n"
        n_complete = _length_of_complete_lines(file)
        file.seek(0)
        if not n_complete and not first_line.startswith(file.read(len(first_line))):
            raise _no_results(path)
        if n_complete:
            _require_same(path, read_results(path)[0], begin)
        try:
            file.truncate(n_complete)  # of what was torn
            file.seek(0, os.SEEK_END)
            if not n_complete:
                file.write(first_line)
                file.flush()
        except OSError as error:
            raise _not_written(path, error) from error

        def append(line: ReadLine) -> None:
            try:
                file.write(line.model_dump_json().encode() + b"\n")
                file.flush()
            except OSError as error:
                raise _not_written(path, error) from error

        yield read_results(path)[1], append


def _length_of_complete_lines(file: BinaryIO) -> int:
    """Bytes up to and with the last line feed."""
    end = file.seek(0, os.SEEK_END)
    step = 1 << 16
    for start in range(max(0, end - step), -step, -step):
        begin = max(0, start)
        file.seek(begin)
        found = file.read(min(step, end - begin)).rfind(b"\n")
        if found >= 0:
            return begin + found + 1
        if begin == 0:
            break
    return 0


def _lines(path: Path) -> Iterator[bytes]:
    try:
        with path.open("rb") as file:
            for line in file:
                if line.endswith(b"\n"):  # else it was torn
                    yield line
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else error
        raise InputError(f"{path} cannot be read ({reason}): is the name right?") from error


def _begin(path: Path, line: bytes) -> Begin:
    try:
        return Begin.model_validate_json(line)
    except ValidationError as error:
        raise _no_results(path) from error


def _read_lines(path: Path, lines: Iterator[bytes]) -> Iterator[ReadLine]:
    for number, line in enumerate(lines, 2):
        try:
            yield READ_LINE.validate_json(line)
        except ValidationError as error:
            raise InputError(f"line {number} of {path} is damaged: {faults_of(error)}") from error


def _require_same(path: Path, before: Begin, now: Begin) -> None:
    if (before.of, before.source) != (now.of, now.source):
        raise InputError(
            f"{path} holds results of the {before.of} {before.source}, not of the {now.of} {now.source}:"
            " give another file"
        )
    if before != now:
        raise InputError(
            f"{path} was begun by tensionear {before.software_version} with estimator version"
            f" {before.estimator_version}, and this is {now.software_version} with {now.estimator_version}:"
            " give another file, so that all of it is read alike"
        )


def _no_results(path: Path) -> InputError:
    return InputError(
        f"{path} holds no results of a re-analysis of format version {FORMAT_VERSION}: is it the right file?"
    )


def _not_written(path: Path, error: Exception) -> InputError:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else error
    return InputError(f"{path} cannot be written ({reason}): is there room, and may it be written?")
