"""What two seconds of sound tell of a microphone, on sounds whose fault is known because it was put in."""

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from tensionear.sound.block import SoundBlock
from tensionear.sound.microphone_check import (
    Aspect,
    Finding,
    Judgement,
    MicrophoneCheck,
    assess_microphone,
    check_input,
)

RATE_HZ = 48_000
N_SAMPLES = 2 * RATE_HZ
TIME_S = np.arange(N_SAMPLES) / RATE_HZ

Sound = NDArray[np.float64]


def noise(level_db: float, slope: float = 1.0, seed: int = 1) -> Sound:
    """Noise of that level against a full-scale sine; slope 0 is white, 1 is pink, like a quiet room."""
    random = np.random.default_rng(seed)
    frequency_hz = np.maximum(np.fft.rfftfreq(N_SAMPLES, 1 / RATE_HZ), 20.0)
    sound = np.fft.irfft(np.fft.rfft(random.standard_normal(N_SAMPLES)) * frequency_hz ** (-slope / 2))
    return np.asarray(sound / sound.std() * np.sqrt(0.5) * 10 ** (level_db / 20))


def filtered(sound: Sound, high_pass_hz: float = 0.0, order: int = 4, low_pass_hz: float = np.inf) -> Sound:
    """Filter with Butterworth's magnitudes."""
    frequency_hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    gain = 1 / np.sqrt(1 + (frequency_hz / low_pass_hz) ** 40)
    if high_pass_hz:
        ratio = (frequency_hz / high_pass_hz) ** order
        gain *= ratio / np.sqrt(1 + ratio**2)
    return np.asarray(np.fft.irfft(np.fft.rfft(sound) * gain, len(sound)))


def pluck(amplitude: float = 0.2, fundamental_hz: float = 90.0) -> Sound:
    """A pluck after half a second."""
    since_s = np.maximum(TIME_S - 0.5, 0.0)
    return np.asarray(amplitude * np.exp(-since_s / 0.2) * np.sin(2 * np.pi * fundamental_hz * since_s))


def sine(amplitude: float, frequency_hz: float) -> Sound:
    return np.asarray(amplitude * np.sin(2 * np.pi * frequency_hz * TIME_S))


def between(begin_s: float, end_s: float) -> NDArray[np.bool_]:
    return (begin_s < TIME_S) & (end_s > TIME_S)


def checked(sound: Sound) -> MicrophoneCheck:
    """Judge the sound as a 16-bit microphone would deliver it."""
    return assess_microphone((np.round(sound * 32767) / 32767).astype(np.float32), RATE_HZ)


def finding(check: MicrophoneCheck, aspect: Aspect) -> Finding:
    (found,) = [finding for finding in check.findings if finding.aspect is aspect]
    return found


def test_good_microphone_in_a_quiet_room_that_hears_a_pluck_is_good_in_every_respect() -> None:
    check = checked(noise(-50.0) + pluck())
    assert [finding.aspect for finding in check.findings] == list(Aspect)
    assert {finding.judgement for finding in check.findings} == {Judgement.GOOD}
    assert not check.is_faulty
    assert check.noise_floor_db == pytest.approx(-50.0, abs=2.0)
    assert check.hum_db is None


