"""A pulley where it sits: its centre, its radius, and the face of the belt that lies on it.

Conventions: x to the right, y upwards, as someone sees the drive who looks at it.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Self

import numpy as np

from tensionear.belt.estimate import Estimate
from tensionear.belt.limits import Unit
from tensionear.belt.tangent import RADIUS_LIMITS, pitch_radius
from tensionear.errors import InputError

_METRE = Unit("m", "metres", 1.0)

# Farther from its face than this, no belt has its cords: common practice, no source.
_LARGEST_CORD_DEPTH_M = 0.02
_FARTHEST_CENTRE_M = 10.0


class Face(StrEnum):
    """Which face of the belt lies on a pulley."""

    TOOTHED = "toothed"
    BACK = "back"


@dataclass(frozen=True)
class Pulley:
    """A pulley, sprocket or idler where it sits.

    Attributes
    ----------
    name : str
        What the workshop calls it; different for each pulley of a drive.
    x_m, y_m : float
        Its centre. [m]
    surface_radius_m : float
        What the belt lies on; of a toothed pulley the pitch radius. [m]
    cord_depth_m : float, 0 to 0.02
        From that surface to the pitch line, the middle of the belt's cords. [m]
    face : Face
        The face of the belt that lies on it.
    centre_standard_uncertainty_m : float, 0 or more
        Of x and of y. [m]
    radius_standard_uncertainty_m : float, 0 or more
        Of the radius to the pitch line. [m]

    Raises
    ------
    InputError
        If a value is not finite or outside its limits; the message guesses the slip.
    """

    name: str
    x_m: float
    y_m: float
    surface_radius_m: float
    cord_depth_m: float
    face: Face
    centre_standard_uncertainty_m: float
    radius_standard_uncertainty_m: float

    def __post_init__(self) -> None:
        try:
            RADIUS_LIMITS.checked(self.surface_radius_m + self.cord_depth_m, _METRE)
            for centre in (self.x_m, self.y_m):
                if abs(Estimate(centre, self.centre_standard_uncertainty_m).value) > _FARTHEST_CENTRE_M:
                    raise InputError(
                        f"centre at {centre:g} m is farther than {_FARTHEST_CENTRE_M:g} m from the origin:"
                        " was it entered in millimetres?"
                    )
            if not 0 <= self.cord_depth_m <= _LARGEST_CORD_DEPTH_M:
                raise InputError(
                    f"{self.cord_depth_m:g} m from surface to pitch line is not from 0 to"
                    f" {_LARGEST_CORD_DEPTH_M:g} m: was it entered in millimetres?"
                )
            Estimate(self.pitch_radius_m, self.radius_standard_uncertainty_m)
        except InputError as error:
            raise InputError(f"{self.name}: {error}") from error

    @classmethod
    def toothed(
        cls,
        name: str,
        x_m: float,
        y_m: float,
        n_teeth: float,
        tooth_pitch_m: float,
        centre_standard_uncertainty_m: float = 0.0,
    ) -> Self:
        """Take a toothed pulley by its number of teeth.

        Parameters
        ----------
        name, x_m, y_m, centre_standard_uncertainty_m
            As for the class.
        n_teeth : whole number, 8 to 200
            The pulley's teeth.
        tooth_pitch_m : float
            The belt's. [m]

        Raises
        ------
        InputError
            As for the class.
        """
        try:
            radius = pitch_radius(n_teeth, tooth_pitch_m)
        except InputError as error:
            raise InputError(f"{name}: {error}") from error
        return cls(name, x_m, y_m, radius.value, 0.0, Face.TOOTHED, centre_standard_uncertainty_m, 0.0)

    @classmethod
    def smooth(
        cls,
        name: str,
        x_m: float,
        y_m: float,
        surface_radius: Estimate,
        cord_depth_m: float,
        face: Face = Face.BACK,
        centre_standard_uncertainty_m: float = 0.0,
    ) -> Self:
        """Take a smooth pulley by the radius of its surface, as an idler or a tensioner is measured.

        Parameters
        ----------
        name, x_m, y_m, face, centre_standard_uncertainty_m
            As for the class.
        surface_radius : Estimate
            Half of what a calliper shows. [m]
        cord_depth_m : float
            From the belt's face on the pulley to the middle of its cords: on the back, the thickness above
            the cords; on the toothed face, the height of the teeth and what is between them and the cords. [m]

        Raises
        ------
        InputError
            As for the class.
        """
        return cls(
            name,
            x_m,
            y_m,
            surface_radius.value,
            cord_depth_m,
            face,
            centre_standard_uncertainty_m,
            surface_radius.standard_uncertainty,
        )

    @property
    def pitch_radius_m(self) -> float:
        """Radius to the belt's pitch line. [m]."""
        return self.surface_radius_m + self.cord_depth_m

    @property
    def centre_m(self) -> np.ndarray:
        """Its centre, shape (2,). [m]."""
        return np.array([self.x_m, self.y_m])
