"""``--picture``: a picture of each pluck as it comes."""

from pathlib import Path

import click

from tensionear.errors import InputError
from tensionear.reading import BeltReading

_SUFFIXES = (".png", ".pdf", ".svg")


class Pictures:
    """Draws the first pluck into the file that was asked for, the next ones into NAME-2, NAME-3...

    Parameters
    ----------
    path : Path
        The file that was asked for.

    Raises
    ------
    InputError
        If nothing can be drawn there.
    """

    def __init__(self, path: Path) -> None:
        if path.suffix.lower() not in _SUFFIXES:
            raise InputError(
                f"picture {path} does not end in {' or '.join(_SUFFIXES)}: no other kind can be drawn"
            )
        if not path.parent.is_dir():
            raise InputError(f"picture {path} cannot be written: there is no folder {path.parent}")
        self._path = path
        self._written: list[Path] = []

    def draw(self, reading: BeltReading) -> None:
        """Draw one pluck.

        Raises
        ------
        InputError
            If the file cannot be written.
        """
        from tensionear.picture import draw_pluck  # matplotlib only when a picture is asked for

        number = len(self._written) + 1
        path = self._path if number == 1 else self._path.with_stem(f"{self._path.stem}-{number}")
        try:
            draw_pluck(reading.pluck, path, title=f"{reading.source}, pluck {number}")
        except OSError as error:
            raise InputError(f"picture {path} cannot be written: {error.strerror or error}") from error
        self._written.append(path)

    def tell_written(self) -> None:
        """Say, on the standard error output, which files were written."""
        if not self._written:
            click.echo("No picture was drawn: no pluck was heard.", err=True)
        elif len(self._written) == 1:
            click.echo(f"Picture: {self._written[0]}", err=True)
        else:
            click.echo(f"Pictures: {self._written[0]} to {self._written[-1].name}", err=True)
