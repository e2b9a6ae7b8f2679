"""What becomes of a pluck: a reading, or a refusal with its reason.

Conventions: frequencies in hertz, times in seconds from the first sample of the source, levels in decibels.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray


class RefusalReason(StrEnum):
    """Why a pluck gives no reading; the value is the plain word for it, for people and programs alike."""

    CLIPPED = "clipped"
    TOO_WEAK = "too weak"
    TOO_SHORT = "too short"
    RIVALS = "two strong rivals"
    NOT_A_STRING = "not a decaying string sound"
    SOUND_BEFORE = "sound was there before"
    OUT_OF_RANGE = "fundamental out of range"


@dataclass(frozen=True)
class PluckClip:
    """The sound of one pluck, cut from its source; all that an analysis needs, and all that it gets.

    Attributes
    ----------
    samples : array of float32, shape (n_samples,)
        Mono sound, full scale 1: the time before the pluck, its onset, its ring.
    sample_rate_hz : float
        Samples per second. [Hz]
    onset : int
        Index into `samples` where the trigger saw the pluck begin.
    first_sample : int
        Number of ``samples[0]`` on the source's clock.

    Raises
    ------
    ValueError
        If the onset lies outside the sound; a clip is cut by the program, so that is a bug.
    """

    samples: NDArray[np.float32]
    sample_rate_hz: float
    onset: int
    first_sample: int = 0

    def __post_init__(self) -> None:
        if not 0 <= self.onset <= len(self.samples):
            raise ValueError(f"onset {self.onset} lies outside a clip of {len(self.samples)} samples")

    @property
    def at_s(self) -> float:
        """When the pluck began, from the source's first sample. [s]"""
        return (self.first_sample + self.onset) / self.sample_rate_hz


@dataclass(frozen=True)
class Partial:
    """One partial of the span as the ring-down fit found it.

    Attributes
    ----------
    number : int
        1 is the fundamental.
    frequency_hz : float
        Small-amplitude frequency. [Hz]
    amplitude : float
        At the onset, full scale 1, at the microphone.
    ring_time_s : float
        Time in which the amplitude falls to 1/e. [s]
    """

    number: int
    frequency_hz: float
    amplitude: float
    ring_time_s: float


@dataclass(frozen=True)
class Rival:
    """Another fundamental that the sound might have had.

    Attributes
    ----------
    fundamental_hz : float
        [Hz]
    support : float
        Its score in the vote of the spectrum's peaks, over what explaining them all would score, 0 to 1: near 0
        it is out of the question. The reading's own support is measured otherwise, by energy.
    """

    fundamental_hz: float
    support: float


@dataclass(frozen=True)
class PluckReading:
    """A pluck that was read.

    Attributes
    ----------
    at_s : float
        Onset, from the source's first sample. [s]
    fundamental_hz : float
        Small-amplitude fundamental frequency. [Hz]
    fundamental_standard_uncertainty_hz : float
        Standard uncertainty of the ring-down fit. [Hz]
    ring_time_s : float
        Time in which the fundamental's amplitude falls to 1/e. [s]
    snr_db : float
        Power of the ring over that of the background in the band that was analysed. [dB]
    support : float
        Share of the pluck's energy that the reading explains, 0 to 1.
    stretch : float
        Inharmonicity B of the partials, f_n = n·f_0·sqrt(1 + B·n²). [1]
    glide_hz : float
        How much higher than `fundamental_hz` the pitch began, because the pluck stretched the belt. [Hz]
    partials : tuple of Partial
        The partials found, the lowest first.
    rivals : tuple of Rival
        Fundamentals that were considered and rejected, the strongest first.
    """

    at_s: float
    fundamental_hz: float
    fundamental_standard_uncertainty_hz: float
    ring_time_s: float
    snr_db: float
    support: float
    stretch: float
    glide_hz: float
    partials: tuple[Partial, ...]
    rivals: tuple[Rival, ...]


@dataclass(frozen=True)
class PluckRefusal:
    """A pluck, or something like one, that gives no reading.

    Attributes
    ----------
    at_s : float
        Onset, from the source's first sample. [s]
    reason : RefusalReason
        In a word.
    explanation : str
        In a sentence, with what to do about it.
    snr_db : float or None
        As for a reading; None where it could not be told.
    rivals : tuple of Rival
        Fundamentals that were considered, the strongest first.
    """

    at_s: float
    reason: RefusalReason
    explanation: str
    snr_db: float | None = None
    rivals: tuple[Rival, ...] = ()


PluckOutcome = PluckReading | PluckRefusal
