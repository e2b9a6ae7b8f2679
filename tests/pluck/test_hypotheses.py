"""Peaks made by hand, and the fundamental that a person who knows strings would name."""

from collections.abc import Iterable

import numpy as np
import pytest

from tensionear.pluck.hypotheses import Hypothesis, Peak, hypotheses, partial_ratio

MOST = 5


def peaks_at(frequencies_hz: Iterable[float], levels: Iterable[float] | None = None) -> list[Peak]:
    """Peaks, strongest first; levels fall from 400 nats by a third each where none are given."""
    frequencies_hz = list(frequencies_hz)
    levels = list(levels) if levels is not None else [400 * 0.67**k for k in range(len(frequencies_hz))]
    peaks = [Peak(f, level, 0.1) for f, level in zip(frequencies_hz, levels, strict=True)]
    return sorted(peaks, key=lambda peak: -peak.level)


def best(peaks: list[Peak]) -> Hypothesis:
    return hypotheses(peaks, MOST)[0]


def series(fundamental_hz: float, numbers: Iterable[int], stretch: float = 0.0) -> list[float]:
    return [fundamental_hz * n * float(np.sqrt((1 + stretch * n * n) / (1 + stretch))) for n in numbers]


def test_partials_of_a_limp_string_are_whole_multiples() -> None:
    np.testing.assert_array_equal(partial_ratio(np.arange(1.0, 6.0), 0.0), [1, 2, 3, 4, 5])


def test_partials_of_a_stiff_string_follow_fletchers_law() -> None:
    # Fletcher 1964: f_n = n·f_0·sqrt(1 + B·n²), worked out for B = 0.01: f_2/f_1 = 2·sqrt(1.04/1.01) = 2.029486.
    assert partial_ratio(2, 0.01) == pytest.approx(2.029486, abs=1e-6)
    assert partial_ratio(1, 0.01) == 1.0


@pytest.mark.parametrize("fundamental_hz", [20.5, 48.0, 97.3, 150.0, 333.0, 595.0])
@pytest.mark.parametrize(
    "numbers",
    [
        pytest.param((1, 2, 3, 4, 5, 6), id="full series"),
        pytest.param((1, 2, 3), id="first three"),
        pytest.param((2, 3, 4, 5), id="missing fundamental"),
        pytest.param((2, 3, 4), id="missing fundamental, short"),
        pytest.param((3, 4, 5, 6), id="the two lowest missing"),
        pytest.param((1, 3, 5), id="even partials silent: plucked in the middle"),
        pytest.param((1, 3), id="even partials silent, two heard"),
        pytest.param((1, 2, 4, 5), id="every third silent: plucked at a third"),
        pytest.param((1, 2), id="two"),
        pytest.param((1,), id="alone"),
    ],
)
def test_a_series_is_given_its_fundamental(fundamental_hz: float, numbers: tuple[int, ...]) -> None:
    found = best(peaks_at(series(fundamental_hz, numbers)))
    assert found.fundamental_hz == pytest.approx(fundamental_hz, rel=1e-3)
    assert sorted(found.partials) == list(numbers)


@pytest.mark.parametrize("fundamental_hz", [40.0, 110.0, 200.0])
def test_the_strongest_partial_may_be_any(fundamental_hz: float) -> None:
    for strongest in range(5):
        levels = [30.0] * 5
        levels[strongest] = 3000.0
        found = best(peaks_at(series(fundamental_hz, (1, 2, 3, 4, 5)), levels))
        assert found.fundamental_hz == pytest.approx(fundamental_hz, rel=1e-3)


def test_a_faint_partial_between_two_strong_ones_says_that_the_fundamental_lies_lower() -> None:
    found = best(peaks_at(series(60.0, (2, 4, 3)), [500.0, 300.0, 32.0]))
    assert found.fundamental_hz == pytest.approx(60.0, rel=1e-3)


