"""A belt drive described in a small text file, TOML or JSON; `docs/commands.md` has the format and an example.

Conventions: a length's name ends in the unit in which it is given, ``_mm`` or ``_in``; messages speak in that unit.
What is not known is left out. A name that is not known is refused, as it may be a slip of one that matters.
"""

import difflib
import json
import math
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tensionear.belt.drive import BeltDrive, Sense
from tensionear.belt.drive_check import BeltLengthCheck, belt_length, check_belt_length
from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Limits, Unit, require_positive
from tensionear.belt.pulley import Face, Pulley
from tensionear.belt.tangent import RADIUS_LIMITS, TOOTH_PITCH_LIMITS
from tensionear.errors import InputError
from tensionear.metrology.uncertainty import RECTANGLE

LARGEST_FILE_BYTES = 1_000_000
"""No drive takes more to describe; a recording that was given by mistake does."""

_UNITS = (Unit("mm", "millimetres", 1000.0), Unit("in", "inches", 1 / 0.0254))
_FARTHEST_CENTRE_M = 10.0
DIAMETER_LIMITS = replace(
    RADIUS_LIMITS,
    quantity="diameter",
    lowest=2 * RADIUS_LIMITS.lowest,
    highest=2 * RADIUS_LIMITS.highest,
    usual=2 * RADIUS_LIMITS.usual,
    otherwise="was a radius entered for the diameter, or a digit too many?",
)
"""Of the surface of a smooth pulley."""

_LARGEST_CORD_DEPTH_M = 0.02


@dataclass(frozen=True)
class DescribedDrive:
    """A drive as a file describes it.

    Attributes
    ----------
    name : str
        What the workshop calls it; empty if it is not said.
    drive : BeltDrive
        The pulleys, as the belt meets them.
    n_belt_teeth : float or None
        The belt's teeth.
    tooth_pitch_m : float or None
        [m]
    """

    name: str
    drive: BeltDrive
    n_belt_teeth: float | None
    tooth_pitch_m: float | None

    def check(self) -> BeltLengthCheck | None:
        """Compare its belt length with the belt's teeth; None if these are not known.

        Raises
        ------
        InputError
            If teeth or pitch are outside their range.
        """
        if self.n_belt_teeth is None or self.tooth_pitch_m is None:
            return None
        return check_belt_length(self.drive, self.n_belt_teeth, self.tooth_pitch_m)


def read_drive(path: Path) -> DescribedDrive:
    """Read the description of a drive.

    Parameters
    ----------
    path : Path
        Its name ends in .toml or .json.

    Raises
    ------
    InputError
        If the file cannot be read, is of another form, or describes no drive that a belt can run over; the message
        names the file, the place in it, and the likely slip.
    """
    try:
        return _described(_Table(_parsed(path), ""))
    except InputError as error:
        raise InputError(f"drive file {path}: {error}") from error


def _parsed(path: Path) -> dict[str, Any]:
    suffix = path.suffix.lower()
    if suffix not in (".toml", ".json"):
        raise InputError("its name does not end in .toml or .json: no other form can be read")
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        raise InputError(f"it cannot be read ({error.strerror or error}): is the name right?") from error
    except ValueError as error:  # a null character in the name
        raise InputError(f"it cannot be read ({error}): is the name right?") from error
    if len(content) > LARGEST_FILE_BYTES:
        raise InputError(f"it has more than {LARGEST_FILE_BYTES} bytes: is it the right file?")
    try:
        text = content.decode("utf-8-sig")
        parsed = tomllib.loads(text) if suffix == ".toml" else json.loads(text)
    except (ValueError, RecursionError) as error:  # both parsers' errors, and bytes that are no text
        raise InputError(
            f"it is no {suffix[1:].upper()} ({error}): was a quotation mark or comma lost?"
        ) from error
    if not isinstance(parsed, dict):
        raise InputError("it is a list and no table: the pulleys belong under the name pulleys")
    return parsed


def _described(top: "_Table") -> DescribedDrive:
    name = top.text("drive") or ""
    sense = top.word("sense", list(Sense))
    if sense is None:
        raise InputError(f"sense is missing: do the pulleys follow each other {' or '.join(Sense)}?")
    tooth_pitch_m = top.length("tooth_pitch", TOOTH_PITCH_LIMITS)
    n_belt_teeth = top.number("belt_teeth")
    if n_belt_teeth is not None and tooth_pitch_m is not None:
        belt_length(n_belt_teeth, tooth_pitch_m)  # its limits
    within_m = top.length("centres_within", None) or 0.0
    listed = top.taken("pulleys")
    if not isinstance(listed, list) or not all(isinstance(each, dict) for each in listed):
        raise InputError("pulleys is missing or no list of tables: write each pulley under [[pulleys]]")
    top.require_all_taken()
    pulleys = [
        _pulley(_Table(each, f"pulley {number}: "), tooth_pitch_m, within_m)
        for number, each in enumerate(listed, 1)
    ]
    return DescribedDrive(name, BeltDrive(tuple(pulleys), Sense(sense)), n_belt_teeth, tooth_pitch_m)


