"""Recordings that were cut off: what is there is read, and that something is missing is told."""

import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tensionear.errors import RecordingError
from tensionear.sound.block import SoundBlock
from tensionear.sound.recording import open_recording
from tensionear.sound.stated_length import mp3_frames_stated, riff_share_present

RATE_HZ = 48000
N_FRAMES = 3 * RATE_HZ


def recorded(path: Path, **how: str) -> Path:
    noise = 0.1 * np.random.default_rng(8).standard_normal((N_FRAMES, 2))
    soundfile.write(path, noise, RATE_HZ, **how)
    return path


def cut(path: Path, share: float) -> Path:
    whole = path.read_bytes()
    path.write_bytes(whole[: int(share * len(whole))])
    return path


def heard(path: Path) -> int:
    with open_recording(path) as recording:
        return sum(len(block.samples) for block in recording.blocks())


WAVS = [
    {"format": "WAV", "subtype": "PCM_16"},
    {"format": "WAV", "subtype": "PCM_24"},
    {"format": "WAV", "subtype": "FLOAT"},
    {"format": "WAV", "subtype": "IMA_ADPCM"},
    {"format": "WAV", "subtype": "PCM_16", "endian": "BIG"},
    {"format": "WAVEX", "subtype": "PCM_16"},
    {"format": "RF64", "subtype": "PCM_16"},
]


@pytest.mark.parametrize("how", WAVS, ids=lambda how: " ".join(how.values()))
def test_a_wav_that_was_cut_off_is_read_and_told(how: dict[str, str], tmp_path: Path) -> None:
    path = recorded(tmp_path / "sound.wav", **how)
    assert heard(path) == pytest.approx(N_FRAMES, abs=2048)
    blocks: list[SoundBlock] = []
    with open_recording(cut(path, 0.5)) as recording:
        message = r"ends at 1\.[45]\d s but states a length of (2\.9|3\.0)\d s"
        with pytest.raises(RecordingError, match=message):
            blocks.extend(recording.blocks())
    assert sum(len(block.samples) for block in blocks) == pytest.approx(N_FRAMES / 2, rel=0.03)


# 0 is what a recorder leaves that was killed; the others are what recorders write that do not know the length.
@pytest.mark.parametrize("placeholder", [0, 0x7FFFFFFF, 0x7FFFF000, 0xFFFFFFFF])
def test_a_wav_that_states_no_length_is_taken_as_it_is(placeholder: int, tmp_path: Path) -> None:
    path = recorded(tmp_path / "sound.wav", subtype="PCM_16")
    whole = bytearray(path.read_bytes())
    place = whole.index(b"data") + 4
    whole[place : place + 4] = struct.pack("<I", placeholder)
    path.write_bytes(whole)
    assert riff_share_present(path) is None
    if placeholder:  # of a length of 0 libsndfile reads nothing
        assert heard(path) == pytest.approx(N_FRAMES, abs=64)


def test_chunks_before_and_after_the_sound_are_passed_over(tmp_path: Path) -> None:
    path = recorded(tmp_path / "sound.wav", subtype="PCM_16")
    whole = path.read_bytes()
    place = whole.index(b"data")
    odd = b"note" + struct.pack("<I", 3) + b"odd\0"
    path.write_bytes(whole[:place] + odd + whole[place:] + odd)
    assert riff_share_present(path) == 1.0
    assert heard(path) == N_FRAMES
    path.write_bytes(whole[:place] + odd + whole[place : place + 8 + N_FRAMES])
    assert riff_share_present(path) == 0.25


@pytest.mark.parametrize("rate_hz", [48000, 16000])
def test_an_mp3_that_was_cut_off_is_read_and_told(rate_hz: int, tmp_path: Path) -> None:
    path = tmp_path / "sound.mp3"
    n_frames = 3 * rate_hz
    soundfile.write(path, 0.1 * np.random.default_rng(8).standard_normal(n_frames), rate_hz)
    stated = mp3_frames_stated(path)
    assert stated is not None
    assert n_frames <= stated <= n_frames + 4096
    assert heard(path) == pytest.approx(n_frames, abs=4096)
    tag = b"ID3\4\0\0" + bytes([0, 0, 2, 5]) + bytes(2 * 128 + 5)
    path.write_bytes(tag + path.read_bytes())
    assert mp3_frames_stated(path) == stated
    with pytest.raises(RecordingError, match=r"ends at [12]\.\d\d s but states a length of 3\.\d\d s"):
        heard(cut(path, 0.6))


@pytest.mark.parametrize(
    "content", [b"", b"RIFF", b"RIFF\0\0\0\0WAVE", b"\xff\xfb" + bytes(100), b"ID3\4\0\0\0\0"]
)
def test_what_states_no_length_is_told_apart(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "sound"
    path.write_bytes(content)
    assert riff_share_present(path) is None
    assert mp3_frames_stated(path) is None
