"""A calibration kept in a small JSON file, for the readings that come after it.

One object: ``kind`` is ``belt calibration``; ``format_version`` changes when an older program could no longer
read it; quantities are in SI units, under the names that the output for programs has for them.
"""

import json
import math
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from pathlib import Path
from typing import Any

from tensionear import __version__
from tensionear.belt.calibration import Calibration
from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Unit
from tensionear.belt.span import LINEAR_DENSITY_LIMITS
from tensionear.belt.stiffness import UNKNOWN_END_FIXITY, SpanStiffness
from tensionear.errors import InputError
from tensionear.metrology.budget import Correlation, correlation_matrix

FILE_KIND = "belt calibration"
FILE_FORMAT_VERSION = 1
LARGEST_FILE_BYTES = 100_000
"""A calibration takes a few hundred; a recording that was given by mistake more."""

DENSITY, BENDING, ENDS = "linear_density_kg_per_m", "bending_stiffness_n_m2", "end_fixity"
_NAMES = (DENSITY, BENDING, ENDS)
_UNCERTAINTY_NAMES = {
    DENSITY: "linear_density_standard_uncertainty_kg_per_m",
    BENDING: "bending_stiffness_standard_uncertainty_n_m2",
    ENDS: "end_fixity_standard_uncertainty",
}


@dataclass(frozen=True)
class KeptCalibration:
    """What a calibration found of a belt.

    Attributes
    ----------
    linear_density : Estimate
        With the air that swings along if it was found by plucking. [kg/m]
    bending_stiffness : Estimate
        [N m²]
    end_fixity : Estimate
        Of the spans that were plucked. [1]
    correlations : dict
        Correlation coefficients by pairs of names; what is missing is 0. [1]
    on_rig : bool
        Whether the spans hung on a rig, so that their ends are not those of an engine.
    calibrated_at : str
        Date and time in ISO 8601.

    Raises
    ------
    InputError
        If a value is outside its limits.
    """

    linear_density: Estimate
    bending_stiffness: Estimate
    end_fixity: Estimate
    correlations: dict[tuple[str, str], float]
    on_rig: bool
    calibrated_at: str

    def __post_init__(self) -> None:
        LINEAR_DENSITY_LIMITS.checked(
            1000 * self.linear_density.value, Unit("g/m", "grams per metre", 1000.0)
        )
        self.stiffness(self.end_fixity)

    @classmethod
    def of(cls, found: Calibration, on_rig: bool) -> "KeptCalibration":
        """Take what is to be kept of a calibration, now.

        Parameters
        ----------
        found : Calibration
            The calibration.
        on_rig : bool
            Whether it is from a rig.
        """
        fitted = [name for name in _NAMES if name in found.names]
        return cls(
            linear_density=found.estimate(DENSITY),
            bending_stiffness=found.estimate(BENDING),
            end_fixity=found.estimate(ENDS),
            correlations={pair: found.correlation(*pair) for pair in combinations(fitted, 2)},
            on_rig=on_rig,
            calibrated_at=datetime.now().astimezone().isoformat(timespec="seconds"),
        )

    @property
    def engine_end_fixity(self) -> Estimate:
        """Ends to be taken for a span on its engine: unknown after a rig, whose clamps are no pulleys. [1]."""
        return UNKNOWN_END_FIXITY if self.on_rig else self.end_fixity

    def stiffness(self, end_fixity: Estimate | None = None) -> SpanStiffness:
        """Stiffness of a span on its engine.

        Parameters
        ----------
        end_fixity : Estimate or None
            How its ends are held, if that is known otherwise. [1]

        Raises
        ------
        InputError
            If a value is outside its limits.
        """
        ends = end_fixity or self.engine_end_fixity
        return SpanStiffness(
            self.bending_stiffness.value, self.bending_stiffness.standard_uncertainty,
            ends.value, ends.standard_uncertainty,
        )  # fmt: skip


