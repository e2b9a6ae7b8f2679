"""What else is heard in a workshop: noise, fans, mains hum, clanks, and the knock of the pluck itself.

Every function gives mono sound as float arrays, shape (n,); chance comes from the given generator only.
"""

import numpy as np
import scipy.fft
from numpy.typing import NDArray

Sound = NDArray[np.float64]

LOWEST_HZ = 20.0
HIGHEST_HZ = 2000.0


def band_limited(sound: Sound, sample_rate_hz: float) -> Sound:
    """Keep what lies within 20 to 2000 Hz, where levels are compared."""
    size = scipy.fft.next_fast_len(len(sound), real=True)
    spectrum = scipy.fft.rfft(sound, size)
    frequency_hz = scipy.fft.rfftfreq(size, 1 / sample_rate_hz)
    spectrum[(frequency_hz < LOWEST_HZ) | (frequency_hz > HIGHEST_HZ)] = 0
    return np.asarray(scipy.fft.irfft(spectrum, size)[: len(sound)])


def band_power(sound: Sound, sample_rate_hz: float) -> float:
    """Mean square of a sound within 20 to 2000 Hz."""
    return float(np.mean(band_limited(sound, sample_rate_hz) ** 2))


def coloured(rng: np.random.Generator, n: int, sample_rate_hz: float, slope: float) -> Sound:
    """Make Gaussian noise whose power density falls as f to the -slope above 20 Hz (0 is white, 1 pink)."""
    size = scipy.fft.next_fast_len(n, real=True)
    spectrum = scipy.fft.rfft(rng.standard_normal(size))
    frequency_hz = np.maximum(scipy.fft.rfftfreq(size, 1 / sample_rate_hz), LOWEST_HZ)
    return np.asarray(scipy.fft.irfft(spectrum * frequency_hz ** (-slope / 2), size)[:n])


def wander(rng: np.random.Generator, n: int, sample_rate_hz: float, period_s: float) -> Sound:
    """Make a slow random course about 0 with standard deviation 1."""
    n_knots = max(4, int(n / sample_rate_hz / period_s) + 4)
    course = np.interp(np.linspace(1, n_knots - 2, n), np.arange(n_knots), rng.standard_normal(n_knots))
    return np.asarray(course)


def line(
    rng: np.random.Generator, n: int, sample_rate_hz: float, frequency_hz: float, unsteady: float
) -> Sound:
    """Make a tone of mean square 1, its frequency wandering by a share of it, its level by 20 times that."""
    course_hz = frequency_hz * (1 + unsteady * wander(rng, n, sample_rate_hz, 0.7))
    phase = 2 * np.pi * (rng.uniform() + np.cumsum(course_hz) / sample_rate_hz)
    level = np.clip(1 + 20 * unsteady * wander(rng, n, sample_rate_hz, 0.5), 0.2, None)
    return np.asarray(np.sqrt(2) * level * np.sin(phase))


def shop(rng: np.random.Generator, n: int, sample_rate_hz: float) -> Sound:
    """Make workshop noise: pinkish, its level wandering, with the lines of one to three fans."""
    sound = coloured(rng, n, sample_rate_hz, rng.uniform(0.6, 1.4))
    sound /= np.sqrt(band_power(sound, sample_rate_hz))
    sound *= 10 ** (rng.uniform(0.3, 2.0) * wander(rng, n, sample_rate_hz, 0.6) / 20)
    for _ in range(rng.integers(1, 4)):
        blade_hz = rng.uniform(25, 250)
        share = 10 ** (rng.uniform(-14, 0) / 10)
        for number in range(1, rng.integers(2, 5)):
            sound += (
                np.sqrt(share)
                / number
                * line(rng, n, sample_rate_hz, number * blade_hz, rng.uniform(0.0002, 0.002))
            )
    return sound


