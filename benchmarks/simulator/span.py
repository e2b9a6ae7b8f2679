"""Belt spans ready to be plucked, and fingers to pluck them: strip, damping, and what a microphone hears."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from benchmarks.simulator.strip import Strip, StripModes, strip_modes
from benchmarks.simulator.swing import Finger, held_shape, relative_stretch_shift, ring

_N_MODES = 12
_LOWEST_FUNDAMENTAL_HZ, _HIGHEST_FUNDAMENTAL_HZ = 20.0, 600.0
_LARGEST_GLIDE = 0.06
_STRONGEST_FINGER_N = 30.0


@dataclass(frozen=True)
class Span:
    """A span ready to be plucked: its strip, modes, damping and how the microphone hears each mode.

    Attributes
    ----------
    strip, modes : Strip, StripModes
        The finite-element span.
    decay_per_s : array, shape (n_modes,)
        Decay rates of the modes' amplitudes. [1/s]
    sensitivity : array, shape (n_modes,)
        What the microphone hears of each mode's acceleration.
    """

    strip: Strip
    modes: StripModes
    decay_per_s: NDArray[np.float64]
    sensitivity: NDArray[np.float64]

    @property
    def partial_hz(self) -> NDArray[np.float64]:
        """Damped small-amplitude frequencies, shape (n_modes,), in hertz."""
        omega = 2 * np.pi * self.modes.frequency_hz
        return np.asarray(np.sqrt(omega**2 - self.decay_per_s**2) / (2 * np.pi))

    @property
    def fundamental_hz(self) -> float:
        """Damped small-amplitude fundamental: the truth that a reading is compared with, in hertz."""
        return float(self.partial_hz[0])

    @property
    def ring_time_s(self) -> float:
        """Time in which the fundamental's amplitude falls to 1/e, in seconds."""
        return float(1 / self.decay_per_s[0])

    def glide(self, finger: Finger) -> float:
        """Tell how much higher than its small-amplitude value the fundamental begins, as a share of it."""
        return relative_stretch_shift(self.strip, self.modes, held_shape(self.modes, finger))

    def plucked(self, finger: Finger, sample_rate_hz: float, n_samples: int) -> NDArray[np.float64]:
        """Let go of the span at sample 0 and hear it ring, shape (n_samples,)."""
        return ring(
            self.strip, self.modes, self.decay_per_s, finger, self.sensitivity, sample_rate_hz, n_samples
        )


def draw_span(rng: np.random.Generator) -> Span:
    """Draw a span whose fundamental lies within 20 to 600 Hz."""
    while True:
        length_m, density = log_uniform(rng, 0.08, 0.5), log_uniform(rng, 0.05, 0.3)
        tension_n, xi = log_uniform(rng, 80, 1500), log_uniform(rng, 15, 150)
        bending = tension_n * length_m**2 / xi**2
        match rng.integers(3):
            case 0:
                springs = (0.0, 0.0)
            case 1:
                springs = (math.inf, math.inf)
            case _:
                springs = (
                    bending / length_m * log_uniform(rng, 0.3, 300),
                    bending / length_m * log_uniform(rng, 0.3, 300),
                )
        strip = Strip(length_m, density, tension_n, bending, log_uniform(rng, 5e4, 2e5), springs)
        span = damped_span(rng, strip, quality=rng.uniform(10, 50))
        if _LOWEST_FUNDAMENTAL_HZ <= span.fundamental_hz <= _HIGHEST_FUNDAMENTAL_HZ:
            return span


def damped_span(rng: np.random.Generator, strip: Strip, quality: float) -> Span:
    """Give a strip modes, damping and a place before the microphone.

    The loss of a mode is a mix of three kinds, each with its own course over frequency: structural (the same
    Q for all), proportional to mass (the same decay for all) and to stiffness (the higher, the shorter).
    """
    modes = strip_modes(strip, _N_MODES)
    structural, mass, stiffness = rng.dirichlet([3.0, 1.0, 0.7])
    relative = modes.frequency_hz / modes.frequency_hz[0]
    loss = (structural + mass / relative + stiffness * relative) / quality
    loss[1:] *= np.exp(0.15 * rng.standard_normal(_N_MODES - 1))
    return Span(strip, modes, np.pi * modes.frequency_hz * loss, _sensitivity(rng, modes))


def draw_finger(rng: np.random.Generator, span: Span) -> Finger:
    """Draw a thumb (wide, slow) or a nail (narrow, sharp), up to 30 N of force and 6 % of glide."""
    position = rng.uniform(0.15, 0.5)
    if rng.uniform() < 0.5:
        position = 1 - position
    if rng.uniform() < 0.5:
        width_m, release_s = rng.uniform(0.012, 0.022), rng.uniform(0.001, 0.006)
    else:
        width_m, release_s = rng.uniform(0.002, 0.005), rng.uniform(0.0002, 0.0015)
    width_m = min(width_m, 0.25 * span.strip.length_m)
    # A finger slower than half a period would lay the span to rest instead of plucking it.
    release_s = min(release_s, 0.4 / float(span.modes.frequency_hz[0]))
    reach_m = _STRONGEST_FINGER_N * position * (1 - position) * span.strip.length_m / span.strip.tension_n
    finger = Finger(position, width_m, release_s, min(log_uniform(rng, 0.3e-3, 4e-3), reach_m))
    softer = min(1.0, math.sqrt(_LARGEST_GLIDE / span.glide(finger)))
    return replace(finger, amplitude_m=softer * finger.amplitude_m)


def _sensitivity(rng: np.random.Generator, modes: StripModes) -> NDArray[np.float64]:
    """Near-field monopoles along the span, with what the machine around it does to each."""
    length_m = modes.position_m[-1]
    across_m, along_m = log_uniform(rng, 0.03, 1.0), rng.uniform(0, 1) * length_m
    weight = across_m / np.hypot(across_m, modes.position_m - along_m)
    for number in (1, 2, 3):
        bump = np.cos(np.pi * number * modes.position_m / length_m + rng.uniform(0, 2 * np.pi))
        weight = weight * (1 + 0.2 * rng.standard_normal() * bump)
    return np.asarray(modes.shape @ weight / len(weight))


def neighbour_answer(
    rng: np.random.Generator, span: Span, finger: Finger, n: int, sample_rate_hz: float
) -> tuple[float, NDArray[np.float64]]:
    """Set off another span of the same belt and tension by the same pluck: its fundamental and sound."""
    strip = span.strip
    length_m = strip.length_m / rng.uniform(0.6, 1.6)
    neighbour = damped_span(rng, replace(strip, length_m=length_m), quality=rng.uniform(10, 50))
    # The pull comes through the pulley, at an end, and is small: no stretch of its own.
    pull = Finger(rng.choice([0.08, 0.92]), 0.1 * length_m, finger.release_s, 1e-5)
    return neighbour.fundamental_hz, neighbour.plucked(pull, sample_rate_hz, n)


def log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    """Draw a number whose logarithm is uniform between those of the limits."""
    return float(math.exp(rng.uniform(math.log(low), math.log(high))))
