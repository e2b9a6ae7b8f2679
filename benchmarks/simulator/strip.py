"""A stiff strip under tension between two ends, as finite elements.

Conventions: x runs from 0 to the span length; modes are mass-normalised (modal mass 1 kg), so that a modal
coordinate q has the unit m·sqrt(kg) and a shape the unit 1/sqrt(kg); damping is added later, mode by mode.

Assumptions: small slopes, Euler-Bernoulli bending, uniform strip, no axial waves, no air load; an end holds
the strip against moving sideways and, by a spring, against turning (0 is a hinge, infinity a clamp).
"""

import math
from dataclasses import dataclass

import numpy as np
import scipy.linalg
from numpy.typing import NDArray

_N_ELEMENTS = 48
_N_POINTS = 401


@dataclass(frozen=True)
class Strip:
    """A belt span.

    Attributes
    ----------
    length_m, linear_density_kg_per_m, tension_n : float
        Span length [m], mass per length [kg/m], static tension [N].
    bending_stiffness_n_m2 : float
        EI. [N m²]
    axial_stiffness_n : float
        EA, how strongly stretch raises the tension. [N]
    end_springs_n_m : tuple of two floats
        What holds the left and the right end against turning. [N m/rad]
    """

    length_m: float
    linear_density_kg_per_m: float
    tension_n: float
    bending_stiffness_n_m2: float
    axial_stiffness_n: float
    end_springs_n_m: tuple[float, float]


@dataclass(frozen=True)
class StripModes:
    """How a strip can swing.

    Attributes
    ----------
    frequency_hz : array, shape (n_modes,)
        Undamped natural frequencies, ascending. [Hz]
    position_m : array, shape (n_points,)
        Points along the span, equally spaced. [m]
    shape : array, shape (n_modes, n_points)
        Deflection of each mass-normalised mode at those points. [1/sqrt(kg)]
    slope_overlap : array, shape (n_modes, n_modes)
        Integral of the product of two modes' slopes along the span. [1/(kg m)]
    """

    frequency_hz: NDArray[np.float64]
    position_m: NDArray[np.float64]
    shape: NDArray[np.float64]
    slope_overlap: NDArray[np.float64]


def strip_modes(strip: Strip, n_modes: int, n_elements: int = _N_ELEMENTS) -> StripModes:
    """Modes of a strip by Hermite beam elements with consistent mass and geometric stiffness.

    Parameters
    ----------
    strip : Strip
        The span.
    n_modes : int, 1 to half the number of elements
        How many modes, from the lowest.
    n_elements : int
        Elements along the span; they get shorter towards the ends, where a clamped strip bends sharply.

    Raises
    ------
    ValueError
        If more modes are asked for than the elements can resolve.

    References
    ----------
    .. [1] R. D. Cook et al., Concepts and Applications of Finite Element Analysis, 4th ed., Wiley 2002:
       beam element, consistent mass, geometric ("stress") stiffness. (Matrices from memory; the tests check
       them against the exact frequencies of a tensioned beam.)
    """
    if not 1 <= n_modes <= n_elements // 2:
        raise ValueError(f"{n_modes} modes of {n_elements} elements: give 1 to {n_elements // 2}")
    node_m = strip.length_m * (1 - np.cos(np.pi * np.arange(n_elements + 1) / n_elements)) / 2
    n_dof = 2 * (n_elements + 1)
    mass = np.zeros((n_dof, n_dof))
    bending = np.zeros((n_dof, n_dof))
    slope = np.zeros((n_dof, n_dof))
    for element, h in enumerate(np.diff(node_m)):
        here = slice(2 * element, 2 * element + 4)
        scale = np.array([1.0, h, 1.0, h])
        outer = np.outer(scale, scale)
        mass[here, here] += h / 420 * _MASS * outer
        bending[here, here] += _BENDING / h**3 * outer
        slope[here, here] += _SLOPE / (30 * h) * outer

    free = list(range(n_dof))
    for turn, spring in zip((1, n_dof - 1), strip.end_springs_n_m, strict=True):
        free.remove(turn - 1 if turn == 1 else n_dof - 2)
        if math.isinf(spring):
            free.remove(turn)
    stiffness = strip.bending_stiffness_n_m2 * bending + strip.tension_n * slope
    stiffness[1, 1] += strip.end_springs_n_m[0] if math.isfinite(strip.end_springs_n_m[0]) else 0.0
    stiffness[-1, -1] += strip.end_springs_n_m[1] if math.isfinite(strip.end_springs_n_m[1]) else 0.0
    kept = np.ix_(free, free)
    squared, vectors = scipy.linalg.eigh(
        stiffness[kept], strip.linear_density_kg_per_m * mass[kept], subset_by_index=(0, n_modes - 1)
    )
    full = np.zeros((n_dof, n_modes))
    full[free] = vectors
    position_m = np.linspace(0.0, strip.length_m, _N_POINTS)
    return StripModes(
        frequency_hz=np.sqrt(squared) / (2 * np.pi),
        position_m=position_m,
        shape=_deflection(node_m, full, position_m),
        slope_overlap=full.T @ slope @ full,
    )


def _deflection(
    node_m: NDArray[np.float64], dof: NDArray[np.float64], position_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Deflection between the nodes, shape (n_modes, n_points), by the elements' own cubic shapes."""
    element = np.clip(np.searchsorted(node_m, position_m, side="right") - 1, 0, len(node_m) - 2)
    h = (node_m[element + 1] - node_m[element])[:, None]
    s = ((position_m - node_m[element]) / h[:, 0])[:, None]
    left, left_turn = dof[2 * element], dof[2 * element + 1]
    right, right_turn = dof[2 * element + 2], dof[2 * element + 3]
    deflection = (
        (1 - 3 * s**2 + 2 * s**3) * left
        + h * (s - 2 * s**2 + s**3) * left_turn
        + (3 * s**2 - 2 * s**3) * right
        + h * (s**3 - s**2) * right_turn
    )
    return np.ascontiguousarray(deflection.T)


# For deflection, turn x h, deflection, turn x h of an element's two nodes.
_MASS = np.array([[156.0, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]])
_BENDING = np.array([[12.0, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]])
_SLOPE = np.array([[36.0, 3, -36, 3], [3, 4, -3, -1], [-36, -3, 36, -3], [3, -1, -3, 4]])
