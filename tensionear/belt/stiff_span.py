"""Frequencies of a stiff span under tension between ends that hold it more or less, and the tension back from one.

Conventions: SI units; every argument may be a float or an array, and arrays broadcast; floats in, float out.

The span is a uniform Euler-Bernoulli strip of length L, mass per length m, bending stiffness EI and tension T. Its
ends do not move, and a rotational spring k resists their turning. Measured from mid-span, mode n has the shape
cos(bx/L)/cos(b/2) - cosh(ax/L)/cosh(a/2) if n is odd, and the same with sin and sinh if n is even, where
a² = b² + xi² and xi = L·sqrt(T/EI). That the bending moment at the ends equals -k times their slope gives, with
b = n·pi + phi,

    tan(phi/2) = b / (a·h + (a² + b²)·EI/(k·L)),   h = tanh(a/2) if n is odd, 1/tanh(a/2) if even,

and f = (b/2·pi·L)·sqrt((T + EI·b²/L²)/m). phi is how far the ends shift the wave: 0 for hinges. Nothing in it can
overflow, and no stiffness at all is its limit and no special case. `docs/physics.md` has the derivation.

**End fixity** says how firmly the ends hold: e = k/(k + sqrt(T·EI)), from 0 (pinned: hinges) to 1 (clamped).
sqrt(T·EI) is what the strip itself resists the turning of its end with, if it is long; so e is the share of the
clamp's moment that the spring takes up, and to first order the share of the clamp's effect: an end shortens the
span by e·sqrt(EI/T). Unlike k·L/EI it means the same on every length of the same belt. 0 and 1 are exact.

Validity: xi of at least `LOWEST_STIFFNESS_RATIO`; small slopes; a wave much longer than the belt is thick
(shear and rotary inertia are left out). Tooth pitch, damping, air and amplitude are not in it.
"""

from collections.abc import Callable
from typing import overload

import numpy as np
from numpy.typing import ArrayLike

from tensionear.belt.arrays import Array, all_positive, all_within, float_or_array, partial_numbers
from tensionear.errors import InputError

LOWEST_STIFFNESS_RATIO = 3.0
"""Below this a span bends like a bar, and its frequency says little of its tension."""

LARGEST_BENDING_STIFFNESS_N_M2 = 100.0
"""Hundreds of times that of a broad timing belt: common practice, no source."""

_MOST_STEPS = 50  # some 5 are taken
_ROUNDING = 1e-13  # of phi; below it there is noise of rounding, high partials of short spans


@overload
def partial_frequency(
    tension_n: float,
    span_length_m: float,
    linear_density_kg_per_m: float,
    bending_stiffness_n_m2: float,
    end_fixity: float,
    number: float = 1,
) -> float: ...
@overload
def partial_frequency(
    tension_n: ArrayLike,
    span_length_m: ArrayLike,
    linear_density_kg_per_m: ArrayLike,
    bending_stiffness_n_m2: ArrayLike,
    end_fixity: ArrayLike,
    number: ArrayLike = 1,
) -> float | Array: ...
def partial_frequency(
    tension_n: ArrayLike,
    span_length_m: ArrayLike,
    linear_density_kg_per_m: ArrayLike,
    bending_stiffness_n_m2: ArrayLike,
    end_fixity: ArrayLike,
    number: ArrayLike = 1,
) -> float | Array:
    """Frequency of a partial of a span under `tension_n`. [Hz].

    Parameters
    ----------
    tension_n : float or array_like
        Static tension, above 0; the stiffness ratio that follows is at least `LOWEST_STIFFNESS_RATIO`. [N]
    span_length_m : float or array_like
        Free length between the points where the belt meets its pulleys, above 0. [m]
    linear_density_kg_per_m : float or array_like
        Mass per length, above 0. [kg/m]
    bending_stiffness_n_m2 : float or array_like
        EI; 0 is a flexible span. [N m²]
    end_fixity : float or array_like
        0 (pinned) to 1 (clamped). [1]
    number : int or array_like of int
        1 is the fundamental.

    Returns
    -------
    float or array
        Exact for the model of this module.

    Raises
    ------
    InputError
        If an argument is outside its range.

    References
    ----------
    .. [1] H. Fletcher, "Normal vibration frequencies of a stiff piano string", J. Acoust. Soc. Am. 36 (1964)
       203-209: pinned and clamped strings. (From memory; the equation used here is derived in `docs/physics.md`
       and checked against finite elements.)
    """
    tension = all_positive("tension", tension_n, "N")
    length, density, stiffness, fixity, order = _checked_span(
        span_length_m, linear_density_kg_per_m, bending_stiffness_n_m2, end_fixity, number
    )
    flexibility = np.sqrt(stiffness / tension) / length
    _require_string(flexibility)
    shift = _solved(lambda phi: _end_shift(phi, flexibility, fixity, order))
    return float_or_array(_frequency(tension, shift, length, density, stiffness, order))


