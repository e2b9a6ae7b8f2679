"""Kept sound comes back sample for sample, also from decoders that know nothing of tensionear."""

import io
import subprocess
import sys
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from tensionear.errors import InputError, RecordingError
from tensionear.job.kept_sound import flac_bytes, quantised, samples_of
from tests.needs import need

HIGHEST = 1 - 2.0**-23


def noise(n_samples: int, loudness: float = 0.3) -> NDArray[np.float32]:
    drawn = np.random.default_rng(5).normal(0.0, loudness, n_samples)
    return quantised(drawn.astype(np.float32))


SOUNDS = {
    "silence": np.zeros(48_000, np.float32),
    "full scale": np.tile(np.array([-1.0, HIGHEST], np.float32), 3000),
    "one sample": np.array([-(2.0**-23)], np.float32),
    "noise, an odd length": noise(70_001),
    "faint noise": noise(9_999, 2.0**-22),
    "loud noise, cut off at full scale": noise(4_097, 2.0),
    "one step around full scale": np.array([HIGHEST, 1 - 2.0**-22, -1.0, -HIGHEST, 0.0], np.float32),
}


def whole_numbers(samples: NDArray[np.float32]) -> NDArray[np.int32]:
    return (samples.astype(np.float64) * 2**23).astype(np.int32)


@pytest.mark.parametrize("sound", SOUNDS)
@pytest.mark.parametrize("sample_rate_hz", [8000, 11_025.0, 44_100, 65_535, 88_200, 192_000])
def test_every_sample_comes_back(sound: str, sample_rate_hz: float) -> None:
    samples, rate_hz = samples_of(flac_bytes(SOUNDS[sound], sample_rate_hz))
    assert samples.dtype == np.float32
    np.testing.assert_array_equal(samples, SOUNDS[sound], strict=True)
    assert rate_hz == sample_rate_hz


@pytest.mark.parametrize("sound", SOUNDS)
def test_debians_flac_decodes_the_same_samples(sound: str, tmp_path: Path) -> None:
    need("flac")
    (tmp_path / "sound.flac").write_bytes(flac_bytes(SOUNDS[sound], 48_000))
    subprocess.run(["flac", "--silent", "--test", "sound.flac"], cwd=tmp_path, check=True)
    raw = ["--force-raw-format", "--endian=little", "--sign=signed"]
    subprocess.run(["flac", "--silent", "--decode", *raw, "sound.flac"], cwd=tmp_path, check=True)
    octets = np.frombuffer((tmp_path / "sound.raw").read_bytes(), np.uint8).reshape(-1, 3)
    decoded = (np.pad(octets, ((0, 0), (1, 0))).copy().view("<i4") >> 8).ravel()
    np.testing.assert_array_equal(decoded, whole_numbers(SOUNDS[sound]))