@pytest.mark.parametrize(
    ("sound", "aspect", "sentence"),
    [
        pytest.param(np.zeros(N_SAMPLES), Aspect.ALIVE, "nothing but zeros: switch it on", id="zeros"),
        pytest.param(np.full(N_SAMPLES, 0.25), Aspect.ALIVE, "the constant 0.25: plug it in", id="constant"),
        pytest.param(
            np.clip(noise(-50.0) + pluck(3.0), -1, 1),
            Aspect.CLIPPING,
            "clipped at 0 dB: turn the input level down",
            id="clipped at full scale",
        ),
        pytest.param(
            np.clip(noise(-50.0) + pluck(3.0), -0.5, 0.5),
            Aspect.CLIPPING,
            "clipped at -6 dB: turn the input level down",
            id="clipped before the converter",
        ),
        pytest.param(
            np.where(between(0.6, 1.2), noise(-40.0), 0.0),
            Aspect.GATE,
            "cut off to nothing for up to 800 ms, as a noise gate does: turn off noise suppression",
            id="gated to nothing",
        ),
        pytest.param(
            noise(-40.0) * np.where(between(0.6, 1.2), 1.0, 0.03),
            Aspect.GATE,
            "dB and stays there, as behind a noise gate: turn off noise suppression",
            id="gated to a floor",
        ),
        pytest.param(
            filtered(noise(-50.0), high_pass_hz=300.0),
            Aspect.LOW_FREQUENCIES,
            "dB weaker than at 300 to 1000 Hz, so that long spans may not be heard",
            id="steep high-pass",
        ),
        pytest.param(
            filtered(noise(-45.0), high_pass_hz=150.0, order=2, low_pass_hz=3400.0),
            Aspect.LOW_FREQUENCIES,
            "above 3.5 kHz, as in a telephone call",
            id="telephone band",
        ),
        pytest.param(noise(-20.0), Aspect.NOISE_FLOOR, "louder than -30 dB, and will hide plucks", id="loud"),
        pytest.param(
            noise(-60.0) + sine(0.02, 50.0) + sine(0.01, 150.0),
            Aspect.MAINS_HUM,
            "hum of 50 Hz is at -33 dB, louder than -40 dB: run the computer from its battery",
            id="hum",
        ),
        pytest.param(
            noise(-60.0) + sine(0.02, 120.0), Aspect.MAINS_HUM, "hum of 60 Hz is at -34 dB", id="hum of 60 Hz"
        ),
    ],
)
def test_fault_is_found_and_told_with_its_remedy(sound: Sound, aspect: Aspect, sentence: str) -> None:
    check = checked(sound)
    found = finding(check, aspect)
    assert found.judgement is Judgement.BAD
    assert sentence in found.sentence
    assert check.is_faulty


@pytest.mark.parametrize(
    ("sound", "aspect"),
    [
        pytest.param(noise(-60.0, slope=0.0), Aspect.LOW_FREQUENCIES, id="white noise is not high-passed"),
        pytest.param(noise(-40.0, slope=2.0), Aspect.LOW_FREQUENCIES, id="rumble is no telephone"),
        pytest.param(
            filtered(noise(-50.0), high_pass_hz=100.0, order=2), Aspect.LOW_FREQUENCIES, id="small microphone"
        ),
        pytest.param(sine(0.3, 50.0), Aspect.CLIPPING, id="flat top of a slow sine"),
        pytest.param(sine(0.9, 600.0), Aspect.CLIPPING, id="loud sine"),
        pytest.param(noise(-50.0) + pluck(0.9), Aspect.CLIPPING, id="loud pluck"),
        pytest.param(noise(-50.0) + pluck(), Aspect.GATE, id="a pluck that dies away"),
        pytest.param(noise(-75.0) + pluck(), Aspect.GATE, id="a pluck that dies away in a very quiet room"),
        pytest.param(noise(-50.0), Aspect.GATE, id="steady noise that nothing suppresses"),
        pytest.param(noise(-60.0) + sine(5e-4, 120.0), Aspect.MAINS_HUM, id="faint hum"),
        pytest.param(noise(-50.0) + pluck(0.3, 100.0), Aspect.CLIPPING, id="pluck"),
    ],
)
def test_what_is_no_fault_is_not_called_one(sound: Sound, aspect: Aspect) -> None:
    assert finding(checked(sound), aspect).judgement is Judgement.GOOD