def test_of_two_peaks_near_one_partial_the_stronger_is_taken() -> None:
    found = best(peaks_at([100.0, 200.0, 300.0, 302.0], [400.0, 300.0, 200.0, 20.0]))
    assert found.partials[3].frequency_hz == 300.0


def test_nothing_is_read_an_octave_low_for_the_sake_of_a_stray_peak() -> None:
    # 55 Hz and noise at 137 Hz = 2.5 times it: an octave lower would explain that as partial 5.
    found = best(peaks_at([55.0, 110.0, 165.0, 220.0, 137.5], [300.0, 200.0, 100.0, 80.0, 14.0]))
    assert found.fundamental_hz == pytest.approx(55.0, rel=1e-3)


@pytest.mark.parametrize("stretch", [0.0005, 0.002, 0.005, 0.01, 0.02, 0.03])
@pytest.mark.parametrize("fundamental_hz", [45.0, 150.0])
def test_a_stiff_span_is_given_its_stretch(fundamental_hz: float, stretch: float) -> None:
    found = best(peaks_at(series(fundamental_hz, range(1, 7), stretch)))
    assert found.fundamental_hz == pytest.approx(fundamental_hz, rel=2e-3)
    assert found.stretch == pytest.approx(stretch, rel=0.05)


def test_partials_that_lie_a_little_off_are_still_partials() -> None:
    rng = np.random.default_rng(1)
    for _ in range(50):
        fundamental_hz = rng.uniform(25, 300)
        off = 1 + rng.uniform(-0.005, 0.005, 5)
        found = best(peaks_at(np.array(series(fundamental_hz, range(1, 6))) * off))
        assert found.fundamental_hz == pytest.approx(fundamental_hz, rel=0.01)


def test_two_spans_are_two_hypotheses_and_neither_is_far_ahead() -> None:
    first, second = series(100.0, (1, 2, 3)), series(128.7, (1, 2, 3))
    ranked = hypotheses(peaks_at(first + second, [200.0, 100.0, 50.0] * 2), MOST)
    for hertz in (100.0, 128.7):
        (score,) = [h.score for h in ranked if abs(h.fundamental_hz / hertz - 1) < 0.002]
        assert ranked[0].score - score < 1.0


def test_fundamentals_stay_in_the_range_of_belts() -> None:
    rng = np.random.default_rng(2)
    for _ in range(100):
        peaks = peaks_at(rng.uniform(17, 1700, rng.integers(1, 12)))
        for found in hypotheses(peaks, MOST):
            assert 18.5 < found.fundamental_hz < 645.0


def test_hypotheses_come_best_first_no_two_alike_and_no_more_than_asked() -> None:
    rng = np.random.default_rng(3)
    for _ in range(100):
        ranked = hypotheses(peaks_at(rng.uniform(20, 1500, rng.integers(1, 14))), MOST)
        assert len(ranked) <= MOST
        scores = [h.score for h in ranked]
        assert scores == sorted(scores, reverse=True)


def test_a_peak_serves_as_one_partial_and_a_partial_has_one_peak() -> None:
    rng = np.random.default_rng(4)
    for _ in range(100):
        peaks = peaks_at(rng.uniform(20, 1500, 12))
        for found in hypotheses(peaks, MOST):
            used = list(found.partials.values())
            assert len(set(used)) == len(used)
            assert all(peak in peaks for peak in used)


def test_the_level_of_all_peaks_together_changes_no_ranking_of_clear_series() -> None:
    for gain in (1.0, 10.0, 1000.0):
        found = best(peaks_at(series(73.0, (2, 3, 4, 5)), np.array([300.0, 200.0, 100.0, 50.0]) * gain))
        assert found.fundamental_hz == pytest.approx(73.0, rel=1e-3)


def test_no_peaks_no_hypotheses() -> None:
    assert hypotheses([], MOST) == []


def test_peaks_far_above_the_range_of_belts_may_have_no_fundamental() -> None:
    for found in hypotheses(peaks_at([1650.0]), MOST):
        assert found.fundamental_hz < 645.0