@pytest.mark.parametrize("sound", SOUNDS)
def test_ffmpegs_decoder_decodes_the_same_samples(sound: str) -> None:
    with av.open(io.BytesIO(flac_bytes(SOUNDS[sound], 44_100))) as file:
        assert isinstance(file, av.container.InputContainer)
        frames = [frame.to_ndarray().ravel().astype(np.int64) for frame in file.decode(audio=0)]
        assert file.streams.audio[0].rate == 44_100
    decoded = np.concatenate(frames)  # 24 bit in the upper part of 32
    np.testing.assert_array_equal(decoded // 256, whole_numbers(SOUNDS[sound]))


def test_quantised_is_to_the_nearest_of_the_24_bit_numbers() -> None:
    step = 2.0**-23
    given = np.array([0.4 * step, 0.6 * step, -0.6 * step, 0.25, 1.0, 7.0, -1.0, -7.0], np.float32)
    expected = np.array([0.0, step, -step, 0.25, HIGHEST, HIGHEST, -1.0, -1.0], np.float32)
    np.testing.assert_array_equal(quantised(given), expected, strict=True)


def test_quantised_sound_and_sound_of_16_and_24_bit_is_unchanged() -> None:
    of_16_bit = (np.arange(-(2**15), 2**15) / 2**15).astype(np.float32)
    of_24_bit = (np.arange(-(2**23), 2**23, 997) / 2**23).astype(np.float32)
    for samples in (of_16_bit, of_24_bit, quantised(noise(1000) * np.float32(np.pi))):
        np.testing.assert_array_equal(quantised(samples), samples, strict=True)


def test_the_same_sound_gives_the_same_bytes_in_another_process() -> None:
    program = (
        "import sys, numpy as np; from tensionear.job.kept_sound import flac_bytes;"
        "sys.stdout.buffer.write(flac_bytes((np.arange(9000) % 4001 / 8192).astype(np.float32), 48000))"
    )
    told = [
        subprocess.run([sys.executable, "-c", program], capture_output=True, check=True) for _ in range(2)
    ]
    here = flac_bytes((np.arange(9000) % 4001 / 8192).astype(np.float32), 48_000)
    assert here == told[0].stdout == told[1].stdout


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_samples_that_are_no_numbers_are_refused(value: float) -> None:
    with pytest.raises(InputError, match="no numbers"):
        quantised(np.array([0.0, value], np.float32))


def test_sound_that_was_not_quantised_is_a_bug() -> None:
    with pytest.raises(ValueError, match="not quantised"):
        flac_bytes(np.array([0.0001], np.float32), 48_000)
    with pytest.raises(ValueError, match="not quantised"):
        flac_bytes(np.array([1.0], np.float32), 48_000)


@pytest.mark.parametrize(
    ("sample_rate_hz", "trouble"),
    [
        (48.0, "48 Hz is outside 8000 to 192000 Hz: was it entered in kilohertz"),
        (192_010.0, "outside 8000 to 192000 Hz"),
        (float("nan"), "outside"),
        (44_100.5, "44100.5 Hz cannot be kept as FLAC"),
        (96_001.0, "whole tens beyond"),
    ],
)
def test_sample_rates_that_flac_cannot_keep_are_refused(sample_rate_hz: float, trouble: str) -> None:
    with pytest.raises(InputError, match=trouble):
        flac_bytes(SOUNDS["one sample"], sample_rate_hz)


def test_no_sound_and_hours_of_it_are_refused() -> None:
    with pytest.raises(InputError, match="no samples"):
        flac_bytes(np.zeros(0, np.float32), 8000)
    with pytest.raises(InputError, match="61 s is longer than 60 s"):
        flac_bytes(np.zeros(8000 * 61, np.float32), 8000)


def encoded(kind: str, subtype: str, shape: int | tuple[int, int], sample_rate_hz: int = 48_000) -> bytes:
    file = io.BytesIO()
    soundfile.write(file, np.zeros(shape, np.int32), sample_rate_hz, format=kind, subtype=subtype)
    return file.getvalue()


@pytest.mark.parametrize(
    ("flac", "trouble"),
    [
        (b"", "cannot be decoded"),
        (b"fLaC", "cannot be decoded"),
        (b"not sound at all" * 100, "cannot be decoded"),
        (encoded("WAV", "PCM_24", 99), "this is WAV, PCM_24, with 1"),
        (encoded("FLAC", "PCM_16", 99), "this is FLAC, PCM_16, with 1"),
        (encoded("FLAC", "PCM_24", (99, 2)), "this is FLAC, PCM_24, with 2"),
        (encoded("FLAC", "PCM_24", 99, 4000), "4000 Hz, outside 8000"),
        (encoded("FLAC", "PCM_24", 8000 * 61, 8000), "488000 samples, outside 1 to 480000"),
    ],
    ids=["nothing", "a beginning", "text", "WAV", "16 bit", "two channels", "slow", "a long silence"],
)
def test_what_is_no_kept_sound_is_refused(flac: bytes, trouble: str) -> None:
    with pytest.raises(RecordingError, match=trouble):
        samples_of(flac)


def test_a_sound_that_was_cut_short_is_refused() -> None:
    flac = flac_bytes(SOUNDS["noise, an odd length"], 48_000)
    for n_bytes in np.random.default_rng(6).integers(1, len(flac), 100):
        with pytest.raises(RecordingError, match=r"the kept sound (is damaged|ends after|states)"):
            samples_of(flac[:n_bytes])


def test_a_flipped_bit_is_refused_or_changes_no_sample() -> None:
    kept = noise(2_000)
    flac = flac_bytes(kept, 48_000)
    rng = np.random.default_rng(7)
    n_refused = 0
    for place in rng.integers(0, 8 * len(flac), 500):
        changed = bytearray(flac)
        changed[place // 8] ^= 1 << place % 8
        try:
            samples, _ = samples_of(bytes(changed))
        except RecordingError:
            n_refused += 1
        else:
            np.testing.assert_array_equal(samples, kept)
    assert n_refused > 450


def test_a_file_that_states_fewer_samples_than_it_has_is_refused() -> None:
    flac = bytearray(flac_bytes(noise(2_000), 48_000))
    flac[24:26] = (1_999).to_bytes(2, "big")  # the lower bits of STREAMINFO's number of samples
    with pytest.raises(RecordingError, match="not those that were encoded"):
        samples_of(bytes(flac))
