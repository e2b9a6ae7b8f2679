"""``--picture``: a picture of each pluck as it comes."""

from pathlib import Path

from tensionear.cli.json_lines import readable
from tensionear.cli.trouble import tell_note, tell_trouble
from tensionear.errors import InputError
from tensionear.reading import BeltReading

_SUFFIXES = (".png", ".pdf", ".svg")


def require_drawable(path: Path) -> None:
    """Let only a file pass that a picture may be drawn into.

    Raises
    ------
    InputError
        If its kind is not known or its folder not there.
    """
    if path.suffix.lower() not in _SUFFIXES:
        raise InputError(
            f"picture {path} does not end in {' or '.join(_SUFFIXES)}: no other kind can be drawn"
        )
    if not path.parent.is_dir():
        raise InputError(f"picture {path} cannot be written: there is no folder {path.parent}")


class Pictures:
    """Draws the first pluck into the file that was asked for, the next ones into NAME-2, NAME-3...

    Parameters
    ----------
    path : Path
        The file that was asked for.
    as_json : bool
        Whether a picture that cannot be written is told to programs as well.

    Attributes
    ----------
    n_failed : int
        Pictures that could not be written.

    Raises
    ------
    InputError
        If nothing can be drawn there.
    """

    def __init__(self, path: Path, as_json: bool) -> None:
        require_drawable(path)
        self._path = path
        self._as_json = as_json
        self._written: list[Path] = []
        self.n_failed = 0

    def draw(self, reading: BeltReading) -> None:
        """Draw one pluck, or tell that its picture cannot be written: the reading counts for more."""
        from tensionear.picture import draw_pluck  # matplotlib only when a picture is asked for

        number = len(self._written) + self.n_failed + 1
        path = self._path if number == 1 else self._path.with_stem(f"{self._path.stem}-{number}")
        try:
            draw_pluck(reading.pluck, path, title=f"{readable(reading.source)}, pluck {number}")
        except OSError as error:
            self.n_failed += 1
            tell_trouble(
                f"picture {path} cannot be written: {error.strerror or error}", self._as_json, path=path
            )
        else:
            self._written.append(path)

    def tell_written(self) -> None:
        """Say, on the standard error output, which files were written."""
        failed = f" ({self.n_failed} could not be written)" if self.n_failed else ""
        if not self._written:
            tell_note(f"No picture was drawn{failed}.")
        elif len(self._written) == 1:
            tell_note(f"Picture: {self._written[0]}{failed}")
        else:
            tell_note(f"Pictures: {self._written[0]} to {self._written[-1].name}{failed}")
