"""What else moves the pitch of a span: the air that swings along, and the height of the swing itself."""

import math

import numpy as np
from numpy.typing import ArrayLike

from tensionear.belt.arrays import Array, all_positive, all_within, float_or_array

AIR_DENSITY_KG_PER_M3 = 1.2
"""Dry air of 20 °C at sea level; textbooks. Humidity, weather and height move it by some 10 %."""


def air_mass_per_length(
    belt_width_m: ArrayLike, air_density_kg_per_m3: ArrayLike = AIR_DENSITY_KG_PER_M3
) -> float | Array:
    """Mass of air that a flat strip carries along in its swing; pi·rho·w²/4 per length. [kg/m].

    It adds to the linear density that was weighed. A linear density that was found by plucking (on a rig)
    contains it already.

    Parameters
    ----------
    belt_width_m : float or array_like
        Above 0 and far less than the span length. [m]
    air_density_kg_per_m3 : float or array_like
        Above 0. [kg/m³]

    Raises
    ------
    InputError
        If an argument is not finite or not above 0.

    Notes
    -----
    For a thin strip in open air. A wall nearer than about its width, such as a belt cover, makes it more.

    References
    ----------
    .. [1] H. Lamb, Hydrodynamics: potential flow about a flat plate moving broadside on. (From memory.)
    """
    width = all_positive("belt width", belt_width_m, "m")
    density = all_positive("density of the air", air_density_kg_per_m3, "kg/m³")
    return float_or_array(math.pi / 4 * density * width**2)


def relative_glide(
    amplitude_m: ArrayLike, tension_n: ArrayLike, span_length_m: ArrayLike, axial_stiffness_n: ArrayLike
) -> float | Array:
    """How much higher a hard pluck rings than a soft one, as a share; (3/32)·(EA/T)·(pi·a/L)². [1].

    The swing stretches the belt, which raises the mean tension. As the ring decays with the ring time tau, the
    excess decays with tau/2: it falls with the square of the amplitude.

    Parameters
    ----------
    amplitude_m : float or array_like
        Of the fundamental at mid-span, 0 or more and far less than the span length. [m]
    tension_n, span_length_m : float or array_like
        Above 0. [N], [m]
    axial_stiffness_n : float or array_like
        EA, force for a strain of 1, above 0. [N]

    Raises
    ------
    InputError
        If an argument is outside its range.

    Notes
    -----
    First order in the excess: for a flexible span that swings in its fundamental alone, the stretch being the
    same all along. q'' + w²·(1 + (EA/T)·(pi/2L)²·q²)·q = 0 is Duffing's equation, whose frequency is higher by
    3/8 of the cubic term.

    References
    ----------
    .. [1] G. F. Carrier, "On the non-linear vibration problem of the elastic string", Q. Appl. Math. 3 (1945)
       157-165. (From memory; the tests compare it with the integrated equation.)
    """
    length = all_positive("span length", span_length_m, "m")
    tension = all_positive("tension", tension_n, "N")
    axial_stiffness = all_positive("axial stiffness", axial_stiffness_n, "N")
    amplitude = all_within("amplitude", amplitude_m, "m", 0.0, float(np.max(length)) / 2)
    return float_or_array(3 / 32 * axial_stiffness / tension * (math.pi * amplitude / length) ** 2)
