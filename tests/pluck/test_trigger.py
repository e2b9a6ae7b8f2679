"""The trigger: one cut a pluck, at its onset; none for what goes on all the time."""

from itertools import pairwise

import numpy as np
import pytest

from tensionear.pluck.trigger import BAND_EDGES_HZ, FRAME_S, HOP_S, BandMeter, Cut, Trigger
from tests.pluck.sounds import Sound, after, pink, string, tones, white

RATE_HZ = 4800.0
AT_S = 3.0

WITHIN_S = 0.0201
"""20 ms, and what the arithmetic of whole hops adds."""


def cuts_of(sound: Sound, hops_at_once: int = 10) -> list[Cut]:
    """Everything that begins in a sound."""
    energies = BandMeter(RATE_HZ).energies(sound)
    trigger = Trigger()
    cuts = [
        c
        for k in range(0, len(energies), hops_at_once)
        for c in trigger.advance(energies[k : k + hops_at_once])
    ]
    return cuts + trigger.finish()


def onsets_s(sound: Sound) -> list[float]:
    """When the middle of the frame of each onset is."""
    return [cut.onset_hop * HOP_S + FRAME_S / 2 for cut in cuts_of(sound)]


def pluck(
    fundamental_hz: float = 110.0,
    at_s: float = AT_S,
    duration_s: float = 6.0,
    level: float = 0.1,
    quality: float = 30.0,
) -> Sound:
    ring = string(fundamental_hz, duration_s - at_s, RATE_HZ, quality)
    return level * after(at_s, ring, RATE_HZ)[: round(duration_s * RATE_HZ)]


def brown(seed: int, duration_s: float, rate_hz: float) -> Sound:
    """Noise whose power density falls as 1/f² above 20 Hz, as in a hall with a fan."""
    spectrum = np.fft.rfft(white(seed, duration_s, rate_hz))
    n = round(duration_s * rate_hz)
    sound = np.fft.irfft(spectrum / np.maximum(np.fft.rfftfreq(n, 1 / rate_hz), 20.0), n)
    return np.asarray(sound / np.std(sound))


@pytest.mark.parametrize("colour", ["white", "pink", "brown"])
def test_minutes_of_steady_noise_hold_no_pluck(colour: str) -> None:
    noise = {"white": white, "pink": pink, "brown": brown}[colour](1, 120.0, RATE_HZ)
    assert cuts_of(0.1 * noise) == []


@pytest.mark.parametrize("mains_hz", [49.9, 60.0])
def test_minutes_of_steady_hum_hold_no_pluck(mains_hz: float) -> None:
    hum = tones([mains_hz * k for k in (1, 2, 3, 4, 5, 6, 8, 10)], 120.0, RATE_HZ)
    assert cuts_of(0.05 * hum + 1e-4 * white(3, 120.0, RATE_HZ)) == []


def test_digital_silence_holds_no_pluck() -> None:
    assert cuts_of(np.zeros(round(60 * RATE_HZ))) == []


def test_the_last_bit_of_a_converter_holds_no_pluck() -> None:
    flicker = np.round(0.4 * white(4, 120.0, RATE_HZ)) / 32768
    assert cuts_of(flicker) == []


def test_a_slow_swell_of_noise_is_no_pluck() -> None:
    swell = 10 ** (np.sin(2 * np.pi * np.arange(round(60 * RATE_HZ)) / RATE_HZ / 20) / 2)
    assert cuts_of(0.01 * swell * pink(5, 60.0, RATE_HZ)) == []


@pytest.mark.parametrize("fundamental_hz", [21.0, 49.0, 110.0, 280.0, 590.0])
@pytest.mark.parametrize("noise", [0.0, 1e-4, 1e-2])
def test_a_pluck_is_cut_once_with_its_onset_within_20_ms(fundamental_hz: float, noise: float) -> None:
    (onset_s,) = onsets_s(pluck(fundamental_hz) + noise * white(6, 6.0, RATE_HZ))
    assert onset_s == pytest.approx(AT_S, abs=WITHIN_S)


