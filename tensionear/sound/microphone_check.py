"""Can this microphone hear a belt? Judged from a few seconds of whatever there is to hear.

Conventions: levels are in decibels, where a sine of full scale has 0 dB. Bands are compared by the median of
their spectral density, so that single lines (hum, fans) do not stand for the noise between them. What the
sound cannot tell is "could not be judged", never "good".

The limits are this program's own choice, made on simulated sound and common practice of recording (no
source).
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from tensionear.sound.block import SoundSource
from tensionear.sound.microphone_measures import (
    Samples,
    frame_levels_db,
    in_db,
    is_flat_topped,
    longest_run,
    mains_hum,
    spectral_density,
    steepest_step_db,
)

_SHORTEST_S = 0.5
_SWITCH_ON_S = 0.25  # microphones click and sound servers send zeros when they begin

_CLIPPED_LEVEL = 0.999
_LOUD = 0.1  # below that no converter clips

# For as long, noise does not stay on one value, were it only half a step of a 16-bit converter.
_GATED_S = 0.02
_GATE_STEP_DB = 20.0

_TOO_QUIET_DB = -85.0
_NOT_SUPPRESSED_DB = -60.0
_TOO_LOUD_DB = -30.0
_EVENT_DB = 15.0

_LOW_BAND_HZ = (60.0, 180.0)
_MIDDLE_BAND_HZ = (300.0, 1000.0)
_BELOW_TELEPHONE_LIMIT_HZ = (2000.0, 3200.0)
_ABOVE_TELEPHONE_LIMIT_HZ = (4500.0, 7000.0)
_HIGH_PASSED_DB = 12.0
_TELEPHONE_DB = 30.0
_CONVERTER_NOISE_DB = -98.1  # of an ideal 16-bit converter against a full-scale sine: 6.02 * 16 + 1.76

_STRONG_HUM_DB = -40.0

_SYSTEM_REMEDY = "turn off noise suppression and voice enhancement in the system's sound settings"


class Judgement(StrEnum):
    """What a finding comes to; the value is the plain word for it."""

    GOOD = "good"
    BAD = "bad"
    UNKNOWN = "could not be judged"


class Aspect(StrEnum):
    """What is judged; the value is the plain word for it."""

    ALIVE = "alive"
    CLIPPING = "clipping"
    GATE = "noise gate"
    LOW_FREQUENCIES = "low frequencies"
    NOISE_FLOOR = "noise floor"
    MAINS_HUM = "mains hum"


@dataclass(frozen=True)
class Finding:
    """One aspect of a microphone.

    Attributes
    ----------
    aspect : Aspect
        What was judged.
    judgement : Judgement
        What it comes to.
    sentence : str
        What was found, with a remedy if it is bad.
    """

    aspect: Aspect
    judgement: Judgement
    sentence: str


@dataclass(frozen=True)
class MicrophoneCheck:
    """What a short listening tells of a microphone.

    Attributes
    ----------
    findings : tuple of Finding
        One for each aspect, in the order of `Aspect`.
    noise_floor_db : float or None
        Level of the quietest fifth of the time; None if the microphone is dead. [dB below full scale]
    hum_db : float or None
        Level of the mains hum with its multiples; None if none stands out. [dB below full scale]
    """

    findings: tuple[Finding, ...]
    noise_floor_db: float | None
    hum_db: float | None

    @property
    def is_faulty(self) -> bool:
        """True if anything bad was found. False is no praise: some things may not have been judged."""
        return any(finding.judgement is Judgement.BAD for finding in self.findings)


def check_input(source: SoundSource, seconds: float = 2.0) -> MicrophoneCheck:
    """Listen for a while and judge what was heard.

    Parameters
    ----------
    source : SoundSource
        The microphone.
    seconds : float
        How long to listen, 0.5 or more. [s]

    Raises
    ------
    DeviceError
        If the microphone fails meanwhile.
    """
    rate_hz = source.sample_rate_hz
    n_skipped = round(_SWITCH_ON_S * rate_hz)
    n_wanted = n_skipped + round(seconds * rate_hz)
    heard: list[NDArray[np.float32]] = []
    for block in source.blocks():
        if block.n_lost_before:
            heard.clear()  # a gap looks like a gate
        heard.append(block.samples)
        if sum(map(len, heard)) >= n_wanted:
            break
    together = np.concatenate(heard) if heard else np.zeros((0, source.n_channels), np.float32)
    return assess_microphone(together[n_skipped:n_wanted], rate_hz)


def assess_microphone(samples: NDArray[np.float32], sample_rate_hz: float) -> MicrophoneCheck:
    """Judge a microphone by a few seconds of its sound.

    Parameters
    ----------
    samples : array of float32, shape (n_frames,) or (n_frames, n_channels)
        The sound, full scale 1; of several channels the one with the highest peaks is judged.
    sample_rate_hz : float
        Samples per second, 8000 or more. [Hz]
    """
    channels = np.asarray(samples, np.float64)
    if channels.ndim == 1:
        channels = channels[:, np.newaxis]
    if len(channels) < _SHORTEST_S * sample_rate_hz:
        return _unknown(f"Less than {_SHORTEST_S:g} s of sound was heard.")
    raw = channels[:, int(np.argmax(np.ptp(channels, axis=0)))]
    alive = _alive(raw)
    if alive.judgement is Judgement.BAD:
        return _unknown("There was no sound to judge it by.", alive)
    sound = raw - raw.mean()
    frames_db = frame_levels_db(sound, sample_rate_hz)
    floor_db = float(np.quantile(frames_db, 0.2))
    mains_hz, hum_db = mains_hum(sound, sample_rate_hz)
    return MicrophoneCheck(
        (
            alive,
            _clipping(raw),
            _gate(raw, sample_rate_hz, frames_db),
            _low_frequencies(sound, sample_rate_hz),
            _noise_floor(floor_db),
            _mains_hum(mains_hz, hum_db),
        ),
        floor_db,
        hum_db,
    )


def _unknown(why: str, alive: Finding | None = None) -> MicrophoneCheck:
    unknown = [Finding(aspect, Judgement.UNKNOWN, why) for aspect in Aspect]
    return MicrophoneCheck((alive or unknown[0], *unknown[1:]), None, None)


def _alive(raw: Samples) -> Finding:
    if not raw.any():
        return Finding(
            Aspect.ALIVE,
            Judgement.BAD,
            "The microphone delivers nothing but zeros: switch it on, release its mute key, and allow "
            "programs "
            "to use it in the system's privacy settings.",
        )
    if not np.isfinite(raw).all():
        return Finding(
            Aspect.ALIVE,
            Judgement.BAD,
            "The microphone delivers numbers that are no sound: renew its driver, or choose another.",
        )
    if np.ptp(raw) == 0:
        return Finding(
            Aspect.ALIVE,
            Judgement.BAD,
            f"The microphone delivers nothing but the constant {raw[0]:.3g}: plug it in anew, or "
            f"choose another.",
        )
    return Finding(Aspect.ALIVE, Judgement.GOOD, "The microphone delivers sound.")


def _clipping(raw: Samples) -> Finding:
    peak = float(np.abs(raw).max())
    if peak >= _CLIPPED_LEVEL or (peak > _LOUD and (is_flat_topped(raw) or is_flat_topped(-raw))):
        return Finding(
            Aspect.CLIPPING,
            Judgement.BAD,
            f"The sound is clipped at {in_db(peak**2):.0f} dB: turn the input level down, or hold the "
            f"microphone "
            f"farther away.",
        )
    return Finding(
        Aspect.CLIPPING,
        Judgement.GOOD,
        f"Nothing is clipped; the loudest moment was at {in_db(peak**2):.0f} dB.",
    )


def _gate(raw: Samples, sample_rate_hz: float, frames_db: Samples) -> Finding:
    loudest_db, quietest_db = float(frames_db.max()), float(frames_db.min())
    frozen_s = longest_run(np.diff(raw) == 0) / sample_rate_hz
    if loudest_db < _TOO_QUIET_DB:
        return Finding(
            Aspect.GATE,
            Judgement.UNKNOWN,
            f"It is too quiet ({loudest_db:.0f} dB at the most) to tell whether a noise gate is at "
            f"work: check "
            f"again and clap or pluck meanwhile.",
        )
    if frozen_s >= _GATED_S:
        return Finding(
            Aspect.GATE,
            Judgement.BAD,
            f"The sound is cut off to nothing for up to {1000 * frozen_s:.0f} ms, as a noise gate does: "
            f"{_SYSTEM_REMEDY}.",
        )
    if (step_db := steepest_step_db(frames_db)) >= _GATE_STEP_DB:
        return Finding(
            Aspect.GATE,
            Judgement.BAD,
            f"The sound falls at once by {step_db:.0f} dB and stays there, as behind a noise gate: "
            f"{_SYSTEM_REMEDY}.",
        )
    if loudest_db - quietest_db >= _EVENT_DB or quietest_db >= _NOT_SUPPRESSED_DB:
        return Finding(Aspect.GATE, Judgement.GOOD, "Noise comes through without being cut off.")
    return Finding(
        Aspect.GATE,
        Judgement.UNKNOWN,
        "Only faint, steady noise was heard, which cannot tell whether a noise gate is at work: check "
        "again and "
        "clap or pluck meanwhile.",
    )


def _low_frequencies(sound: Samples, sample_rate_hz: float) -> Finding:
    frequency_hz, density = spectral_density(sound, sample_rate_hz)

    def band_db(band_hz: tuple[float, float]) -> float:
        in_band = (frequency_hz >= band_hz[0]) & (frequency_hz <= band_hz[1])
        return in_db(float(np.median(density[in_band])))

    low_db, middle_db = band_db(_LOW_BAND_HZ), band_db(_MIDDLE_BAND_HZ)
    converter_db = _CONVERTER_NOISE_DB - 10 * float(np.log10(sample_rate_hz / 2))
    if middle_db < converter_db + 6:
        return Finding(
            Aspect.LOW_FREQUENCIES,
            Judgement.UNKNOWN,
            "The noise is no louder than the converter's own, which cannot tell what the microphone "
            "hears: check "
            "again with some noise in the room.",
        )
    if middle_db - low_db > _HIGH_PASSED_DB:
        return Finding(
            Aspect.LOW_FREQUENCIES,
            Judgement.BAD,
            f"Sound below 180 Hz is {middle_db - low_db:.0f} dB weaker than at 300 to 1000 Hz, so that "
            f"long spans "
            f"may not be heard: {_SYSTEM_REMEDY}, or choose another microphone.",
        )
    if sample_rate_hz >= 2.2 * _ABOVE_TELEPHONE_LIMIT_HZ[1]:
        cut_db = band_db(_BELOW_TELEPHONE_LIMIT_HZ) - band_db(_ABOVE_TELEPHONE_LIMIT_HZ)
        if cut_db > _TELEPHONE_DB:
            return Finding(
                Aspect.LOW_FREQUENCIES,
                Judgement.BAD,
                f"The sound is cut off ({cut_db:.0f} dB) above 3.5 kHz, as in a telephone call, which "
                f"alters a "
                f"pluck: use a microphone with a cable, or the computer's own, instead of a headset in "
                f"call mode.",
            )
    return Finding(
        Aspect.LOW_FREQUENCIES,
        Judgement.GOOD,
        f"Low sound comes through: 60 to 180 Hz is {low_db - middle_db:+.0f} dB against 300 to 1000 Hz.",
    )


def _noise_floor(floor_db: float) -> Finding:
    if floor_db > _TOO_LOUD_DB:
        return Finding(
            Aspect.NOISE_FLOOR,
            Judgement.BAD,
            f"The noise is at {floor_db:.0f} dB, louder than {_TOO_LOUD_DB:.0f} dB, and will hide "
            f"plucks: find a "
            f"quieter moment, hold the microphone closer to the belt and turn the input level down.",
        )
    if floor_db < _TOO_QUIET_DB:
        return Finding(
            Aspect.NOISE_FLOOR,
            Judgement.UNKNOWN,
            f"The noise is at {floor_db:.0f} dB, unusually quiet: the microphone may be very good, "
            f"turned down or "
            f"suppressing noise. Turn the input level up if plucks are too weak.",
        )
    return Finding(Aspect.NOISE_FLOOR, Judgement.GOOD, f"The noise is at {floor_db:.0f} dB.")


def _mains_hum(mains_hz: float, hum_db: float | None) -> Finding:
    if hum_db is None:
        return Finding(Aspect.MAINS_HUM, Judgement.GOOD, "No mains hum stands out of the noise.")
    if hum_db > _STRONG_HUM_DB:
        return Finding(
            Aspect.MAINS_HUM,
            Judgement.BAD,
            f"Mains hum of {mains_hz:.0f} Hz is at {hum_db:.0f} dB, louder than {_STRONG_HUM_DB:.0f} "
            f"dB: run the "
            f"computer from its battery, move cables and chargers away, or use another microphone.",
        )
    return Finding(
        Aspect.MAINS_HUM,
        Judgement.GOOD,
        f"Mains hum of {mains_hz:.0f} Hz is at {hum_db:.0f} dB, weak enough.",
    )