@overload
def tension_of_partial(
    frequency_hz: float,
    span_length_m: float,
    linear_density_kg_per_m: float,
    bending_stiffness_n_m2: float,
    end_fixity: float,
    number: float = 1,
) -> float: ...
@overload
def tension_of_partial(
    frequency_hz: ArrayLike,
    span_length_m: ArrayLike,
    linear_density_kg_per_m: ArrayLike,
    bending_stiffness_n_m2: ArrayLike,
    end_fixity: ArrayLike,
    number: ArrayLike = 1,
) -> float | Array: ...
def tension_of_partial(
    frequency_hz: ArrayLike,
    span_length_m: ArrayLike,
    linear_density_kg_per_m: ArrayLike,
    bending_stiffness_n_m2: ArrayLike,
    end_fixity: ArrayLike,
    number: ArrayLike = 1,
) -> float | Array:
    """Static tension of a span whose partial is at `frequency_hz`; the inverse of `partial_frequency`. [N].

    Parameters
    ----------
    frequency_hz : float or array_like
        Above 0. [Hz]
    span_length_m, linear_density_kg_per_m, bending_stiffness_n_m2, end_fixity, number
        As for `partial_frequency`.

    Returns
    -------
    float or array
        Exact for the model of this module.

    Raises
    ------
    InputError
        If an argument is outside its range, or the frequency is so low that the span would bend like a bar: its
        stiffness alone would account for it.

    Notes
    -----
    The frequency gives the product a·b = 2·pi·f·L²·sqrt(m/EI), so that the frequency equation has phi for its
    only unknown, as it has if the tension is known.
    """
    frequency = all_positive("frequency", frequency_hz, "Hz")
    length, density, stiffness, fixity, order = _checked_span(
        span_length_m, linear_density_kg_per_m, bending_stiffness_n_m2, end_fixity, number
    )
    least_tension = stiffness * (LOWEST_STIFFNESS_RATIO / length) ** 2
    least_shift = _solved(lambda phi: _end_shift(phi, np.asarray(1 / LOWEST_STIFFNESS_RATIO), fixity, order))
    least_frequency = _frequency(least_tension, least_shift, length, density, stiffness, order)
    _require_high_enough(frequency, least_frequency, stiffness)

    def tension_at(shift: Array) -> Array:
        waves_per_span = (order + shift / np.pi) / 2
        speed = frequency * length / waves_per_span
        tension = density * speed * speed - stiffness * (2 * np.pi * waves_per_span / length) ** 2
        # On its way the iteration may step past the solution, which lies above the least tension.
        return np.asarray(np.maximum(tension, least_tension))

    return float_or_array(
        tension_at(
            _solved(lambda phi: _end_shift(phi, np.sqrt(stiffness / tension_at(phi)) / length, fixity, order))
        )
    )


def stiffness_ratio(
    tension_n: ArrayLike, span_length_m: ArrayLike, bending_stiffness_n_m2: ArrayLike
) -> float | Array:
    """Stiffness ratio xi = L·sqrt(T/EI): large if the span rings like a string, infinite if flexible. [1].

    Parameters
    ----------
    tension_n, span_length_m, bending_stiffness_n_m2
        As for `partial_frequency`.

    Raises
    ------
    InputError
        If an argument is outside its range.
    """
    tension = all_positive("tension", tension_n, "N")
    length = all_positive("span length", span_length_m, "m")
    stiffness = _checked_stiffness(bending_stiffness_n_m2)
    with np.errstate(divide="ignore"):
        return float_or_array(np.asarray(length * np.sqrt(tension / stiffness)))