@pytest.mark.parametrize(
    ("sound", "aspect", "sentence"),
    [
        pytest.param(noise(-72.0), Aspect.GATE, "clap or pluck meanwhile", id="faint steady noise"),
        pytest.param(noise(-95.0, 0.0), Aspect.GATE, "too quiet (-93 dB at the most)", id="silence: gate"),
        pytest.param(
            noise(-95.0, 0.0),
            Aspect.LOW_FREQUENCIES,
            "no louder than the converter's own",
            id="silence: band",
        ),
        pytest.param(noise(-95.0, 0.0), Aspect.NOISE_FLOOR, "unusually quiet", id="silence: floor"),
        pytest.param(
            sine(0.1, 440.0), Aspect.LOW_FREQUENCIES, "no louder than the converter's own", id="one tone"
        ),
    ],
)
def test_what_cannot_be_told_is_not_judged(sound: Sound, aspect: Aspect, sentence: str) -> None:
    check = checked(sound)
    found = finding(check, aspect)
    assert found.judgement is Judgement.UNKNOWN
    assert sentence in found.sentence


def test_dead_microphone_is_judged_in_nothing_else() -> None:
    check = checked(np.zeros(N_SAMPLES))
    assert {finding.judgement for finding in check.findings[1:]} == {Judgement.UNKNOWN}
    assert (check.noise_floor_db, check.hum_db) == (None, None)


def test_moment_too_short_to_judge_is_not_judged() -> None:
    check = checked(noise(-50.0)[: RATE_HZ // 3])
    assert {finding.judgement for finding in check.findings} == {Judgement.UNKNOWN}
    assert not check.is_faulty


def test_numbers_that_are_no_sound_are_a_fault() -> None:
    check = assess_microphone(np.full(N_SAMPLES, np.nan, np.float32), RATE_HZ)
    assert "numbers that are no sound" in finding(check, Aspect.ALIVE).sentence


@pytest.mark.parametrize("sample_rate_hz", [8_000, 16_000, 44_100, 96_000, 192_000])
def test_good_microphone_is_good_at_any_rate(sample_rate_hz: int) -> None:
    n_samples = 2 * sample_rate_hz
    sound = 1e-3 * np.random.default_rng(2).standard_normal(n_samples)
    sound[n_samples // 4 :] += 0.2 * np.exp(-np.arange(n_samples - n_samples // 4) / (0.2 * sample_rate_hz))
    check = assess_microphone(sound.astype(np.float32), sample_rate_hz)
    assert {finding.judgement for finding in check.findings} == {Judgement.GOOD}


def test_of_several_channels_the_living_one_is_judged() -> None:
    sound = np.stack([np.zeros(N_SAMPLES), noise(-50.0) + pluck()], axis=1).astype(np.float32)
    assert not assess_microphone(sound, RATE_HZ).is_faulty


class Blocks:
    """A source that yields prepared blocks, and counts how many were taken."""

    name = "Bench microphone"
    sample_rate_hz = float(RATE_HZ)
    n_channels = 1

    def __init__(self, blocks: list[SoundBlock]) -> None:
        self._blocks = blocks
        self.n_taken = 0

    def blocks(self) -> Iterator[SoundBlock]:
        for block in self._blocks:
            self.n_taken += 1
            yield block


def in_blocks(sound: Sound, lost_before: dict[int, int] | None = None) -> Blocks:
    return Blocks(
        [
            SoundBlock(
                sound[start : start + 960, None].astype(np.float32), start, (lost_before or {}).get(start, 0)
            )
            for start in range(0, len(sound), 960)
        ]
    )


def test_check_listens_as_long_as_told_and_skips_the_switching_on() -> None:
    sound = np.concatenate([np.zeros(RATE_HZ // 5), noise(-50.0) + pluck(), noise(-50.0)])
    source = in_blocks(sound)
    check = check_input(source, seconds=2.0)
    assert not check.is_faulty
    assert source.n_taken == pytest.approx(2.25 * 50, abs=1)


def test_check_begins_anew_where_sound_was_lost() -> None:
    """A jump in the middle of what is judged would look like a fault."""
    sound = np.concatenate([sine(0.3, 50.0)[: RATE_HZ // 2], noise(-72.0), noise(-72.0)])
    check = check_input(in_blocks(sound, {24_000: 100}), seconds=1.5)
    assert check.noise_floor_db == pytest.approx(-72.0, abs=2.0)
    assert check.hum_db is None


def test_check_of_a_source_that_ends_at_once_is_not_judged() -> None:
    assert not check_input(in_blocks(np.zeros(0))).is_faulty
