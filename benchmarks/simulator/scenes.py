"""Simulated plucks, drawn over what workshops meet.

The signal-to-noise ratio of a pluck is the mean square of the ring (the plucked span alone, through room
and microphone, without its knock) over the fundamental's first time constant, over the mean square of the
background noise of the whole sound, both within 20 to 2000 Hz. Fans belong to the noise of the shop and
count; mains hum, clanks and the neighbour span do not count: their own levels are in the parameters.

The true fundamental is the frequency at which the finite-element span's lowest mode rings when its amplitude
is small: the undamped eigenfrequency times sqrt(1 - 1/(4 Q²)), lower by 0.13 % at Q 10 and 0.01 % at Q 35;
the undamped one is in the parameters.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks.simulator import air, noise
from benchmarks.simulator.span import Span, draw_finger, draw_span, neighbour_answer
from benchmarks.simulator.strip import Strip
from benchmarks.simulator.swing import Finger

SCENES = ("quiet", "shop noise", "hum", "phone", "clanks", "hall", "two spans", "double pluck")


@dataclass(frozen=True)
class PluckParameters:
    """How a simulated pluck was made; everything that was drawn and is worth sorting results by.

    Attributes
    ----------
    strip : Strip
        The span.
    finger : Finger
        What plucked it.
    stiffness_number : float
        xi = L sqrt(T/EI). [1]
    quality : float
        Q of the fundamental. [1]
    ring_time_s : float
        Time in which the fundamental's amplitude falls to 1/e. [s]
    undamped_fundamental_hz : float
        Eigenfrequency of the finite-element span. [Hz]
    partial_hz, partial_ring_time_s : tuple of float
        Damped frequencies and time constants of all simulated modes. [Hz], [s]
    glide : float
        How much higher the fundamental begins, as a share of it. [1]
    knock_db, rub_db : float
        Peak of the knock, level of the finger's rub before release, against the ring. [dB]
    reverberation_s, direct_db : float
        The room. [s], [dB]
    microphone_corner_hz : float
        [Hz]
    mains_hz, hum_db : float or None
        Mains frequency [Hz]; power of the hum over the ring's. [dB]
    clank_db : float or None
        Loudest clank's peak over the ring's. [dB]
    second_fundamental_hz, second_level_db : float or None
        The neighbour span's small-amplitude fundamental [Hz]; its power over the plucked span's. [dB]
    second_onset_s : float or None
        When the span was plucked again. [s]
    """

    strip: Strip
    finger: Finger
    stiffness_number: float
    quality: float
    ring_time_s: float
    undamped_fundamental_hz: float
    partial_hz: tuple[float, ...]
    partial_ring_time_s: tuple[float, ...]
    glide: float
    knock_db: float
    rub_db: float
    reverberation_s: float
    direct_db: float
    microphone_corner_hz: float
    mains_hz: float | None = None
    hum_db: float | None = None
    clank_db: float | None = None
    second_fundamental_hz: float | None = None
    second_level_db: float | None = None
    second_onset_s: float | None = None


@dataclass(frozen=True)
class SimulatedPluck:
    """A simulated recording of one pluck, and the truth about it.

    Attributes
    ----------
    samples : array of float32, shape (n,)
        Mono, full scale 1: 1.5 to 2 s of background, the pluck, its ring.
    sample_rate_hz : float
        [Hz]
    onset_s : float
        When the finger began to let go. [s]
    fundamental_hz : float
        The true small-amplitude fundamental. [Hz]
    scene : str
        One of `SCENES`.
    snr_db : float
        As defined in this module. [dB]
    parameters : PluckParameters
        How it was made.
    """

    samples: NDArray[np.float32]
    sample_rate_hz: float
    onset_s: float
    fundamental_hz: float
    scene: str
    snr_db: float
    parameters: PluckParameters


def draw_pluck(
    rng: np.random.Generator, scene: str, snr_db: float, sample_rate_hz: float = 48000
) -> SimulatedPluck:
    """Draw one pluck of a random span.

    Parameters
    ----------
    rng : numpy.random.Generator
        All chance comes from it.
    scene : str
        One of `SCENES`.
    snr_db : float
        Signal-to-noise ratio as defined in this module. [dB]
    sample_rate_hz : float
        [Hz]

    Raises
    ------
    ValueError
        If there is no such scene.
    """
    if scene not in SCENES:
        raise ValueError(f"no scene {scene!r}: choose from {', '.join(SCENES)}")
    span = draw_span(rng)
    finger = draw_finger(rng, span)
    ring_time_s = span.ring_time_s
    before_s = rng.uniform(1.5, 2.0)
    onset = int(before_s * sample_rate_hz)
    n = onset + int(min(max(1.2, 8 * ring_time_s + 0.4), 2.5) * sample_rate_hz)

    dry = np.zeros(n)
    dry[onset:] = span.plucked(finger, sample_rate_hz, n - onset)
    second_onset: int | None = None
    if scene == "double pluck":
        second_onset = onset + int(rng.uniform(0.15, 0.6) * sample_rate_hz)
        _pluck_again(rng, dry, span, second_onset, sample_rate_hz)

    path = _draw_path(rng, scene, sample_rate_hz)
    heard = path.from_room(dry)
    first = slice(onset, onset + max(1, int(ring_time_s * sample_rate_hz)))
    heard /= _level(heard, first, sample_rate_hz)
    peak = float(np.max(np.abs(heard)))

    knock_db, rub_db = rng.uniform(-25, 3), rng.uniform(-45, -18)
    contact = np.zeros(n)
    for start in (onset, second_onset):
        if start is not None:
            knock = noise.knock(rng, int(0.2 * sample_rate_hz), sample_rate_hz)
            noise.add(contact, start, _ratio(knock_db) * peak * knock)
    noise.add_rub(rng, contact, onset, _ratio(rub_db), sample_rate_hz)
    heard += path.from_room(contact)

    second_hz, second_db, clank_db, mains_hz, hum_db = None, None, None, None, None
    if scene == "two spans":
        second_db = rng.uniform(-25, 0)
        second_hz, answer = neighbour_answer(rng, span, finger, n - onset, sample_rate_hz)
        other = np.zeros(n)
        other[onset:] = answer
        other = path.from_room(other)
        heard += _ratio(second_db) / _level(other, first, sample_rate_hz) * other
    elif scene == "clanks":
        clank_db = rng.uniform(-12, 15)
        clanks = path.from_room(noise.clanks(rng, n, onset, sample_rate_hz))
        heard += _ratio(clank_db) * peak * clanks
    elif scene == "hum":
        mains_hz, hum_db = rng.choice([50.0, 60.0]) + rng.normal(0, 0.05), rng.uniform(-10, 10)
        hum = path.from_everywhere(noise.mains_hum(rng, n, sample_rate_hz, mains_hz))
        heard += _ratio(hum_db) / math.sqrt(noise.band_power(hum, sample_rate_hz)) * hum

    if scene == "shop noise":
        background = path.from_everywhere(noise.shop(rng, n, sample_rate_hz))
    else:
        background = path.from_everywhere(noise.coloured(rng, n, sample_rate_hz, rng.uniform(0.0, 1.2)))
    heard += _ratio(-snr_db) / math.sqrt(noise.band_power(background, sample_rate_hz)) * background

    gain = 10 ** (rng.uniform(-30, -1) / 20) / float(np.max(np.abs(heard)))
    strip = span.strip
    return SimulatedPluck(
        samples=air.digitised(heard, gain),
        sample_rate_hz=sample_rate_hz,
        onset_s=onset / sample_rate_hz,
        fundamental_hz=span.fundamental_hz,
        scene=scene,
        snr_db=snr_db,
        parameters=PluckParameters(
            strip=strip,
            finger=finger,
            stiffness_number=strip.length_m * math.sqrt(strip.tension_n / strip.bending_stiffness_n_m2),
            quality=math.pi * float(span.modes.frequency_hz[0]) * ring_time_s,
            ring_time_s=ring_time_s,
            undamped_fundamental_hz=float(span.modes.frequency_hz[0]),
            partial_hz=tuple(span.partial_hz.tolist()),
            partial_ring_time_s=tuple((1 / span.decay_per_s).tolist()),
            glide=span.glide(finger),
            knock_db=knock_db,
            rub_db=rub_db,
            reverberation_s=path.reverberation_s,
            direct_db=path.direct_db,
            microphone_corner_hz=path.corner_hz,
            mains_hz=mains_hz,
            hum_db=hum_db,
            clank_db=clank_db,
            second_fundamental_hz=second_hz,
            second_level_db=second_db,
            second_onset_s=None if second_onset is None else second_onset / sample_rate_hz,
        ),
    )


@dataclass(frozen=True)
class _Path:
    """The way of a sound to the samples: a room and a microphone."""

    reverberation_s: float
    direct_db: float
    response: NDArray[np.float64]
    corner_hz: float
    order: int
    sample_rate_hz: float

    def from_room(self, sound: NDArray[np.float64]) -> NDArray[np.float64]:
        """Hear a sound that is made at one place in the room."""
        return self.from_everywhere(air.through_room(sound, self.response))

    def from_everywhere(self, sound: NDArray[np.float64]) -> NDArray[np.float64]:
        """Hear a sound that is about the microphone anyway."""
        return air.through_microphone(sound, self.corner_hz, self.order, self.sample_rate_hz)


def _draw_path(rng: np.random.Generator, scene: str, sample_rate_hz: float) -> _Path:
    if scene == "hall":
        # Critical distance 1 to 5 m; the microphone at 0.3 to 1.5 m.
        reverberation_s, direct_db = rng.uniform(1.0, 2.5), rng.uniform(0, 18)
    else:
        # Within 10 to 30 cm of the span, well inside the critical distance of a workshop.
        reverberation_s, direct_db = rng.uniform(0.3, 0.8), rng.uniform(12, 26)
    response = air.room_response(rng, reverberation_s, direct_db, sample_rate_hz)
    if scene == "phone":
        corner_hz, order = rng.uniform(100, 250), int(rng.integers(2, 5))
    else:
        corner_hz, order = rng.uniform(10, 40), 1
    return _Path(reverberation_s, direct_db, response, corner_hz, order, sample_rate_hz)


def _ratio(level_db: float) -> float:
    return float(10 ** (level_db / 20))


def _level(sound: NDArray[np.float64], part: slice, sample_rate_hz: float) -> float:
    """Root mean square of a part of a sound within 20 to 2000 Hz."""
    return math.sqrt(float(np.mean(noise.band_limited(sound, sample_rate_hz)[part] ** 2)))


def _pluck_again(
    rng: np.random.Generator, dry: NDArray[np.float64], span: Span, start: int, sample_rate_hz: float
) -> None:
    """Lay the ring to rest under the finger and pluck the span once more, in place."""
    touch = start - int(rng.uniform(0.02, 0.1) * sample_rate_hz)
    rest = np.exp(-np.arange(len(dry) - touch) / (rng.uniform(0.003, 0.012) * sample_rate_hz))
    dry[touch:] *= rest
    dry[start:] += span.plucked(draw_finger(rng, span), sample_rate_hz, len(dry) - start)
