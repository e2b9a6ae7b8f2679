"""Linear density of a belt: weighed, known, or roughly what belts of its kind have.

Conventions: SI units; a `LinearDensity` says how it was found, and a rough one carries a warning that whoever shows
it has to show too.
"""

from dataclasses import dataclass
from enum import StrEnum

from tensionear.belt.estimate import Estimate, root_sum_of_squares
from tensionear.belt.limits import Limits, Unit
from tensionear.belt.span import LINEAR_DENSITY_LIMITS
from tensionear.errors import InputError

ROUGH_RELATIVE_STANDARD_UNCERTAINTY = 0.15
"""Of a rough density. Wider than the ranges that are met, as these have no source."""

_PLAUSIBLE_FACTOR = 1.6  # some three standard uncertainties of a rough density
_KILOGRAM_PER_METRE = Unit("kg/m", "kilograms per metre", 1.0)

BELT_MASS_LIMITS = Limits(
    quantity="belt mass",
    lowest=0.01,
    highest=10.0,
    usual=0.2,
    units=(Unit("kg", "kilograms", 1.0), Unit("g", "grams", 1000.0), Unit("oz", "ounces", 35.27396)),
    below="lighter",
    above="heavier",
)
BELT_LENGTH_LIMITS = Limits(
    quantity="belt length",
    lowest=0.2,
    highest=10.0,
    usual=1.1,
    units=(Unit("m", "metres", 1.0), Unit("mm", "millimetres", 1000.0), Unit("in", "inches", 1 / 0.0254)),
    below="shorter",
    above="longer",
)
_WIDTH_LIMITS = Limits(
    quantity="belt width",
    lowest=0.004,
    highest=0.15,
    usual=0.025,
    units=(Unit("m", "metres", 1.0), Unit("mm", "millimetres", 1000.0), Unit("in", "inches", 1 / 0.0254)),
    below="narrower",
    above="wider",
)
_FEWEST_RIBS, _MOST_RIBS = 2, 16


class DensityOrigin(StrEnum):
    """How a linear density was found; the value is the word for it."""

    WEIGHED = "weighed"
    KNOWN = "known"
    ROUGH = "rough"


class BeltKind(StrEnum):
    """Kinds of belts of which a rough linear density is known; the value is the word for it."""

    CURVED_TOOTH_8_MM = "curved teeth, 8 mm pitch"
    AUTOMOTIVE_9_525_MM = "automotive, 9.525 mm pitch"
    RIBBED = "ribbed accessory belt"


# Middle of what is met, common practice, no source: 5 to 6 and 4.5 to 6 g/m for each millimetre of width, 18 to
# 22 g/m for each rib.
_PER_WIDTH_KG_PER_M2 = {BeltKind.CURVED_TOOTH_8_MM: 5.5, BeltKind.AUTOMOTIVE_9_525_MM: 5.25}
_PER_RIB_KG_PER_M = 0.020


@dataclass(frozen=True)
class LinearDensity:
    """A linear density and how it was found.

    Attributes
    ----------
    linear_density : Estimate
        0.01 to 5. [kg/m]
    origin : DensityOrigin
        Weighed, known or rough.
    warning : str
        To be shown wherever a tension that rests on it is shown; empty if there is none.

    Raises
    ------
    InputError
        If the density is outside its range; the message guesses the slip.
    """

    linear_density: Estimate
    origin: DensityOrigin
    warning: str = ""

    def __post_init__(self) -> None:
        LINEAR_DENSITY_LIMITS.checked(self.linear_density.value, _KILOGRAM_PER_METRE)


