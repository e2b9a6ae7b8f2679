"""How near readings come to the Cramér-Rao bound: ``python -m benchmarks.bound``, on all cores.

Clean damped sinusoids in white noise, read with the onset known. Prints, for each signal-to-noise ratio
(power of the sinusoid at its onset over that of the noise, a sample), fundamental and Q, the root mean square
error of the readings over the bound and the share that was refused. ``--picture FILE`` draws them.

No pluck says beforehand that its pitch does not glide. The bound is therefore given twice: for a sinusoid that is
known not to glide, and for one whose glide (dying away at twice the rate of the amplitude) has to be found as well.
An estimate that allows for glides but thinks small ones likely lies between the two.
"""

import argparse
import itertools
import math
import multiprocessing
import os
from pathlib import Path

import numpy as np
from tqdm import tqdm

from benchmarks.pictures import draw_bound
from tensionear.pluck.estimator import read_clip
from tensionear.pluck.outcome import PluckClip, PluckReading

RATE_HZ = 48000.0
SNRS_DB = (40, 30, 20, 10, 0)
FUNDAMENTALS_HZ = (21.0, 40.0, 80.0, 150.0, 300.0, 580.0)
QUALITIES = (10, 25, 50)
_BEFORE_S = 1.0
_TARGET = 1.1


def bound_hz(
    amplitude_over_noise: float, ring_time_s: float, sample_rate_hz: float, n_samples: int, may_glide: bool
) -> float:
    """Smallest standard deviation that an unbiased frequency estimate of a damped sinusoid can have. [Hz]

    Parameters
    ----------
    amplitude_over_noise : float
        Amplitude at the onset over the standard deviation of the white noise. [1]
    ring_time_s : float
        Time in which the amplitude falls to 1/e. [s]
    sample_rate_hz : float
        [Hz]
    n_samples : int
        Length of the record from the onset.
    may_glide : bool
        Whether the frequency may have been higher at first, by an unknown multiple of exp(-2t/ring_time_s).

    References
    ----------
    .. [1] Y.-X. Yao and S. M. Pandit, "Cramér-Rao lower bounds for a damped sinusoidal process", IEEE Trans.
       Signal Process. 43 (1995) 878 (from memory; the formula here follows from the Fisher matrix of the phase's
       parameters, which amplitude and ring time do not touch).
    """
    time_s = np.arange(n_samples) / sample_rate_hz
    by_phase, by_frequency = np.ones(n_samples), 2 * np.pi * time_s
    by_glide = np.pi * ring_time_s * (1 - np.exp(-2 * time_s / ring_time_s))
    slopes = np.vstack([by_phase, by_frequency, by_glide] if may_glide else [by_phase, by_frequency])
    weight = np.exp(-2 * time_s / ring_time_s)
    fisher = amplitude_over_noise**2 / 2 * (slopes * weight) @ slopes.T
    return math.sqrt(np.linalg.inv(fisher)[1, 1])


def trial(case: tuple[int, float, int, int]) -> tuple[float, float] | None:
    """Error of one reading over the bounds without and with a glide; None if it was refused."""
    snr_db, fundamental_hz, quality, number = case
    rng = np.random.default_rng((snr_db, round(fundamental_hz), quality, number))
    frequency_hz = fundamental_hz * rng.uniform(0.97, 1.03)
    ring_time_s = quality / (math.pi * frequency_hz)
    n = int((8 * ring_time_s + 0.5) * RATE_HZ)
    onset = int(_BEFORE_S * RATE_HZ)
    time_s = np.arange(n) / RATE_HZ
    amplitude_over_noise = math.sqrt(2 * 10 ** (snr_db / 10))
    sound = rng.standard_normal(onset + n)
    sound[onset:] += (
        amplitude_over_noise
        * np.exp(-time_s / ring_time_s)
        * np.cos(2 * np.pi * frequency_hz * time_s + rng.uniform(0, 2 * np.pi))
    )
    samples = (0.5 * sound / np.max(np.abs(sound))).astype(np.float32)
    outcome = read_clip(PluckClip(samples, RATE_HZ, onset))
    if not isinstance(outcome, PluckReading):
        return None
    error_hz = outcome.fundamental_hz - frequency_hz
    steady_hz, gliding_hz = (
        bound_hz(amplitude_over_noise, ring_time_s, RATE_HZ, n, may_glide) for may_glide in (False, True)
    )
    return error_hz / steady_hz, error_hz / gliding_hz


def main() -> None:
    """Run the comparison."""
    parser = argparse.ArgumentParser(description="How near readings come to the Cramér-Rao bound.")
    parser.add_argument("--trials", type=int, default=40, help="trials for each cell")
    parser.add_argument("--picture", type=Path, metavar="FILE", help="draw the errors (.png, .pdf, .svg)")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    options = parser.parse_args()
    cells = list(itertools.product(SNRS_DB, FUNDAMENTALS_HZ, QUALITIES))
    cases = [(*cell, number) for cell in cells for number in range(options.trials)]
    # One thread a process; set before the processes load their linear algebra.
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    with multiprocessing.get_context("spawn").Pool(options.processes) as pool:
        errors = list(tqdm(pool.imap(trial, cases, chunksize=8), total=len(cases), unit="trial"))
    found = dict(zip(cases, errors, strict=True))
    steady = {case: None if error is None else error[0] for case, error in found.items()}
    gliding = {case: None if error is None else error[1] for case, error in found.items()}

    print("root mean square error over the bound of a sinusoid that does not glide (refused in per cent)")
    print(f"{'SNR':>6}{'f':>8}" + "".join(f"{f'Q {quality}':>16}" for quality in QUALITIES))
    for snr_db, fundamental_hz in itertools.product(SNRS_DB, FUNDAMENTALS_HZ):
        columns = [
            _column([steady[snr_db, fundamental_hz, quality, number] for number in range(options.trials)])
            for quality in QUALITIES
        ]
        print(f"{snr_db:>3} dB{fundamental_hz:>5.0f} Hz" + "".join(f"{column:>16}" for column in columns))
    print(f"{'all':>6}{'no glide':>16}{'unknown glide':>16}")
    for snr_db in SNRS_DB:
        columns = [
            _column([error for case, error in ratios.items() if case[0] == snr_db])
            for ratios in (steady, gliding)
        ]
        print(f"{snr_db:>3} dB" + "".join(f"{column:>16}" for column in columns))
    if options.picture is not None:
        curves = {
            f"Q {quality}": [
                (
                    snr_db,
                    *_summary([e for case, e in steady.items() if case[0] == snr_db and case[2] == quality]),
                )
                for snr_db in SNRS_DB
            ]
            for quality in QUALITIES
        }
        title = f"Damped sinusoids of 20 to 600 Hz in white noise: {len(cases)} readings"
        draw_bound(curves, _TARGET, title, options.picture)


def _summary(errors: list[float | None]) -> tuple[float, float]:
    """Root mean square error over the bound (NaN if all was refused), share refused in per cent."""
    answered = [error for error in errors if error is not None]
    ratio = math.sqrt(float(np.mean(np.square(answered)))) if answered else math.nan
    return ratio, 100 * (1 - len(answered) / len(errors))


def _column(errors: list[float | None]) -> str:
    ratio, refused = _summary(errors)
    return f"{'-' if math.isnan(ratio) else f'{ratio:.2f}'} ({refused:.0f})"


if __name__ == "__main__":
    main()
