"""A strip let go by a finger: its swing in time, with the tension that its own stretch adds.

The modal equations q'' + 2 d q' + w² q + (EA/2L)(q·G q) G q = F r(t), G being the overlap of the modes' slopes
(Kirchhoff and Carrier: axial waves are so fast that the stretch is the same everywhere), are integrated by Strang
splitting: the linear part exactly, the stretch and the finger's force as kicks. When the stretch no longer matters
the rest follows in closed form.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks.simulator.strip import Strip, StripModes

_NEGLIGIBLE_STRETCH = 1e-5
_STEPS_A_PERIOD = 12


@dataclass(frozen=True)
class Finger:
    """What plucks the span.

    Attributes
    ----------
    position : float, 0 to 1
        Where along the span. [1]
    width_m : float
        Width of the contact, over which the force is spread as a raised cosine. [m]
    release_s : float
        Time over which the force is let go. [s]
    amplitude_m : float
        Largest deflection just before. [m]
    """

    position: float
    width_m: float
    release_s: float
    amplitude_m: float


def held_shape(modes: StripModes, finger: Finger) -> NDArray[np.float64]:
    """Modal coordinates, shape (n_modes,), of the strip held aside by the finger."""
    length_m = modes.position_m[-1]
    offset_m = np.linspace(-0.5, 0.5, 41)[1:-1] * finger.width_m
    pressure = 1 + np.cos(2 * np.pi * offset_m / finger.width_m)
    where_m = np.clip(finger.position * length_m + offset_m, 0.0, length_m)
    force = np.array([np.interp(where_m, modes.position_m, shape) @ pressure for shape in modes.shape])
    held = force / (2 * np.pi * modes.frequency_hz) ** 2
    return np.asarray(held * finger.amplitude_m / np.max(np.abs(held @ modes.shape)))


def relative_stretch_shift(strip: Strip, modes: StripModes, held: NDArray[np.float64]) -> float:
    """How much higher the fundamental begins because of the stretch, as a share of it (Duffing's law). [1]"""
    omega_squared = (2 * np.pi * modes.frequency_hz[0]) ** 2
    cubic = strip.axial_stiffness_n / (2 * strip.length_m) * modes.slope_overlap[0, 0] ** 2
    return float(3 / 8 * cubic * held[0] ** 2 / omega_squared)


def ring(
    strip: Strip,
    modes: StripModes,
    decay_per_s: NDArray[np.float64],
    finger: Finger,
    sensitivity: NDArray[np.float64],
    sample_rate_hz: float,
    n_samples: int,
    steps_a_period: int = _STEPS_A_PERIOD,
) -> NDArray[np.float64]:
    """Sound pressure (in units of weighted acceleration) of a strip let go at sample 0.

    Parameters
    ----------
    strip, modes : Strip, StripModes
        The span.
    decay_per_s : array, shape (n_modes,)
        Rate at which each mode's amplitude decays. [1/s]
    finger : Finger
        How it is plucked.
    sensitivity : array, shape (n_modes,)
        What the microphone hears of a mode's acceleration.
    sample_rate_hz : float
        [Hz]
    n_samples : int
        How much of the ring.
    steps_a_period : int
        Integration steps in a period of the highest mode, at least.

    Returns
    -------
    array, shape (n_samples,)
    """
    omega = 2 * np.pi * modes.frequency_hz
    damped = np.sqrt(omega**2 - decay_per_s**2)
    rate = -decay_per_s + 1j * damped
    held = held_shape(modes, finger)
    cubic = strip.axial_stiffness_n / (2 * strip.length_m)
    overlap = modes.slope_overlap
    holding = omega**2 * held + cubic * (held @ overlap @ held) * (overlap @ held)

    shift = relative_stretch_shift(strip, modes, held)
    stretch_s = np.log(max(shift / _NEGLIGIBLE_STRETCH, 1.0)) / (2 * np.min(decay_per_s))
    substeps = max(1, int(sample_rate_hz / (steps_a_period * modes.frequency_hz[-1])))
    substeps = min(substeps, max(1, int(finger.release_s * sample_rate_hz / 8)))
    n_steps = 1 + int(
        min(finger.release_s + stretch_s, n_samples / sample_rate_hz) * sample_rate_hz / substeps
    )
    step_s = substeps / sample_rate_hz

    # z = q' - conj(rate) q turns the linear part into z' = rate z, and a kick into a change of z's real part.
    z = -np.conj(rate) * held
    step = np.exp(rate * step_s)
    after_kick = np.empty((n_steps, len(omega)), dtype=np.complex128)
    let_go = _let_go(np.arange(n_steps) * step_s, finger.release_s)
    pull = step_s * np.outer(let_go, holding)
    kick_strength = -step_s * cubic
    inverse = 1 / damped
    for n in range(n_steps):
        q = z.imag * inverse
        gq = overlap @ q
        kick = pull[n] + (kick_strength * (q @ gq)) * gq
        z = z + (0.5 * kick if n == 0 else kick)
        after_kick[n] = z
        z = z * step

    between = np.exp(np.outer(np.arange(substeps) / sample_rate_hz, rate))
    states = (after_kick[:, None, :] * between).reshape(-1, len(omega))[:n_samples]
    q = states.imag / damped
    gq = q @ overlap
    time_s = np.arange(len(q)) / sample_rate_hz
    velocity = states.real - decay_per_s * q
    velocity[::substeps] -= (
        0.5
        * step_s
        * (
            np.outer(_let_go(time_s[::substeps], finger.release_s), holding)
            - cubic * np.sum(q[::substeps] * gq[::substeps], axis=1, keepdims=True) * gq[::substeps]
        )
    )
    acceleration = (
        -2 * decay_per_s * velocity
        - omega**2 * q
        - cubic * np.sum(q * gq, axis=1, keepdims=True) * gq
        + np.outer(_let_go(time_s, finger.release_s), holding)
    )
    heard = np.empty(n_samples)
    heard[: len(q)] = acceleration @ sensitivity
    heard[len(q) :] = _linear_rest(
        z, rate, sensitivity * rate**2 / damped, sample_rate_hz, n_samples - len(q)
    )
    return heard


def _let_go(time_s: NDArray[np.float64], release_s: float) -> NDArray[np.float64]:
    """Share of the holding force that is left, falling smoothly from 1 to 0."""
    return np.asarray(0.5 * (1 + np.cos(np.pi * np.clip(time_s / release_s, 0.0, 1.0))))


def _linear_rest(
    z: NDArray[np.complex128],
    rate: NDArray[np.complex128],
    weight: NDArray[np.complex128],
    sample_rate_hz: float,
    n_samples: int,
) -> NDArray[np.float64]:
    """Weighted acceleration of freely decaying modes; exponentials as coarse times fine, for speed."""
    if n_samples <= 0:
        return np.empty(0)
    fine = np.exp(np.outer(rate, np.arange(256) / sample_rate_hz))
    coarse = np.exp(np.outer(np.arange(0, n_samples, 256) / sample_rate_hz, rate))
    return np.asarray(((coarse * (weight * z)) @ fine).imag.ravel()[:n_samples])
