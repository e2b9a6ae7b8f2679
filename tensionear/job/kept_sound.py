"""The sound of a pluck as it is kept: FLAC of 24 bit, from which every sample comes back exactly.

Conventions: mono sound, float32, full scale 1. FLAC keeps whole numbers from -2²³ to 2²³ - 1; a sample is such a
number over 2²³, which float32 holds exactly. Bring a sound to those values by `quantised` before it is read, so that
what is read is what is kept.

A sound is named by the SHA-256 of its FLAC file (`tensionear.job.sha256`), not by that of its samples. What lies in
an archive or a bundle are the file's bytes, so they are what has to be proved unchanged, and any program can do that
without decoding. One version of libsndfile always writes the same bytes for the same sound. Another version may
write others; so a kept sound is never encoded again to find its name, and the same sound met by two versions is
kept twice, which costs room and nothing else.
"""

import hashlib
import io

import numpy as np
import soundfile
from numpy.typing import NDArray

from tensionear.errors import InputError, RecordingError

LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8_000, 192_000
LONGEST_S = 60.0
"""Ten times what a pluck takes; a small hostile file could state hours of silence. [s]"""

_FULL_SCALE = 2**23
_HIGHEST_UNEVEN_RATE_HZ = 65_535
# The header of a FLAC frame has 16 bit for a rate in hertz, or in tens of hertz (RFC 9639; from memory).

_SAMPLES_MD5 = slice(26, 42)
# At the end of STREAMINFO, which is always the first block: the MD5 of all samples (RFC 9639; from memory).


def quantised(samples: NDArray[np.float32]) -> NDArray[np.float32]:
    """Sound as FLAC will keep it: rounded to 24 bit, and clipped to [-1, 1 - 2⁻²³].

    Sound of up to 24 bit, as nearly all microphones and recordings have it, is unchanged. What goes beyond full scale
    is cut off there, and is then found to be clipped when it is read.

    Parameters
    ----------
    samples : array of float32, shape (n_samples,)
        Full scale 1.

    Returns
    -------
    array of float32, shape (n_samples,)
        Whole multiples of 2⁻²³.

    Raises
    ------
    InputError
        If a sample is not finite.
    """
    return (_whole_numbers(samples) / _FULL_SCALE).astype(np.float32)


def flac_bytes(samples: NDArray[np.float32], sample_rate_hz: float) -> bytes:
    """Sound as a FLAC file; the same sound always gives the same bytes, within one version of libsndfile.

    Parameters
    ----------
    samples : array of float32, shape (n_samples,)
        As `quantised` gives it.
    sample_rate_hz : float in [8000, 192000]
        A whole number, above 65535 a multiple of 10. [Hz]

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    InputError
        If the sample rate is outside its limits, or the sound has no samples or is longer than a minute.
    ValueError
        If the samples are not quantised: the program would keep another sound than it read.
    """
    _require_rate(sample_rate_hz)
    if len(samples) == 0:
        raise InputError("the sound has no samples: there is nothing to keep")
    if len(samples) > LONGEST_S * sample_rate_hz:
        raise InputError(
            f"a sound of {len(samples) / sample_rate_hz:.0f} s is longer than {LONGEST_S:.0f} s: "
            "it is not that of a pluck"
        )
    whole_numbers = _whole_numbers(samples)
    if not np.array_equal(whole_numbers / _FULL_SCALE, samples):
        raise ValueError("the samples are not quantised to 24 bit: what is kept would not be what was read")
    file = io.BytesIO()
    # As integers, in the upper 24 of 32 bit: libsndfile scales floats by 2²³ - 1 and not by 2²³.
    soundfile.write(file, whole_numbers << 8, int(sample_rate_hz), format="FLAC", subtype="PCM_24")
    return file.getvalue()