def weighed_density(belt_mass: Estimate, belt_length: Estimate) -> LinearDensity:
    """Linear density of a whole belt on a scale.

    Parameters
    ----------
    belt_mass : Estimate
        0.01 to 10. [kg]
    belt_length : Estimate
        All the way round, 0.2 to 10 (`tensionear.belt.drive_check.belt_length` from teeth and pitch). [m]

    Raises
    ------
    InputError
        If an argument, or the density, is outside its range; the message guesses the slip.
    """
    BELT_MASS_LIMITS.checked(belt_mass.value, BELT_MASS_LIMITS.units[0])
    BELT_LENGTH_LIMITS.checked(belt_length.value, BELT_LENGTH_LIMITS.units[0])
    density = belt_mass.value / belt_length.value
    relative = root_sum_of_squares(
        belt_mass.relative_standard_uncertainty, belt_length.relative_standard_uncertainty
    )
    return LinearDensity(Estimate(density, density * relative), DensityOrigin.WEIGHED)


def known_density(linear_density: Estimate) -> LinearDensity:
    """Linear density that is known, as from the belt's own data sheet.

    Parameters
    ----------
    linear_density : Estimate
        0.01 to 5. [kg/m]

    Raises
    ------
    InputError
        If it is outside its range; the message guesses the slip.
    """
    return LinearDensity(linear_density, DensityOrigin.KNOWN)


def rough_density(kind: BeltKind, width_m: float | None = None, n_ribs: int | None = None) -> LinearDensity:
    """Linear density that belts of a kind usually have: common practice, no source.

    Parameters
    ----------
    kind : BeltKind
        The kind of belt.
    width_m : float, 0.004 to 0.15, for toothed belts
        The belt's width. [m]
    n_ribs : int, 2 to 16, for a ribbed belt
        Its ribs.

    Raises
    ------
    InputError
        If what the kind needs is missing or outside its range; the message guesses the slip.
    """
    density = _rough_kg_per_m(kind, width_m, n_ribs)
    share = ROUGH_RELATIVE_STANDARD_UNCERTAINTY
    return LinearDensity(
        Estimate(density, share * density),
        DensityOrigin.ROUGH,
        f"the linear density {1000 * density:.0f} g/m is only what such belts ({kind}) usually have, without a"
        f" source, and may well be off by {2 * share:.0%}, and the tension with it: weigh the belt",
    )


def density_doubt(
    found: LinearDensity, kind: BeltKind, width_m: float | None = None, n_ribs: int | None = None
) -> str:
    """Doubt in a density that is far from what belts of its kind usually have; empty if there is none.

    Parameters
    ----------
    found : LinearDensity
        Weighed or known.
    kind, width_m, n_ribs
        As for `rough_density`.

    Raises
    ------
    InputError
        As for `rough_density`.
    """
    usual = _rough_kg_per_m(kind, width_m, n_ribs)
    ratio = found.linear_density.value / usual
    if 1 / _PLAUSIBLE_FACTOR <= ratio <= _PLAUSIBLE_FACTOR:
        return ""
    slip = "was the whole belt weighed, in its own width, and its length or teeth counted right?"
    if found.origin is DensityOrigin.KNOWN:
        slip = "is it that of this belt, in this width and in this unit?"
    return (
        f"the linear density {1000 * found.linear_density.value:.4g} g/m is {ratio:.2g} times what such belts"
        f" ({kind}) usually have, some {1000 * usual:.0f} g/m: {slip}"
    )


def _rough_kg_per_m(kind: BeltKind, width_m: float | None, n_ribs: int | None) -> float:
    if kind is BeltKind.RIBBED:
        if n_ribs is None or width_m is not None:
            raise InputError(f"the rough density of a {kind} goes by its ribs: give their number, no width")
        if not _FEWEST_RIBS <= n_ribs <= _MOST_RIBS:
            raise InputError(
                f"{n_ribs} ribs are not from {_FEWEST_RIBS} to {_MOST_RIBS}: was the width entered?"
            )
        return n_ribs * _PER_RIB_KG_PER_M
    if width_m is None or n_ribs is not None:
        raise InputError(f"the rough density of a belt ({kind}) goes by its width: give it, and no ribs")
    return _WIDTH_LIMITS.checked(width_m, _WIDTH_LIMITS.units[0]) * _PER_WIDTH_KG_PER_M2[kind]
