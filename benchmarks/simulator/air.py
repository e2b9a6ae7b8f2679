"""What lies between a ringing span and the recorded samples: the room, the microphone, the converter.

Every function takes and gives mono sound as float arrays, shape (n,); chance comes from the given generator
only.
"""

import numpy as np
import scipy.signal
from numpy.typing import NDArray

Sound = NDArray[np.float64]


def room_response(
    rng: np.random.Generator, reverberation_s: float, direct_db: float, sample_rate_hz: float
) -> Sound:
    """Impulse response: the direct sound (1 at sample 0), a few early reflections, a decaying dense tail.

    Parameters
    ----------
    reverberation_s : float
        Time in which the tail falls by 60 dB. [s]
    direct_db : float
        Energy of the direct sound over that of all the rest, below 2 kHz, where belts ring. [dB]
    """
    n = int(min(reverberation_s, 2.0) * sample_rate_hz)
    time_s = np.arange(n) / sample_rate_hz
    tail = rng.standard_normal(n) * 10 ** (-3 * time_s / reverberation_s)
    tail *= np.clip((time_s - 0.004) / 0.02, 0.0, 1.0)
    tail = scipy.signal.lfilter([0.45], [1, -0.55], tail)
    early = np.zeros(n)
    for _ in range(rng.integers(4, 9)):
        delay_s = rng.uniform(0.0015, 0.03)
        early[int(delay_s * sample_rate_hz)] += (
            rng.choice([-1.0, 1.0]) * rng.uniform(0.3, 1.0) * 0.004 / delay_s
        )
    early *= np.sqrt(rng.uniform(0.3, 1.0) * np.sum(tail**2) / np.sum(early**2))
    response = early + tail
    spectrum = np.abs(np.fft.rfft(response)) ** 2
    in_band = np.mean(spectrum[: max(1, round(2000.0 * n / sample_rate_hz))])
    response *= np.sqrt(10 ** (-direct_db / 10) / in_band)
    response[0] += 1.0
    return np.asarray(response)


def through_room(sound: Sound, response: Sound) -> Sound:
    """Put a sound into a room; it stays as long as it was."""
    return np.asarray(scipy.signal.fftconvolve(sound, response)[: len(sound)])


def through_microphone(sound: Sound, corner_hz: float, order: int, sample_rate_hz: float) -> Sound:
    """Roll off the low end as a microphone and its preamplifier do (Butterworth high-pass)."""
    sos = scipy.signal.butter(order, corner_hz, "highpass", fs=sample_rate_hz, output="sos")
    return np.asarray(scipy.signal.sosfilt(sos, sound))


def digitised(sound: Sound, gain: float) -> NDArray[np.float32]:
    """Convert to 16 bits: amplified, clipped at full scale, rounded."""
    steps = np.clip(np.round(sound * gain * 32768), -32768, 32767)
    return (steps / 32768).astype(np.float32)
