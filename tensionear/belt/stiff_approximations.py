"""Published approximations to the partials of a stiff span, to compare the exact ones with.

No reading uses them: `tensionear.belt.stiff_span` is exact and costs no more to call.
"""

import numpy as np
from numpy.typing import ArrayLike

from tensionear.belt.arrays import Array, float_or_array, partial_numbers
from tensionear.belt.stiff_span import stiffness_ratio
from tensionear.belt.tension import fundamental_frequency


def stretch_of_stiffness(
    tension_n: ArrayLike, span_length_m: ArrayLike, bending_stiffness_n_m2: ArrayLike
) -> float | Array:
    """Stretch B of the partials of a stiff span; B = pi²·EI/(T·L²). [1].

    Parameters
    ----------
    tension_n, span_length_m, bending_stiffness_n_m2
        As for `tensionear.belt.stiff_span.partial_frequency`.

    Raises
    ------
    InputError
        If an argument is outside its range.
    """
    ratio = np.asarray(stiffness_ratio(tension_n, span_length_m, bending_stiffness_n_m2))
    return float_or_array((np.pi / ratio) ** 2)


def pinned_frequency(
    tension_n: ArrayLike,
    span_length_m: ArrayLike,
    linear_density_kg_per_m: ArrayLike,
    bending_stiffness_n_m2: ArrayLike,
    number: ArrayLike = 1,
) -> float | Array:
    """Partial of a stiff span between hinges; n·f_0·sqrt(1 + B·n²), exact for them. [Hz].

    Parameters
    ----------
    tension_n, span_length_m, linear_density_kg_per_m, bending_stiffness_n_m2, number
        As for `tensionear.belt.stiff_span.partial_frequency`.

    Raises
    ------
    InputError
        If an argument is outside its range.

    References
    ----------
    .. [1] H. Fletcher, "Normal vibration frequencies of a stiff piano string", J. Acoust. Soc. Am. 36 (1964)
       203-209. (From memory; it is any textbook's stiff string.)
    """
    order = partial_numbers(number)
    flexible_hz = fundamental_frequency(tension_n, span_length_m, linear_density_kg_per_m)
    stretch = stretch_of_stiffness(tension_n, span_length_m, bending_stiffness_n_m2)
    return float_or_array(np.asarray(order * flexible_hz * np.sqrt(1 + stretch * order**2)))


def clamped_frequency_first_order(
    tension_n: ArrayLike,
    span_length_m: ArrayLike,
    linear_density_kg_per_m: ArrayLike,
    bending_stiffness_n_m2: ArrayLike,
    number: ArrayLike = 1,
) -> float | Array:
    """Partial of a stiff span between clamps; the pinned one times 1 + (2/pi)·sqrt(B) + (4/pi²)·B. [Hz].

    Off by 0.4 % for the fundamental at a stiffness ratio of 10, by 0.01 % at 50.

    Parameters
    ----------
    tension_n, span_length_m, linear_density_kg_per_m, bending_stiffness_n_m2, number
        As for `tensionear.belt.stiff_span.partial_frequency`.

    Raises
    ------
    InputError
        If an argument is outside its range.

    References
    ----------
    .. [1] As for `pinned_frequency`. (From memory.)
    """
    stretch = stretch_of_stiffness(tension_n, span_length_m, bending_stiffness_n_m2)
    root = np.sqrt(stretch)
    pinned_hz = pinned_frequency(
        tension_n, span_length_m, linear_density_kg_per_m, bending_stiffness_n_m2, number
    )
    return float_or_array(np.asarray(pinned_hz * (1 + 2 / np.pi * root + 4 / np.pi**2 * stretch)))
