"""A strip let go by a finger: its swing in time, with the tension that its own stretch adds.

The modal equations q'' + 2 d q' + w² q + (EA/2L)(q·G q) G q = F r(t), G being the overlap of the modes'
slopes (Kirchhoff and Carrier: axial waves are so fast that the stretch is the same everywhere), are
integrated by Strang splitting: the linear part exactly, the stretch and the finger's force as kicks. When
the stretch no longer matters the rest follows in closed form.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks.simulator.strip import Strip, StripModes

_NEGLIGIBLE_STRETCH = 3e-5
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
    """Tell how much higher, as a share, the fundamental begins because of the stretch (Duffing's law)."""
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
    held = held_shape(modes, finger)
    shift = relative_stretch_shift(strip, modes, held)
    stretch_s = np.log(max(shift / _NEGLIGIBLE_STRETCH, 1.0)) / (2 * np.min(decay_per_s))
    n_release = min(n_samples, 1 + math.ceil(finger.release_s * sample_rate_hz))
    n_stretch = min(n_samples - n_release, math.ceil(stretch_s * sample_rate_hz))
    substeps = max(1, int(sample_rate_hz / (steps_a_period * modes.frequency_hz[-1])))

    swing = _Swing(strip, modes, decay_per_s, sample_rate_hz)
    z = swing.at_rest(held)
    left = 0.5 * (
        1 + np.cos(np.pi * np.clip(np.arange(n_release) / (finger.release_s * sample_rate_hz), 0, 1))
    )
    heard = np.empty(n_samples)
    heard[:n_release], z = swing.released(z, sensitivity, np.outer(left, swing.holding_force(held)))
    n_done = n_release + n_stretch
    heard[n_release:n_done], z = swing.stretching(z, sensitivity, n_stretch, substeps)
    heard[n_done:] = swing.free(z, sensitivity, n_samples - n_done)
    return heard


class _Swing:
    """The modal equations of one damped strip, and the three ways in which they are solved.

    The state is z = q' - conj(rate) q, which turns the linear part into z' = rate z and a kick into a
    change of z's real part. States are those just before the kick of their sample.
    """

    def __init__(
        self, strip: Strip, modes: StripModes, decay_per_s: NDArray[np.float64], sample_rate_hz: float
    ) -> None:
        omega = 2 * np.pi * modes.frequency_hz
        self._damped = np.sqrt(omega**2 - decay_per_s**2)
        self._decay = decay_per_s
        self._rate = -decay_per_s + 1j * self._damped
        self._stiffness = omega**2
        self._cubic = strip.axial_stiffness_n / (2 * strip.length_m)
        self._overlap = modes.slope_overlap
        self._sample_s = 1 / sample_rate_hz

    def at_rest(self, q: NDArray[np.float64]) -> NDArray[np.complex128]:
        """State of the strip held still in a shape."""
        return np.asarray(-np.conj(self._rate) * q)

    def holding_force(self, q: NDArray[np.float64]) -> NDArray[np.float64]:
        """Modal force that holds a shape."""
        return np.asarray(self._stiffness * q - self._stretch_force(q[None, :])[0])

    def released(
        self, z: NDArray[np.complex128], sensitivity: NDArray[np.float64], force: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.complex128]]:
        """Sound and end state under a given force, shape (n_samples, n_modes), by one step a sample."""
        step = np.exp(self._rate * self._sample_s)
        states = np.empty(force.shape, dtype=np.complex128)
        for n, pull in enumerate(force):
            kick = self._sample_s * (pull + self._stretch_force((z.imag / self._damped)[None, :])[0])
            # The first kick is half a one: the force began with the first sample, not half a step earlier.
            states[n] = z + 0.5 * kick if n else z
            z = (z + (kick if n else 0.5 * kick)) * step
        return self._heard(states, force, sensitivity), z

    def stretching(
        self, z: NDArray[np.complex128], sensitivity: NDArray[np.float64], n_samples: int, substeps: int
    ) -> tuple[NDArray[np.float64], NDArray[np.complex128]]:
        """Sound and end state with no force but the stretch's, kicked every `substeps` samples."""
        n_steps = math.ceil(n_samples / substeps)
        step = np.exp(self._rate * self._sample_s * substeps)
        strength = -self._sample_s * substeps * self._cubic
        inverse = 1 / self._damped
        kicked = np.empty((n_steps, len(step)), dtype=np.complex128)
        z, q, slope_force = z.copy(), np.empty(len(step)), np.empty(len(step))
        real, imaginary = z.real, z.imag
        for n in range(n_steps):
            np.multiply(imaginary, inverse, out=q)
            np.dot(self._overlap, q, out=slope_force)
            slope_force *= strength * np.dot(q, slope_force)
            real += slope_force
            kicked[n] = z
            z *= step
        between = np.exp(np.outer(np.arange(substeps) * self._sample_s, self._rate))
        states = (kicked[:, None, :] * between).reshape(-1, len(step))
        if n_samples and n_samples < len(states):
            z = states[n_samples]
        states = states[:n_samples]
        at_kick = states[::substeps]
        at_kick -= 0.5 * self._sample_s * substeps * self._stretch_force(at_kick.imag / self._damped)
        return self._heard(states, np.zeros((1, len(step))), sensitivity), z

    def free(
        self, z: NDArray[np.complex128], sensitivity: NDArray[np.float64], n_samples: int
    ) -> NDArray[np.float64]:
        """Sound of the linear strip, in closed form; exponentials as coarse times fine, for speed."""
        weight = z * sensitivity * self._rate**2 / self._damped
        fine = np.exp(np.outer(self._rate, np.arange(256) * self._sample_s))
        coarse = np.exp(np.outer(np.arange(0, n_samples, 256) * self._sample_s, self._rate))
        return np.asarray(((coarse * weight) @ fine).imag.ravel()[:n_samples])

    def _stretch_force(self, q: NDArray[np.float64]) -> NDArray[np.float64]:
        """Modal force of the tension that the stretch adds, for coordinates of shape (n, n_modes)."""
        slope_force = q @ self._overlap
        return np.asarray(-self._cubic * np.sum(q * slope_force, axis=1, keepdims=True) * slope_force)

    def _heard(
        self,
        states: NDArray[np.complex128],
        force: NDArray[np.float64],
        sensitivity: NDArray[np.float64],
    ) -> NDArray[np.float64]:
        """Weighted acceleration at states of shape (n, n_modes)."""
        q = states.imag / self._damped
        velocity = states.real - self._decay * q
        acceleration = force + self._stretch_force(q) - 2 * self._decay * velocity - self._stiffness * q
        return np.asarray(acceleration @ sensitivity)