def end_fixity_of_spring(
    spring_n_m: ArrayLike, tension_n: ArrayLike, bending_stiffness_n_m2: ArrayLike
) -> float | Array:
    """End fixity of ends that a rotational spring holds; e = k/(k + sqrt(T·EI)). [1].

    Parameters
    ----------
    spring_n_m : float or array_like
        k, what resists the turning of either end, above 0. [N m/rad]
    tension_n, bending_stiffness_n_m2
        As for `partial_frequency`.

    Raises
    ------
    InputError
        If an argument is outside its range.
    """
    spring = all_positive("end spring", spring_n_m, "N m/rad")
    tension = all_positive("tension", tension_n, "N")
    stiffness = _checked_stiffness(bending_stiffness_n_m2)
    return float_or_array(np.asarray(spring / (spring + np.sqrt(tension * stiffness))))


def _frequency(
    tension: Array, shift: Array, length: Array, density: Array, stiffness: Array, order: Array
) -> Array:
    """Frequency that follows from the shift of the wave. [Hz]."""
    waves_per_span = (order + shift / np.pi) / 2
    bent = stiffness * (2 * np.pi * waves_per_span / length) ** 2
    return np.asarray(np.sqrt((tension + bent) / density) * waves_per_span / length)


def _end_shift(shift: Array, flexibility: Array, fixity: Array, order: Array) -> Array:
    """Right-hand side of the frequency equation, solved for phi; `flexibility` is 1/xi.

    Written in 1/xi and e, so that neither no stiffness nor a perfect clamp divides by zero.
    """
    bend = flexibility * (order * np.pi + shift)
    with np.errstate(divide="ignore"):
        half_angle = np.sqrt(1 + bend**2) / (2 * flexibility)  # a/2
    reach = np.where(order % 2 == 1, np.tanh(half_angle), 1 / np.tanh(half_angle))
    hold = fixity * np.sqrt(1 + bend**2) * reach + (1 - fixity) * (1 + 2 * bend**2)
    return np.asarray(2 * np.arctan(fixity * bend / hold))


def _solved(end_shift: Callable[[Array], Array]) -> Array:
    """Fixed point of the frequency equation by Steffensen's method: phi where the right-hand side gives phi."""
    shift = end_shift(np.asarray(0.0))
    for _ in range(_MOST_STEPS):
        once = end_shift(shift)
        if np.all(np.abs(once - shift) <= _ROUNDING):
            return once
        twice = end_shift(once)
        bend = twice - 2 * once + shift
        curved = np.abs(bend) > _ROUNDING
        shift = np.where(curved, shift - (once - shift) ** 2 / np.where(curved, bend, 1.0), twice)
        shift = np.clip(shift, 0.0, np.pi)
    raise ArithmeticError("the frequency equation of the stiff span was not solved")


def _checked_span(
    span_length_m: ArrayLike,
    linear_density_kg_per_m: ArrayLike,
    bending_stiffness_n_m2: ArrayLike,
    end_fixity: ArrayLike,
    number: ArrayLike,
) -> tuple[Array, Array, Array, Array, Array]:
    return (
        all_positive("span length", span_length_m, "m"),
        all_positive("linear density", linear_density_kg_per_m, "kg/m"),
        _checked_stiffness(bending_stiffness_n_m2),
        all_within("end fixity", end_fixity, "", 0.0, 1.0),
        partial_numbers(number),
    )


def _checked_stiffness(bending_stiffness_n_m2: ArrayLike) -> Array:
    return all_within(
        "bending stiffness", bending_stiffness_n_m2, "N m²", 0.0, LARGEST_BENDING_STIFFNESS_N_M2
    )


def _require_string(flexibility: Array) -> None:
    """Let only spans pass that ring like a string."""
    worst = float(np.max(flexibility, initial=0.0))
    if worst * LOWEST_STIFFNESS_RATIO > 1 + 1e-9:
        raise InputError(
            f"stiffness ratio {1 / worst:.3g} is below {LOWEST_STIFFNESS_RATIO:g}: so short or slack a span bends"
            " like a bar; are tension, span length and bending stiffness right?"
        )


def _require_high_enough(frequency: Array, least: Array, stiffness: Array) -> None:
    """Let only frequencies pass that the span's stiffness alone does not account for."""
    values = np.broadcast_arrays(frequency, least, stiffness)
    too_low = values[0] < values[1] * (1 - 1e-9)
    for value, limit, bending in zip(*(array[too_low][:1] for array in values), strict=True):
        raise InputError(
            f"frequency {value:.4g} Hz is lower than {limit:.4g} Hz, below which a bending stiffness of"
            f" {bending:.3g} N m² leaves nothing to tell the tension by: are bending stiffness, span length and"
            " number of the partial right?"
        )