def mains_hum(rng: np.random.Generator, n: int, sample_rate_hz: float, mains_hz: float) -> Sound:
    """Make hum of mains with up to twelve multiples, the even ones (magnetic cores) mostly stronger."""
    sound = np.zeros(n)
    course = rng.bit_generator.random_raw() % 2**32
    for number in range(1, int(rng.integers(4, 13))):
        level = (
            10 ** (rng.uniform(-18, 0) / 20) / number**0.5 * (1.0 if number % 2 == 0 or number == 1 else 0.4)
        )
        # All multiples follow the one mains frequency: the same course of wander, scaled.
        same_course = np.random.default_rng(course)
        sound += level * line(same_course, n, sample_rate_hz, number * mains_hz, 0.0001)
    return sound


def ringing_hit(rng: np.random.Generator, n: int, sample_rate_hz: float) -> Sound:
    """Drop a tool or strike sheet metal: a click and inharmonic partials, peak 1, from sample 0.

    A tool is stiff: its few partials lie high and ring long. Sheet metal (a sump, a bonnet) has many, low,
    crowded and short.
    """
    time_s = np.arange(n) / sample_rate_hz
    sound = rng.standard_normal(n) * np.exp(-time_s / rng.uniform(0.0005, 0.004)) * rng.uniform(0.1, 0.5)
    if rng.uniform() < 0.6:
        lowest_hz, ratios, quality = (
            rng.uniform(700, 3500),
            rng.uniform(1.2, 7.0, rng.integers(2, 7)),
            (60, 600),
        )
    else:
        lowest_hz, ratios, quality = (
            rng.uniform(120, 500),
            rng.uniform(1.05, 8.0, rng.integers(7, 16)),
            (8, 40),
        )
    for frequency_hz in lowest_hz * np.array([1.0, *ratios]):
        if frequency_hz < 0.45 * sample_rate_hz:
            ring_s = rng.uniform(*quality) / (np.pi * frequency_hz)
            phase = rng.uniform(0, 2 * np.pi)
            partial = np.exp(-time_s / ring_s) * np.sin(2 * np.pi * frequency_hz * time_s + phase)
            sound += rng.uniform(0.2, 1.0) * partial
    return np.asarray(sound / np.max(np.abs(sound)))


def knock(rng: np.random.Generator, n: int, sample_rate_hz: float) -> Sound:
    """Make what a pluck knocks besides the span's ring: a click, the thump of pulley and bracket, peak 1."""
    time_s = np.arange(n) / sample_rate_hz
    sound = rng.standard_normal(n) * np.exp(-time_s / rng.uniform(0.0003, 0.002)) * rng.uniform(0.2, 1.0)
    for _ in range(rng.integers(1, 4)):
        frequency_hz = rng.uniform(60, 1500)
        ring_s = rng.uniform(1.5, 6) / (np.pi * frequency_hz)
        sound += rng.uniform(0.2, 1.0) * np.exp(-time_s / ring_s) * np.sin(2 * np.pi * frequency_hz * time_s)
    return np.asarray(sound / np.max(np.abs(sound)))


def clanks(rng: np.random.Generator, n: int, onset: int, sample_rate_hz: float) -> Sound:
    """Hits at random times, one of them always within a quarter of a second of the pluck; loudest peak 1."""
    sound = np.zeros(n)
    starts = [onset + int(rng.uniform(-0.25, 0.25) * sample_rate_hz)]
    starts += [int(rng.uniform(0, n)) for _ in range(rng.integers(1, 5))]
    for start in starts:
        add(
            sound,
            start,
            10 ** (rng.uniform(-12, 0) / 20) * ringing_hit(rng, int(sample_rate_hz), sample_rate_hz),
        )
    return np.asarray(sound / np.max(np.abs(sound)))


def add_rub(rng: np.random.Generator, sound: Sound, onset: int, level: float, sample_rate_hz: float) -> None:
    """Rub the finger on the belt's back before it lets go: weak noise, rising, in place."""
    n = int(rng.uniform(0.05, 0.25) * sample_rate_hz)
    sound[onset - n : onset] += level * rng.standard_normal(n) * np.linspace(0, 1, n) ** 2


def add(sound: Sound, start: int, part: Sound) -> None:
    """Add a part to a sound from a sample on, as far as it reaches, in place."""
    stop = min(start + len(part), len(sound))
    sound[start:stop] += part[: stop - start]
