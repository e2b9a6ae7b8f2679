"""From a pluck that was heard to a pluck that is kept, and back: what is kept is exactly what was read.

A clip is rounded to the 24 bit that FLAC keeps *before* it is read, so that its sound gives the same figures a year
later. Most microphones and recordings have no more than 24 bit anyway, and lose nothing.
"""

from dataclasses import replace

import numpy as np

from tensionear.errors import InputError
from tensionear.job.document import as_line
from tensionear.job.kept_sound import flac_bytes, quantised, samples_of
from tensionear.job.pluck_document import PluckDocument, SoundDocument, outcome_document
from tensionear.job.sha256 import sha256_of
from tensionear.pluck.estimator import ESTIMATOR_VERSION, read_clip
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import PluckClip, PluckOutcome


def kept(heard: HeardPluck, source: str, channel: int, *, is_recording: bool) -> tuple[PluckDocument, bytes]:
    """Take a pluck as it is to be kept.

    Parameters
    ----------
    heard : HeardPluck
        As the listener gave it.
    source : str
        Name of the microphone or the recording.
    channel : int
        From 1.
    is_recording : bool
        Whether the source is a recording.

    Returns
    -------
    PluckDocument, bytes
        What is known of it, and its sound as a FLAC file.
    """
    clip, outcome = heard.clip, heard.outcome
    samples = quantised(clip.samples)
    if not np.array_equal(samples, clip.samples):
        clip = replace(clip, samples=samples)
        outcome = read_clip(clip)
    flac = flac_bytes(clip.samples, clip.sample_rate_hz)
    sound = SoundDocument(
        flac_sha256=sha256_of(flac),
        sample_rate_hz=round(clip.sample_rate_hz),
        onset=clip.onset,
        first_sample=clip.first_sample,
        source=as_line(source),
        channel=channel,
        is_recording=is_recording,
    )
    document = PluckDocument(
        sound=sound, estimator_version=ESTIMATOR_VERSION, outcome=outcome_document(outcome)
    )
    return document, flac


def kept_clip(sound: SoundDocument, flac: bytes) -> PluckClip:
    """The clip of a kept pluck.

    Raises
    ------
    InputError
        If the bytes are no sound, or have another sample rate or length than is said of them.
    """
    samples, sample_rate_hz = samples_of(flac)
    if round(sample_rate_hz) != sound.sample_rate_hz or len(samples) < sound.onset:
        raise InputError("the sound is not the one that was kept: its sample rate or its length is another")
    return PluckClip(samples, float(sound.sample_rate_hz), sound.onset, sound.first_sample)


def read_anew(sound: SoundDocument, flac: bytes) -> PluckOutcome:
    """Read a kept pluck with the estimator of this program.

    Raises
    ------
    InputError
        As `kept_clip` does.
    """
    return read_clip(kept_clip(sound, flac))