def write_calibration(path: Path, kept: KeptCalibration) -> None:
    """Keep a calibration in a new file.

    Parameters
    ----------
    path : Path
        Its name ends in .json.
    kept : KeptCalibration
        What is kept.

    Raises
    ------
    InputError
        If there is such a file already, or it cannot be written.
    """
    require_writable(path)
    estimates = dict(zip(_NAMES, (kept.linear_density, kept.bending_stiffness, kept.end_fixity), strict=True))
    content: dict[str, Any] = {
        "kind": FILE_KIND,
        "format_version": FILE_FORMAT_VERSION,
        "software_version": __version__,
        "calibrated_at": kept.calibrated_at,
        "on_rig": kept.on_rig,
    }
    for name, estimate in estimates.items():
        content |= {name: estimate.value, _UNCERTAINTY_NAMES[name]: estimate.standard_uncertainty}
    content["correlations"] = [
        {"first": first, "second": second, "coefficient": coefficient}
        for (first, second), coefficient in kept.correlations.items()
    ]
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(json.dumps(content, indent=2, allow_nan=False) + "\n")
    except OSError as error:
        raise InputError(f"calibration file {path} cannot be written: {error.strerror or error}") from error


def require_writable(path: Path) -> None:
    """Let only a name pass under which a calibration may be kept.

    Raises
    ------
    InputError
        If there is such a file already, or its folder is missing, or its name is of another kind.
    """
    if path.suffix.lower() != ".json":
        raise InputError(f"calibration file {path} does not end in .json: give it such a name")
    if not path.parent.is_dir():
        raise InputError(f"calibration file {path} cannot be written: there is no folder {path.parent}")
    if path.exists():
        raise InputError(f"calibration file {path} is there already: give another name, or remove it first")


def read_calibration(path: Path) -> KeptCalibration:
    """Read a calibration that was kept.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    InputError
        If it cannot be read, is of another kind, or holds what cannot be.
    """
    try:
        return _kept(_content(path))
    except InputError as error:
        raise InputError(f"calibration file {path}: {error}") from error


def _content(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        reason = getattr(error, "strerror", None) or error
        raise InputError(f"it cannot be read ({reason}): is the name right?") from error
    if len(raw) > LARGEST_FILE_BYTES:
        raise InputError(f"it has more than {LARGEST_FILE_BYTES} bytes: is it the right file?")
    try:
        content = json.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise InputError('it is no JSON: keep one with "tensionear calibrate --keep"') from error
    if not isinstance(content, dict) or content.get("kind") != FILE_KIND:
        raise InputError('it is no calibration: keep one with "tensionear calibrate --keep"')
    if content.get("format_version") != FILE_FORMAT_VERSION:
        raise InputError(
            f"its format version is {content.get('format_version')!r}, this program reads {FILE_FORMAT_VERSION}:"
            " is it from a newer one?"
        )
    return content


def _kept(content: dict[str, Any]) -> KeptCalibration:
    on_rig, calibrated_at = content.get("on_rig"), content.get("calibrated_at")
    if not isinstance(on_rig, bool) or not isinstance(calibrated_at, str):
        raise InputError("on_rig or calibrated_at is missing: was it changed by hand?")
    density, bending, ends = (
        Estimate(_number(content, name), _number(content, _UNCERTAINTY_NAMES[name])) for name in _NAMES
    )
    return KeptCalibration(
        linear_density=density,
        bending_stiffness=bending,
        end_fixity=ends,
        correlations=_correlations(content.get("correlations")),
        on_rig=on_rig,
        calibrated_at=calibrated_at,
    )


def _correlations(listed: Any) -> dict[tuple[str, str], float]:
    if not isinstance(listed, list) or not all(isinstance(each, dict) for each in listed):
        raise InputError("correlations is missing: was it changed by hand?")
    correlations = {}
    for each in listed:
        pair = (each.get("first"), each.get("second"))
        coefficient = _number(each, "coefficient")
        if not all(name in _NAMES for name in pair):
            raise InputError(f"correlation {each} cannot be: was it changed by hand?")
        correlations[pair] = coefficient
    try:
        correlation_matrix(_NAMES, [Correlation(*pair, value) for pair, value in correlations.items()])
    except ValueError as error:
        raise InputError("these correlations cannot be: were they changed by hand?") from error
    return correlations


def _number(content: dict[str, Any], name: str) -> float:
    value = content.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise InputError(f"{name} is {value!r} and no number: was it changed by hand?")
    return float(value)
