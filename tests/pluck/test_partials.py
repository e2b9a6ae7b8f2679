"""The fit's model of partials: its columns against the formula and a filter, its slopes against differences."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import lfilter

from tensionear.pluck.background import model_noise
from tensionear.pluck.partials import PartialsModel
from tests.pluck.sounds import pink

RATE_HZ = 2400.0
PLAIN = np.ones(1)
NO_TONES = np.empty(0)
WHITENER = model_noise(pink(1, 2.0, RATE_HZ)).whitener


def random_model(
    rng: np.random.Generator, whitener: NDArray[np.float64], n_samples: int = 700
) -> tuple[PartialsModel, NDArray[np.float64], NDArray[np.int_]]:
    """A model of random partials, and parameters of a span that it may have."""
    numbers = np.concatenate([[1], np.sort(rng.choice(np.arange(2, 9), rng.integers(0, 6), replace=False))])
    glides = bool(rng.integers(2))
    model = PartialsModel(numbers, glides, np.arange(n_samples) / RATE_HZ, whitener, NO_TONES)
    p = np.zeros(model.n_parameters)
    p[0] = np.log(rng.uniform(22, 120))
    p[1] = rng.uniform(0, 0.02)
    p[model.ring_times] = np.log(rng.uniform(0.03, 0.5, len(numbers)))
    p[model.deviations] = rng.normal(0, 0.003, len(numbers) - 1)
    if glides:
        p[-1] = rng.uniform(0, 0.05)
    return model, p, numbers


def by_the_formula(
    model: PartialsModel, p: NDArray[np.float64], numbers: NDArray[np.int_]
) -> NDArray[np.complex128]:
    """Plain partials as the ring-down's docstring writes them, one exponential after the other."""
    time_s = np.arange(700) / RATE_HZ
    columns = []
    first_ring_s = np.exp(p[2])
    for k, n in enumerate(numbers):
        deviation = p[model.deviations][k - 1] if n > 1 else 0.0
        frequency_hz = n * np.exp(p[0]) * np.sqrt((1 + p[1] * n * n) / (1 + p[1])) * (1 + deviation)
        glide = p[-1] if model.glides else 0.0
        phase = (
            2
            * np.pi
            * frequency_hz
            * (time_s + glide * first_ring_s / 2 * (1 - np.exp(-2 * time_s / first_ring_s)))
        )
        columns.append(np.exp(-time_s / np.exp(p[2 + k]) + 1j * phase))
    return np.array(columns).T


@pytest.mark.parametrize("seed", range(10))
def test_plain_columns_are_those_of_the_formula(seed: int) -> None:
    model, p, numbers = random_model(np.random.default_rng(seed), PLAIN)
    np.testing.assert_allclose(model.columns(p), by_the_formula(model, p, numbers), atol=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_whitened_columns_are_the_plain_ones_filtered(seed: int) -> None:
    model, p, numbers = random_model(np.random.default_rng(seed), WHITENER)
    if model.glides:
        p[-1] = 0.0  # a gliding tone is no exponential: see the next test
    filtered = lfilter(WHITENER, [1.0], by_the_formula(model, p, numbers), axis=0)
    np.testing.assert_allclose(model.columns(p), filtered, atol=1e-8 * np.abs(filtered).max())


def test_a_gliding_column_is_nearly_the_plain_one_filtered() -> None:
    # The filter is short beside a glide, so that its answer to the pitch of the moment is near enough.
    checked = 0
    for seed in range(20):
        model, p, numbers = random_model(np.random.default_rng(seed), WHITENER)
        if model.glides:
            checked += 1
            filtered = lfilter(WHITENER, [1.0], by_the_formula(model, p, numbers), axis=0)[30:]
            error = model.columns(p)[30:] - filtered
            assert np.linalg.norm(error) < 0.1 * np.linalg.norm(filtered)
    assert checked > 5


def test_columns_of_steady_tones_do_not_fade() -> None:
    model = PartialsModel(np.array([1]), False, np.arange(500) / RATE_HZ, PLAIN, np.array([50.0, 150.0]))
    expected = np.exp(2j * np.pi * np.outer(np.arange(500) / RATE_HZ, [50.0, 150.0]))
    np.testing.assert_allclose(model.tones, expected, atol=1e-9)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("whitener", [pytest.param(PLAIN, id="white"), pytest.param(WHITENER, id="pink")])
def test_slopes_are_those_of_finite_differences(seed: int, whitener: NDArray[np.float64]) -> None:
    rng = np.random.default_rng(seed)
    model, p, numbers = random_model(rng, whitener)
    phasors = rng.standard_normal(len(numbers)) + 1j * rng.standard_normal(len(numbers))
    slopes = model.slopes(p, model.columns(p), phasors)
    assert slopes.shape == (700, model.n_parameters)
    # The whitener's gain is taken for constant while a partial is shifted, and e_n for small beside 1.
    within = np.full(model.n_parameters, 1e-5 if len(whitener) == 1 else 0.1)
    within[model.deviations] += 1.1 * np.abs(p[model.deviations])
    for k in range(model.n_parameters):
        if k == model.ring_times.start and model.glides:
            continue  # that the glide's course follows the first partial's ring time is left out
        step = np.zeros(model.n_parameters)
        step[k] = 1e-8 if k == 1 else 1e-6
        ahead, behind = ((model.columns(q) @ phasors).real for q in (p + step, p - step))
        difference = (ahead - behind) / (2 * step[k])
        error = np.linalg.norm(slopes[:, k] - difference)
        assert error <= within[k] * np.linalg.norm(difference), k


def test_parameters_are_kept_where_a_span_can_be() -> None:
    rng = np.random.default_rng(3)
    for seed in range(50):
        model, p, numbers = random_model(np.random.default_rng(seed), PLAIN)
        np.testing.assert_array_equal(model.inside(p), p)
        wild = p + rng.normal(0, 20, len(p)) * (np.arange(len(p)) > 0)
        kept = model.inside(wild)
        assert kept[1] >= 0
        periods = np.exp(p[0]) * numbers * np.exp(kept[model.ring_times])
        assert np.all(periods > 0.5)
        assert np.all(periods < 2e4)
        assert np.all(np.isfinite(model.columns(kept)))
        np.testing.assert_array_equal(model.inside(kept), kept)


def test_the_fundamental_itself_never_deviates_from_its_law() -> None:
    model, p, numbers = random_model(np.random.default_rng(1), PLAIN)
    p[model.deviations] = 0.01
    frequencies_hz = model.frequencies_hz(p)
    assert frequencies_hz[0] == pytest.approx(np.exp(p[0]), rel=1e-12)
    assert len(numbers) > 1
    p[model.deviations] = 0.0
    np.testing.assert_allclose(frequencies_hz[1:] / model.frequencies_hz(p)[1:], 1.01)