def samples_of(flac: bytes) -> tuple[NDArray[np.float32], float]:
    """Sound of a FLAC file that `flac_bytes` made.

    FLAC itself guards its samples against damage, but not its sample rate, and nothing against a forger: whether
    this is the very file that was kept, its SHA-256 says.

    Parameters
    ----------
    flac : bytes
        The file; from wherever, it may hold anything.

    Returns
    -------
    samples : array of float32, shape (n_samples,)
        The very samples that were kept.
    sample_rate_hz : float
        [Hz]

    Raises
    ------
    RecordingError
        If it is no such file, is damaged, or holds more than a minute of sound.
    """
    try:
        with soundfile.SoundFile(io.BytesIO(flac)) as file:
            sample_rate_hz, n_stated = float(file.samplerate), file.frames
            _require_kept(file.format, file.subtype, file.channels, sample_rate_hz, n_stated)
            whole_numbers = file.read(n_stated, dtype="int32")
    except soundfile.LibsndfileError as error:
        raise RecordingError(
            f"the kept sound is damaged and cannot be decoded ({error.error_string})"
        ) from error
    if len(whole_numbers) != n_stated:
        raise RecordingError(
            f"the kept sound ends after {len(whole_numbers)} of {n_stated} samples: was it copied completely?"
        )
    octets = (whole_numbers >> 8).astype("<i4").view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    if hashlib.md5(octets, usedforsecurity=False).digest() != flac[_SAMPLES_MD5]:
        raise RecordingError("the kept sound is damaged: its samples are not those that were encoded")
    return ((whole_numbers >> 8) / _FULL_SCALE).astype(np.float32), sample_rate_hz


def _whole_numbers(samples: NDArray[np.float32]) -> NDArray[np.int32]:
    """Multiples of 2⁻²³, to the nearest."""
    if not np.isfinite(samples).all():
        raise InputError("the sound holds samples that are no numbers: is the recording damaged?")
    scaled = np.rint(samples.astype(np.float64) * _FULL_SCALE)
    return np.clip(scaled, -_FULL_SCALE, _FULL_SCALE - 1).astype(np.int32)


def _require_kept(kind: str, subtype: str, n_channels: int, sample_rate_hz: float, n_stated: int) -> None:
    """Refuse what a file says of itself, where `flac_bytes` would not say it."""
    if (kind, subtype, n_channels) != ("FLAC", "PCM_24", 1):
        raise RecordingError(
            f"a kept sound is FLAC, PCM_24, with 1 channel, and this is {kind}, {subtype}, with {n_channels}: "
            "did another program put it in its place?"
        )
    if not LOWEST_RATE_HZ <= sample_rate_hz <= HIGHEST_RATE_HZ:
        raise RecordingError(
            f"the kept sound states a sample rate of {sample_rate_hz:g} Hz, outside {LOWEST_RATE_HZ} to "
            f"{HIGHEST_RATE_HZ} Hz: did another program put it in its place?"
        )
    if not 0 < n_stated <= LONGEST_S * sample_rate_hz:
        raise RecordingError(
            f"the kept sound states {n_stated} samples, outside 1 to {LONGEST_S * sample_rate_hz:.0f} "
            f"({LONGEST_S:.0f} s): it is not that of a pluck"
        )


def _require_rate(sample_rate_hz: float) -> None:
    if not LOWEST_RATE_HZ <= sample_rate_hz <= HIGHEST_RATE_HZ:
        raise InputError(
            f"a sample rate of {sample_rate_hz:g} Hz is outside {LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ} Hz: "
            "was it entered in kilohertz?"
        )
    if sample_rate_hz % (1 if sample_rate_hz <= _HIGHEST_UNEVEN_RATE_HZ else 10):
        raise InputError(
            f"a sample rate of {sample_rate_hz!r} Hz cannot be kept as FLAC, which takes whole hertz up to "
            f"{_HIGHEST_UNEVEN_RATE_HZ} Hz and whole tens beyond: choose a usual rate, such as 48000 Hz"
        )