@pytest.mark.parametrize("quality", [10.0, 30.0, 50.0])
@pytest.mark.parametrize("fundamental_hz", [45.0, 110.0, 280.0])
def test_the_afterglow_of_a_clean_pluck_opens_nothing(fundamental_hz: float, quality: float) -> None:
    # 60 dB over the noise, twelve seconds: Q 50 at 45 Hz rings for 0.35 s, and is heard for 2.4 s.
    sound = pluck(fundamental_hz, duration_s=15.0, quality=quality)
    noise = np.std(sound[round(AT_S * RATE_HZ) :][:1000]) * 1e-3
    assert len(cuts_of(sound + noise * white(7, 15.0, RATE_HZ))) == 1


@pytest.mark.parametrize("fundamental_hz", [40.0, 110.0, 280.0])
def test_a_cut_lasts_as_long_as_the_ring_is_heard(fundamental_hz: float) -> None:
    ring_time_s = 30 / (np.pi * fundamental_hz)
    (cut,) = cuts_of(pluck(fundamental_hz) + 1e-4 * white(8, 6.0, RATE_HZ))
    assert (cut.end_hop - cut.onset_hop) * HOP_S > 3 * ring_time_s


def test_a_pluck_beside_hum_that_is_as_loud_is_heard() -> None:
    hum = tones([50.0, 100.0, 150.0, 200.0], 6.0, RATE_HZ)
    (onset_s,) = onsets_s(pluck(120.0) + 0.05 * hum + 1e-3 * white(9, 6.0, RATE_HZ))
    assert onset_s == pytest.approx(AT_S, abs=WITHIN_S)


@pytest.mark.parametrize("apart_s", [0.5, 0.8, 1.5, 2.5])
def test_a_second_pluck_is_cut_as_well(apart_s: float) -> None:
    sound = pluck(duration_s=8.0) + pluck(at_s=AT_S + apart_s, duration_s=8.0)
    found = onsets_s(sound + 1e-3 * white(10, 8.0, RATE_HZ))
    assert found == pytest.approx([AT_S, AT_S + apart_s], abs=WITHIN_S)


@pytest.mark.parametrize("apart_s", [0.45, 0.6])
def test_a_pluck_into_the_ring_of_the_last_ends_the_cut_of_that(apart_s: float) -> None:
    # Q 40 at 42 Hz: after 0.45 s it has fallen by 13 dB only.
    sound = pluck(42.0, quality=40.0) + pluck(42.0, at_s=AT_S + apart_s, quality=40.0)
    one, two = cuts_of(sound + 1e-4 * white(10, 6.0, RATE_HZ))
    assert two.onset_hop * HOP_S + FRAME_S / 2 == pytest.approx(AT_S + apart_s, abs=WITHIN_S)
    assert one.end_hop <= two.onset_hop
    assert (two.onset_hop - one.end_hop) * HOP_S < 0.1


@pytest.mark.parametrize("apart_hz", [2.0, 4.0, 7.0])
def test_two_strings_that_beat_are_one_pluck(apart_hz: float) -> None:
    sound = pluck(60.0, quality=50.0) + pluck(60.0 + apart_hz, quality=50.0)
    assert onsets_s(sound + 1e-4 * white(20, 6.0, RATE_HZ)) == pytest.approx([AT_S], abs=WITHIN_S)


@pytest.mark.parametrize("attack_s", [0.02, 0.04, 0.06])
def test_an_attack_may_take_its_time(attack_s: float) -> None:
    sound = pluck(50.0)
    start = round(AT_S * RATE_HZ)
    n = round(attack_s * RATE_HZ)
    sound[start : start + n] *= np.linspace(0, 1, n)
    (onset_s,) = onsets_s(sound + 1e-4 * white(21, 6.0, RATE_HZ))
    assert AT_S - 0.02 < onset_s < AT_S + attack_s


def test_one_bit_that_flips_in_digital_silence_is_no_pluck() -> None:
    silence = np.zeros(round(30 * RATE_HZ))
    silence[:: round(3.3 * RATE_HZ)] = 1 / 32768
    assert cuts_of(silence) == []


def test_plucks_one_after_the_other_are_all_cut_and_their_cuts_do_not_overlap() -> None:
    plucked_s = [3.0, 4.1, 5.6, 6.4, 8.2, 9.0, 10.9, 12.0]
    sound = sum((pluck(110.0, at_s, 14.0) for at_s in plucked_s), 1e-3 * white(11, 14.0, RATE_HZ))
    cuts = cuts_of(sound)
    assert [c.onset_hop * HOP_S + FRAME_S / 2 for c in cuts] == pytest.approx(plucked_s, abs=WITHIN_S)
    assert all(one.onset_hop < one.end_hop <= two.onset_hop for one, two in pairwise(cuts))


