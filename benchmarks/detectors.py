"""General pitch detectors, each set as well for plucked spans as was found.

Each hears the sound from the pluck's onset on (`Ring`), cut, resampled (which also takes away noise above the
band) and searched from 18 to 620 Hz; the median over the frames it believes is its answer. The settings are
those that brought most of 256 plucks within 1 % of the truth (all scenes, 30 to 5 dB, from the half of the
benchmark that may be tuned to; the slow ones heard a half to an eighth of them), among near equals those with
fewer gross errors. What was tried and chosen:

- largest FFT peak: 0.15 to 1 s of sound, three windows; chosen 0.3 s under the falling half of a Hann window.
- librosa YIN: rates 1.5 to 8 kHz, frames 0.12 to 0.25 s, trough threshold 0.1 to 0.8; chosen 2 kHz, one or
  two frames of 0.14 s, 0.6.
- librosa pYIN: rates 2 to 4 kHz, frames 0.12 to 0.2 s, priors, with and without unvoiced frames; chosen 2 kHz,
  0.12 s, voiced frames only.
- Praat: auto- and cross-correlation, rates 1.5 to 8 kHz, 0.2 to 0.6 s, voicing threshold 0 to 0.7, octave cost
  0 to 0.05; chosen cross-correlation, 1.5 kHz, 0.3 s, 0.5, 0.03, very accurate.
- aubio yinfft: buffers 0.06 to 0.5 s, tolerance 0.15 to 0.85. It weights the spectrum as the ear does, which
  takes a belt's fundamental away: it is told a sampling rate 16 times the true one, and its answer divided by
  16, which made it twice as good. Chosen 8 kHz, 2048 samples, 0.6; a second, cautious one with tolerance 0.2.
- pyworld Harvest: rates 4 and 8 kHz, 0.2 to 0.6 s, floor 18 or 30 Hz; chosen 8 kHz, 0.3 s, 30 Hz.
- SwiftF0: 0.15 to 0.6 s, confidence 0 to 0.8, with sound before the onset or without, played at once, twice
  and four times the speed (it begins at 46.9 Hz); chosen 0.6 s at once the speed, confidence 0.3.
- torchcrepe: tiny and full model, three decoders, periodicity 0 to 0.5, once, twice and four times the speed
  (it begins at 31.7 Hz); the full one, tried on 32 plucks at twice the speed, was 20 times slower and no
  better; chosen tiny, weighted argmax, twice the speed, 0.35, 0.3 s.
"""

import sys
import types
import warnings
from collections.abc import Callable

import numpy as np
import scipy.signal
from numpy.typing import ArrayLike, NDArray

Ring = NDArray[np.float64]
"""Sound from the onset on, 48 kHz."""
Detector = Callable[[Ring], float | None]

RATE_HZ = 48000
LOWEST_HZ = 18.0
HIGHEST_HZ = 620.0
_HOP_S = 0.01


