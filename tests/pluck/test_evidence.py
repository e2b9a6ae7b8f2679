"""What is shown of a pluck is its sound, its spectrum and the fit that was read, on one clock and in one unit."""

import numpy as np
import pytest

from tensionear.pluck.estimator import read_clip
from tensionear.pluck.evidence import PluckEvidence, evidence_of
from tensionear.pluck.outcome import PluckClip, PluckReading, PluckRefusal
from tests.pluck.sounds import pluck_clip, string, tones


def evidence(clip: PluckClip) -> PluckEvidence:
    return evidence_of(clip, read_clip(clip))


def check_curves(shown: PluckEvidence) -> None:
    assert shown.time_s.shape == shown.sound.shape
    assert shown.fit_time_s.shape == shown.fit.shape
    assert shown.frequency_hz.shape == shown.ring_db.shape == shown.background_db.shape
    for name, values in vars(shown).items():
        assert values.ndim == 1, name
        assert np.all(np.isfinite(values)), name
    assert np.all(np.diff(shown.time_s) > 0)
    assert np.all(np.diff(shown.frequency_hz) > 0)


@pytest.fixture(scope="module")
def read() -> tuple[PluckClip, PluckEvidence]:
    clip = pluck_clip(0.2 * string(95.0, 1.5, 48000), 48000)
    assert isinstance(read_clip(clip), PluckReading)
    return clip, evidence(clip)


def test_the_curves_of_a_reading_are_whole_and_finite(read: tuple[PluckClip, PluckEvidence]) -> None:
    check_curves(read[1])
    assert len(read[1].fit) > 100


def test_time_runs_from_the_onset(read: tuple[PluckClip, PluckEvidence]) -> None:
    shown = read[1]
    assert shown.time_s[0] == pytest.approx(-1.2, abs=0.005)
    assert shown.time_s[-1] == pytest.approx(1.5, abs=0.005)
    assert np.max(np.abs(shown.sound[shown.time_s < -0.01])) < 0.01
    assert np.max(np.abs(shown.sound[(shown.time_s > 0) & (shown.time_s < 0.02)])) > 0.1


@pytest.mark.parametrize("rate_hz", [8000, 44100])
@pytest.mark.parametrize("fundamental_hz", [33.0, 280.0])
def test_the_fit_reproduces_the_sound(fundamental_hz: float, rate_hz: float) -> None:
    clip = pluck_clip(0.2 * string(fundamental_hz, 1.2, rate_hz, 30.0, {1: 1.0, 2: 0.4}), rate_hz)
    shown = evidence(clip)
    check_curves(shown)
    heard = np.interp(shown.fit_time_s, shown.time_s, shown.sound)
    counted = slice(round(0.01 * len(heard)) + 8, None)
    left = heard[counted] - shown.fit[counted]
    assert np.sum(left**2) < 0.02 * np.sum(heard[counted] ** 2)


def test_the_spectrum_of_the_ring_peaks_at_its_partials(read: tuple[PluckClip, PluckEvidence]) -> None:
    shown = read[1]
    for number in (1, 2, 3):
        near = np.abs(shown.frequency_hz - number * 95.0) < 30.0
        peak_hz = shown.frequency_hz[near][np.argmax(shown.ring_db[near])]
        assert peak_hz == pytest.approx(number * 95.0, abs=2.0)
        assert np.max(shown.ring_db[near]) > np.max(shown.background_db[near]) + 20


def test_a_steady_tone_has_its_amplitude_in_decibels_of_full_scale() -> None:
    # Amplitude 0.1 is -20 dB; the hum is in the background as much as in the ring.
    clip = pluck_clip(0.2 * string(95.0, 1.5, 48000), 48000)
    hum = 0.1 * tones([400.0], 2.7, 48000)
    clip = PluckClip((clip.samples + hum).astype(np.float32), 48000, clip.onset)
    shown = evidence(clip)
    near = np.abs(shown.frequency_hz - 400.0) < 3.0
    assert np.max(shown.background_db[near]) == pytest.approx(-20.0, abs=0.5)
    assert np.max(shown.ring_db[near]) == pytest.approx(-20.0, abs=1.5)


@pytest.mark.parametrize("kind", ["tone", "silence", "begins with the pluck", "cut off"])
def test_a_refusal_shows_its_sound_and_no_fit(kind: str) -> None:
    rate_hz = 16000
    clip = {
        "tone": pluck_clip(0.2 * tones([120.0], 1.0, rate_hz), rate_hz),
        "silence": PluckClip(np.zeros(rate_hz, np.float32), rate_hz, rate_hz // 2),
        "begins with the pluck": pluck_clip(0.2 * tones([120.0], 1.0, rate_hz), rate_hz, before_s=0.0),
        "cut off": pluck_clip(0.2 * string(95.0, 0.025, rate_hz), rate_hz),
    }[kind]
    outcome = read_clip(clip)
    assert isinstance(outcome, PluckRefusal)
    shown = evidence_of(clip, outcome)
    check_curves(shown)
    assert len(shown.fit) == 0
    assert len(shown.sound) > 0