@pytest.mark.parametrize("lead_s", [0.06, 0.12, 0.25, 0.35])
def test_a_finger_that_rubs_over_the_belt_is_the_same_pluck(lead_s: float) -> None:
    sound = pluck() + 1e-4 * white(12, 6.0, RATE_HZ)
    start = round((AT_S - lead_s) * RATE_HZ)
    rub = 3e-3 * white(13, lead_s, RATE_HZ)
    sound[start : start + len(rub)] += rub
    (onset_s,) = onsets_s(sound)
    assert onset_s == pytest.approx(AT_S, abs=WITHIN_S)


@pytest.mark.parametrize("at_s", [0.0, 0.02, 0.3, 0.7])
def test_a_recording_may_begin_with_the_pluck(at_s: float) -> None:
    sound = 0.1 * after(at_s, string(110.0, 3.0, RATE_HZ), RATE_HZ)
    found = onsets_s(sound + 1e-4 * white(14, len(sound) / RATE_HZ, RATE_HZ))
    assert found == pytest.approx([at_s], abs=0.03)


def test_a_recording_shorter_than_a_second_may_hold_a_pluck() -> None:
    sound = 0.1 * after(0.2, string(110.0, 0.6, RATE_HZ), RATE_HZ) + 1e-4 * white(15, 0.8, RATE_HZ)
    assert onsets_s(sound) == pytest.approx([0.2], abs=WITHIN_S)


def test_a_ring_that_fills_a_short_recording_is_still_a_pluck() -> None:
    sound = 0.1 * after(0.15, string(40.0, 0.75, RATE_HZ, 45.0), RATE_HZ) + 1e-4 * white(15, 0.9, RATE_HZ)
    assert onsets_s(sound) == pytest.approx([0.15], abs=WITHIN_S)


def test_a_pluck_that_is_still_ringing_at_the_end_is_cut_there() -> None:
    sound = pluck(40.0, duration_s=AT_S + 0.25) + 1e-4 * white(16, AT_S + 0.25, RATE_HZ)
    (cut,) = cuts_of(sound)
    assert cut.end_hop == len(BandMeter(RATE_HZ).energies(sound))


def test_the_cuts_do_not_depend_on_how_loud_it_all_is() -> None:
    sound = pluck() + 1e-3 * white(17, 6.0, RATE_HZ)
    assert cuts_of(10 * sound) == cuts_of(sound) == cuts_of(0.1 * sound)


def test_a_faint_pluck_is_heard_and_a_fainter_one_is_not_invented() -> None:
    noise = white(18, 6.0, RATE_HZ)
    assert onsets_s(pluck(level=2.0) + noise) == pytest.approx([AT_S], abs=WITHIN_S)
    assert cuts_of(pluck(level=0.01) + noise) == []


def test_there_is_an_energy_for_every_whole_frame_and_it_grows_with_the_power() -> None:
    meter = BandMeter(RATE_HZ)
    noise = white(19, 60.0, RATE_HZ)
    energies = meter.energies(noise)
    assert energies.shape == ((len(noise) - meter.frame) // meter.hop + 1, len(BAND_EDGES_HZ) - 1)
    np.testing.assert_allclose(meter.energies(3.0 * noise), 9 * energies, rtol=1e-4)
    # White noise fills a band in proportion to its width.
    per_hertz = np.mean(energies, axis=0) / np.diff(BAND_EDGES_HZ)
    np.testing.assert_allclose(per_hertz[4:], np.mean(per_hertz), rtol=0.4)


@pytest.mark.parametrize("frequency_hz", [30.0, 110.0, 440.0, 1000.0])
def test_a_tone_fills_its_own_band_most(frequency_hz: float) -> None:
    energies = BandMeter(RATE_HZ).energies(tones([frequency_hz], 1.0, RATE_HZ))
    band = int(np.searchsorted(BAND_EDGES_HZ, frequency_hz, side="right")) - 1
    assert np.all(np.argmax(energies, axis=1) == band)
