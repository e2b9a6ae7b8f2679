"""A file that is there whole or not at all, whatever happens while it is written."""

import os
import secrets
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from tensionear.errors import InputError


def write_whole_file(
    path: Path, parts: Iterable[bytes], *, overwrite: bool = False, mode: int = 0o666
) -> None:
    """Write a file beside its place, make sure that the disk has it, and put it into place in one step.

    Parameters
    ----------
    path : Path
        Its folder has to exist.
    parts : iterable of bytes
        The content, piece by piece.
    overwrite : bool
        Whether a file that is there already may be replaced.
    mode : int
        Permissions, from which the umask takes away as usual. Windows knows only whether a file may be written.

    Raises
    ------
    InputError
        If there is such a file already, or it cannot be written; what was there before is then as it was, and
        nothing half is left.
    """
    beside = path.parent / f".{secrets.token_hex(8)}.part"
    require_nothing_there(path, overwrite=overwrite)
    try:
        with _told(path), open(beside, "xb", opener=lambda name, flags: os.open(name, flags, mode)) as file:
            file.writelines(parts)
        put_into_place(beside, path, overwrite=overwrite)
    finally:
        with suppress(OSError, ValueError):
            beside.unlink(missing_ok=True)


def require_nothing_there(path: Path, *, overwrite: bool = False) -> None:
    """Go on only where nothing would be replaced.

    Raises
    ------
    InputError
        If there is such a file already, or its folder cannot be looked into.
    """
    with _told(path):
        if not overwrite and (path.is_symlink() or path.exists()):
            raise FileExistsError(path)


def put_into_place(beside: Path, path: Path, *, overwrite: bool = False) -> None:
    """Make sure that the disk has a file that was written, and give it its name in one step.

    Parameters
    ----------
    beside : Path
        The file, complete and closed, in the folder of `path`. It may or may not be there afterwards.
    path : Path
        Its place.
    overwrite : bool
        Whether a file that is there already may be replaced.

    Raises
    ------
    InputError
        If there is such a file already, or the disk refuses.
    """
    with _told(path):
        with beside.open("rb+") as file:
            os.fsync(file.fileno())
        if overwrite:
            beside.replace(path)
        else:
            put_where_nothing_is(beside, path)
        make_sure_of_the_name(path.parent)


@contextmanager
def _told(path: Path) -> Iterator[None]:
    try:
        yield
    except FileExistsError as error:
        raise InputError(f"{path} is there already: choose another name, or move it away first") from error
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        reason = error.strerror if isinstance(error, OSError) and error.strerror else error
        raise InputError(
            f"{path} cannot be written ({reason}): is there room, and may its folder be written?"
        ) from error


def put_where_nothing_is(beside: Path, path: Path) -> None:
    """Give a file that was written its name, unless another has it already.

    Raises
    ------
    FileExistsError
        If another has it, also if that came at the same moment.
    OSError
        If the disk refuses.
    """
    try:
        path.hardlink_to(beside)  # unlike a rename, fails if another process was faster
    except FileExistsError:
        raise
    except (OSError, NotImplementedError):  # memory sticks know no hard links: two steps have to do
        if path.exists():
            raise FileExistsError(path) from None
        beside.rename(path)


def make_sure_of_the_name(folder: Path) -> None:
    """Make sure that the disk has the names that were given in a folder, where that can be asked for."""
    if os.name != "posix":  # a folder cannot be opened there
        return
    with suppress(OSError):  # the content is safe already; some network drives refuse this
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
