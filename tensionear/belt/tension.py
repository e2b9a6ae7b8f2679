"""Static tension and fundamental frequency of a span that is taken as flexible.

A flexible span carries half a wave at its fundamental, so that the wave's speed is twice the span length
times the fundamental; and a wave on a string has the speed sqrt(tension / linear density). A real belt also
resists bending and is held at its ends, which raises its fundamental: the tension found here is then too high
(`docs/measuring-well.md` says by how much).
"""

import math

from tensionear.belt.limits import require_positive

# Both directions use this and nothing else of the geometry, so that they cannot drift apart.
_WAVELENGTHS_PER_SPAN = 0.5


def _wave_speed(fundamental_hz: float, span_length_m: float) -> float:
    """Return the speed of the wave that stands on the span. [m/s]."""
    return fundamental_hz * span_length_m / _WAVELENGTHS_PER_SPAN


def static_tension(fundamental_hz: float, span_length_m: float, linear_density_kg_per_m: float) -> float:
    """Tension of a flexible span at rest that rings at `fundamental_hz`. [N].

    Parameters
    ----------
    fundamental_hz : float
        Above 0. [Hz]
    span_length_m : float
        Free length between the points where the belt meets its pulleys, above 0. [m]
    linear_density_kg_per_m : float
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
    require_positive("fundamental", fundamental_hz, "Hz")
    require_positive("span length", span_length_m, "m")
    require_positive("linear density", linear_density_kg_per_m, "kg/m")
    speed = _wave_speed(fundamental_hz, span_length_m)
    return linear_density_kg_per_m * speed * speed


def fundamental_frequency(tension_n: float, span_length_m: float, linear_density_kg_per_m: float) -> float:
    """Frequency at which a flexible span under `tension_n` rings; the inverse of `static_tension`. [Hz].

    Parameters
    ----------
    tension_n : float
        Static tension, above 0. [N]
    span_length_m : float
        As for `static_tension`. [m]
    linear_density_kg_per_m : float
        As for `static_tension`. [kg/m]

    Raises
    ------
    InputError
        If an argument is not finite or not above 0.
    """
    require_positive("tension", tension_n, "N")
    require_positive("span length", span_length_m, "m")
    require_positive("linear density", linear_density_kg_per_m, "kg/m")
    return math.sqrt(tension_n / linear_density_kg_per_m) / _wave_speed(1.0, span_length_m)