def _cut(ring: Ring, length_s: float, rate_hz: int) -> Ring:
    """First part of a ring at another rate."""
    sound = ring[: round(length_s * RATE_HZ)]
    return np.asarray(scipy.signal.resample_poly(sound, 1, RATE_HZ // rate_hz))


def _median(frequency_hz: ArrayLike) -> float | None:
    found = np.asarray(frequency_hz, dtype=np.float64)
    found = found[np.isfinite(found) & (found > 0)]
    return float(np.median(found)) if len(found) else None


def fft_peak() -> Detector:
    """Largest peak of the spectrum."""

    def detect(ring: Ring) -> float | None:
        rate_hz, size = 4000, 1 << 17
        sound = _cut(ring, 0.3, rate_hz)
        falling = np.hanning(2 * len(sound))[len(sound) :]
        spectrum = np.abs(np.fft.rfft((sound - np.mean(sound)) * falling, size))
        frequency_hz = np.fft.rfftfreq(size, 1 / rate_hz)
        spectrum[(frequency_hz < LOWEST_HZ) | (frequency_hz > HIGHEST_HZ)] = 0
        return float(frequency_hz[np.argmax(spectrum)])

    return detect


def librosa_yin() -> Detector:
    """YIN (de Cheveigné and Kawahara 2002) of librosa."""
    import librosa

    def detect(ring: Ring) -> float | None:
        rate_hz = 2000
        found = librosa.yin(
            _cut(ring, 0.16, rate_hz),
            fmin=LOWEST_HZ,
            fmax=HIGHEST_HZ,
            sr=rate_hz,
            frame_length=round(0.14 * rate_hz),
            hop_length=round(_HOP_S * rate_hz),
            trough_threshold=0.6,
            center=False,
        )
        return _median(found)

    return detect


def librosa_pyin() -> Detector:
    """Probabilistic YIN (Mauch and Dixon 2014) of librosa."""
    import librosa

    def detect(ring: Ring) -> float | None:
        rate_hz = 2000
        found, _, _ = librosa.pyin(
            _cut(ring, 0.2, rate_hz),
            fmin=LOWEST_HZ,
            fmax=HIGHEST_HZ,
            sr=rate_hz,
            frame_length=round(0.12 * rate_hz),
            hop_length=round(_HOP_S * rate_hz),
            center=False,
        )
        return _median(found)

    return detect


def praat() -> Detector:
    """Cross-correlation (Boersma 1993) of Praat, by parselmouth."""
    import parselmouth

    def detect(ring: Ring) -> float | None:
        rate_hz = 1500
        pitch = parselmouth.Sound(_cut(ring, 0.3, rate_hz), sampling_frequency=rate_hz).to_pitch_cc(
            time_step=_HOP_S,
            pitch_floor=LOWEST_HZ,
            pitch_ceiling=HIGHEST_HZ,
            very_accurate=True,
            silence_threshold=0.0,
            voicing_threshold=0.5,
            octave_cost=0.03,
        )
        return _median(pitch.selected_array["frequency"])

    return detect


def aubio_yinfft(tolerance: float) -> Detector:
    """YIN in the frequency domain (Brossier 2006) of aubio."""
    import aubio

    def detect(ring: Ring) -> float | None:
        rate_hz, claim, buffer, hop = 8000, 16, 2048, 128
        sound = _cut(ring, 0.2, rate_hz)
        sound = (0.9 * sound / np.max(np.abs(sound))).astype(np.float32)
        pitch = aubio.pitch("yinfft", buffer, hop, claim * rate_hz)
        pitch.set_unit("Hz")
        pitch.set_tolerance(tolerance)
        pitch.set_silence(-120)
        n_hops = len(sound) // hop
        found = [float(pitch(sound[k * hop : (k + 1) * hop])[0]) / claim for k in range(n_hops)]
        # Its buffer begins empty: what it says before that is full, or the sound at its end, counts for nothing.
        full = found[min(buffer // hop, n_hops) - 1 :]
        return _median([hertz for hertz in full if LOWEST_HZ <= hertz <= HIGHEST_HZ])

    return detect


def harvest() -> Detector:
    """Harvest (Morise 2017) of pyworld."""
    with warnings.catch_warnings():
        # It asks setuptools for its own version, which setuptools warns of.
        warnings.simplefilter("ignore")
        import pyworld

    def detect(ring: Ring) -> float | None:
        rate_hz = 8000
        sound = np.ascontiguousarray(_cut(ring, 0.3, rate_hz))
        found, _ = pyworld.harvest(sound, rate_hz, f0_floor=30.0, f0_ceil=HIGHEST_HZ, frame_period=5.0)
        return _median(found)

    return detect


def swift_f0() -> Detector:
    """SwiftF0, a small convolutional network."""
    from swift_f0 import SwiftF0

    network = SwiftF0(threads=1)

    def detect(ring: Ring) -> float | None:
        rate_hz = 16000
        sound = _cut(ring, 0.6, rate_hz)
        sound = (0.5 * sound / np.max(np.abs(sound))).astype(np.float32)
        result = network.detect(sound, rate_hz, fmax=HIGHEST_HZ)
        return _median(result.pitch_hz[result.confidence >= 0.3])

    return detect


def torch_crepe() -> Detector:
    """CREPE (Kim et al. 2018), a convolutional network, of torchcrepe."""
    # torchcrepe imports torchaudio to open files and for nothing else; no build of it fits every torch.
    sys.modules.setdefault("torchaudio", types.ModuleType("torchaudio"))
    import torch
    import torchcrepe

    torch.set_num_threads(1)

    def detect(ring: Ring) -> float | None:
        rate_hz, speed = 16000, 2
        sound = _cut(ring, 0.3, rate_hz // speed).astype(np.float32)
        pitch, periodicity = torchcrepe.predict(
            torch.from_numpy(sound[None]),
            rate_hz,
            hop_length=round(_HOP_S * rate_hz),
            fmin=32.0,
            fmax=speed * HIGHEST_HZ,
            model="tiny",
            decoder=torchcrepe.decode.weighted_argmax,
            return_periodicity=True,
            batch_size=512,
        )
        found = _median(pitch.numpy()[periodicity.numpy() >= 0.35])
        return None if found is None else found / speed

    return detect


DETECTORS: dict[str, Callable[[], Detector]] = {
    "largest FFT peak": fft_peak,
    "librosa YIN": librosa_yin,
    "librosa pYIN": librosa_pyin,
    "Praat": praat,
    "aubio yinfft": lambda: aubio_yinfft(0.6),
    "aubio yinfft, cautious": lambda: aubio_yinfft(0.2),
    "pyworld Harvest": harvest,
    "SwiftF0": swift_f0,
    "torchcrepe": torch_crepe,
}
"""What makes each detector; raises ImportError where its library is missing."""
