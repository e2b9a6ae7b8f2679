"""Static tension and fundamental frequency of a span that is taken as flexible.

A flexible span carries half a wave at its fundamental, so that the wave's speed is twice the span length
times the fundamental; and a wave on a string has the speed sqrt(tension / linear density). A real belt also
resists bending and is held at its ends, which raises its fundamental: the tension found here is then too high
(`docs/measuring-well.md` says by how much). It is the span of `tensionear.belt.stiff_span` without stiffness.
"""

from typing import overload

from numpy.typing import ArrayLike

from tensionear.belt.arrays import Array, all_positive
from tensionear.belt.stiff_span import partial_frequency, tension_of_partial


@overload
def static_tension(fundamental_hz: float, span_length_m: float, linear_density_kg_per_m: float) -> float: ...
@overload
def static_tension(
    fundamental_hz: ArrayLike, span_length_m: ArrayLike, linear_density_kg_per_m: ArrayLike
) -> float | Array: ...
def static_tension(
    fundamental_hz: ArrayLike, span_length_m: ArrayLike, linear_density_kg_per_m: ArrayLike
) -> float | Array:
    """Tension of a flexible span at rest that rings at `fundamental_hz`. [N].

    Parameters
    ----------
    fundamental_hz : float or array_like
        Above 0. [Hz]
    span_length_m : float or array_like
        Free length between the points where the belt meets its pulleys, above 0. [m]
    linear_density_kg_per_m : float or array_like
        Mass per length, above 0. [kg/m]

    Raises
    ------
    InputError
        If an argument is not finite or not above 0.

    Notes
    -----
    T = m·v² with v = 2·L·f, that is T = 4·m·L²·f².

    References
    ----------
    .. [1] OpenStax, University Physics Volume 1, 16.3 "Wave Speed on a Stretched String" and
       16.6 "Standing Waves and Resonance".
    """
    all_positive("fundamental", fundamental_hz, "Hz")
    return tension_of_partial(fundamental_hz, span_length_m, linear_density_kg_per_m, 0.0, 0.0)


@overload
def fundamental_frequency(
    tension_n: float, span_length_m: float, linear_density_kg_per_m: float
) -> float: ...
@overload
def fundamental_frequency(
    tension_n: ArrayLike, span_length_m: ArrayLike, linear_density_kg_per_m: ArrayLike
) -> float | Array: ...
def fundamental_frequency(
    tension_n: ArrayLike, span_length_m: ArrayLike, linear_density_kg_per_m: ArrayLike
) -> float | Array:
    """Frequency at which a flexible span under `tension_n` rings; the inverse of `static_tension`. [Hz].

    Parameters
    ----------
    tension_n : float or array_like
        Static tension, above 0. [N]
    span_length_m, linear_density_kg_per_m : float or array_like
        As for `static_tension`.

    Raises
    ------
    InputError
        If an argument is not finite or not above 0.
    """
    return partial_frequency(tension_n, span_length_m, linear_density_kg_per_m, 0.0, 0.0)