def _pulley(table: "_Table", tooth_pitch_m: float | None, within_m: float) -> Pulley:
    name = table.text("name")
    if not name:
        raise InputError(f"{table.place}name is missing")
    table.place = f"{name}: "
    x_m, y_m = table.centre("x"), table.centre("y")
    face = Face(table.word("face", list(Face)) or Face.TOOTHED)
    n_teeth = table.number("teeth")
    radius_m = table.length("radius", RADIUS_LIMITS)
    diameter_m = table.length("diameter", DIAMETER_LIMITS)
    depth_m = table.length("cord_depth", None)
    radius_within_m = table.length("radius_within", None)
    diameter_within_m = table.length("diameter_within", None)
    table.require_all_taken()
    given = [what for what in (n_teeth, radius_m, diameter_m) if what is not None]
    if len(given) != 1:
        raise InputError(
            f"{table.place}give one of teeth, radius and diameter, not {len(given) or 'none'} of them"
        )
    centre_u_m = within_m / RECTANGLE
    if n_teeth is not None:
        if tooth_pitch_m is None:
            raise InputError(f"{table.place}teeth say nothing without tooth_pitch_mm at the head of the file")
        if face is Face.BACK or depth_m is not None:
            raise InputError(
                f"{table.place}a pulley with teeth runs on the toothed face and has no cord depth:"
                " give the diameter of a smooth one"
            )
        return Pulley.toothed(name, x_m, y_m, n_teeth, tooth_pitch_m, centre_u_m)
    if depth_m is None:
        raise InputError(
            f"{table.place}cord_depth_mm is missing, from the belt's face on this pulley to the middle of its cords"
            " (0 if the diameter reaches there)"
        )
    if depth_m > _LARGEST_CORD_DEPTH_M:
        raise InputError(
            f"{table.place}cord depth {1000 * depth_m:g} mm is more than {1000 * _LARGEST_CORD_DEPTH_M:g} mm:"
            " was a decimal point lost?"
        )
    if diameter_m is not None:
        radius_m, radius_within_m = diameter_m / 2, (diameter_within_m or 0.0) / 2
    assert radius_m is not None  # noqa: S101 - tells mypy
    radius = Estimate(radius_m, (radius_within_m or 0.0) / RECTANGLE)
    return Pulley.smooth(name, x_m, y_m, radius, depth_m, face, centre_u_m)


class _Table:
    """A table of the file, which knows what of it has been understood."""

    def __init__(self, content: dict[str, Any], place: str) -> None:
        self._content = content
        self._asked: list[str] = []
        self._left = dict(content)
        self.place = place

    def taken(self, name: str) -> Any:
        self._asked.append(name)
        return self._left.pop(name, None)

    def text(self, name: str) -> str | None:
        value = self.taken(name)
        if value is not None and not isinstance(value, str):
            raise InputError(f"{self.place}{name} = {value!r} is no text: put it in quotation marks")
        return None if value is None else value.strip()

    def word(self, name: str, words: list[str]) -> str | None:
        value = self.text(name)
        if value is not None and value not in words:
            raise InputError(f"{self.place}{name} = {value!r} is none of {', '.join(words)}")
        return value

    def number(self, name: str) -> float | None:
        value = self.taken(name)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(
                f"{self.place}{name} = {value!r} is no number: write it without quotation marks or unit"
            )
        try:
            finite = math.isfinite(value)
        except OverflowError:  # a whole number with hundreds of digits
            finite = False
        if not finite:
            raise InputError(f"{self.place}{name} is not a finite number: is a digit too many?")
        return float(value)

    def length(self, name: str, limits: Limits | None) -> float | None:
        """Length in metres; None if it is not given."""
        typed = self._typed_length(name)
        if typed is None:
            return None
        value, unit = typed
        try:
            if limits is not None:
                return limits.checked(value, unit)
            if value != 0:  # nothing is a depth, and an uncertainty
                require_positive(name.replace("_", " "), value, unit.symbol)
        except InputError as error:
            raise InputError(f"{self.place}{error}") from error
        return value / unit.per_si

    def centre(self, name: str) -> float:
        """Coordinate in metres, of either sign."""
        typed = self._typed_length(name)
        if typed is None:
            raise InputError(f"{self.place}{name}_mm is missing: where is its centre?")
        value, unit = typed
        if not (math.isfinite(value) and abs(value) <= _FARTHEST_CENTRE_M * unit.per_si):
            raise InputError(
                f"{self.place}{name} = {value:g} {unit.symbol} is farther than"
                f" {_FARTHEST_CENTRE_M * unit.per_si:g} {unit.symbol} from the origin: is a digit too many?"
            )
        return value / unit.per_si

    def require_all_taken(self) -> None:
        for name in self._left:
            near = difflib.get_close_matches(name, self._asked, 1)
            meant = f": is {near[0]} meant?" if near else f": known are {', '.join(self._asked)}"
            raise InputError(f"{self.place}{name} is not known here{meant}")

    def _typed_length(self, name: str) -> tuple[float, Unit] | None:
        typed = [(self.number(f"{name}_{unit.symbol}"), unit) for unit in _UNITS]
        given = [(value, unit) for value, unit in typed if value is not None]
        if len(given) > 1:
            raise InputError(f"{self.place}{name} is given in millimetres and in inches: which one holds?")
        return given[0] if given else None
