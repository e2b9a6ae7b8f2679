"""Readings beside those of general pitch detectors: ``python -m benchmarks.peers``, on all cores.

All hear the same simulated plucks (every scene, 30 to 5 dB) in one run. The detectors of
`benchmarks.detectors`, at their best settings, are told the onset; `PluckListener` is not: it hears the whole
sound and has to find the pluck, or may refuse it. Its worst reading near the pluck counts.

Prints for each: median, 90th and 95th percentile of the relative error of what was answered; of all plucks,
the share within 1 %, off by more than 5 %, and answered, all in per cent; milliseconds of one core a pluck
(for tensionear the whole sound of 2.5 to 4.5 s). Then the same for those plucks alone that tensionear
answered, so that nobody gains by refusing. ``pip install -e ".[bench]"`` brings the libraries, except torchcrepe and
its torch, which are large: without it that line is left out, as is any other that is missing.
"""

import argparse
import multiprocessing
import os
import time
from dataclasses import dataclass
from functools import cache

import numpy as np
from tqdm import tqdm

from benchmarks.accuracy import Draw, draw, read_pluck
from benchmarks.detectors import DETECTORS, RATE_HZ, Detector
from benchmarks.simulator import SCENES

SNRS_DB = (30, 20, 10, 5)
OURS = "tensionear"


@dataclass(frozen=True)
class Answer:
    """What one made of one pluck.

    Attributes
    ----------
    error : float
        Relative error; NaN where there is no answer.
    cost_s : float
        Time of one core. [s]
    """

    error: float
    cost_s: float


@cache
def detector(name: str) -> Detector | str:
    """Make a detector, once a process; text says why it cannot be made."""
    try:
        made = DETECTORS[name]()
        # The first call of some compiles or loads.
        made(np.random.default_rng(1).standard_normal(RATE_HZ))
    except (ImportError, OSError) as error:
        return str(error)
    return made


def missing(names: list[str]) -> dict[str, str]:
    """Detectors that cannot be made, and why."""
    made = {name: detector(name) for name in names}
    return {name: why for name, why in made.items() if isinstance(why, str)}


def hear(task: tuple[Draw, list[str]]) -> dict[str, Answer]:
    """Let everybody hear a pluck."""
    drawn, names = task
    pluck = draw(drawn)
    start_s = time.process_time()
    error = read_pluck(drawn, pluck).error
    answers = {OURS: Answer(error, time.process_time() - start_s)}
    ring = pluck.samples[round(pluck.onset_s * RATE_HZ) :].astype(np.float64)
    for name in names:
        detect = detector(name)
        assert not isinstance(detect, str)
        start_s = time.process_time()
        found_hz = detect(ring)
        cost_s = time.process_time() - start_s
        error = float("nan") if found_hz is None else found_hz / pluck.fundamental_hz - 1
        answers[name] = Answer(error, cost_s)
    return answers


def row(name: str, answers: list[Answer]) -> str:
    """One line of a table."""
    errors = 100 * np.abs([answer.error for answer in answers])
    answered = errors[np.isfinite(errors)]
    percentiles = np.percentile(answered, (50, 90, 95)) if len(answered) else np.full(3, np.nan)
    shares = [100 * np.mean(which) for which in (errors <= 1, errors > 5, np.isfinite(errors))]
    cost_ms = 1000 * np.mean([answer.cost_s for answer in answers])
    return (
        f"{name:<24}"
        + "".join(f"{value:>9.2f}" for value in percentiles)
        + "".join(f"{share:>10.1f}" for share in shares)
        + f"{cost_ms:>8.1f}"
    )


def report(results: list[dict[str, Answer]]) -> None:
    """Print the tables."""
    tables = {
        "all plucks": results,
        "those that tensionear answered": [heard for heard in results if np.isfinite(heard[OURS].error)],
    }
    for title, chosen in tables.items():
        heading = f"{'median':>9}{'90th':>9}{'95th':>9}{'within 1':>10}{'off 5':>10}{'answered':>10}{'ms':>8}"
        print(f"\n{title}: {len(chosen)}; errors and shares in per cent\n{'':<24}{heading}")
        for name in chosen[0] if chosen else ():
            print(row(name, [heard[name] for heard in chosen]))


def main() -> None:
    """Run the comparison."""
    parser = argparse.ArgumentParser(description="Readings beside those of general pitch detectors.")
    parser.add_argument("--a-cell", type=int, default=8, help="plucks for each scene and ratio")
    parser.add_argument("--held-out", action="store_true", help="the half that nothing is tuned to")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    options = parser.parse_args()
    plan = [
        Draw(scene, snr_db, number, options.held_out)
        for scene in SCENES
        for snr_db in SNRS_DB
        for number in range(options.a_cell)
    ]
    # One thread a process; set before the processes load their linear algebra.
    os.environ.update(OPENBLAS_NUM_THREADS="1", OMP_NUM_THREADS="1", NUMBA_NUM_THREADS="1")
    with multiprocessing.get_context("spawn").Pool(options.processes) as pool:
        left_out = pool.apply(missing, (list(DETECTORS),))
        for name, why in left_out.items():
            print(f"left out: {name}: {why}")
        tasks = [(drawn, [name for name in DETECTORS if name not in left_out]) for drawn in plan]
        results = list(tqdm(pool.imap(hear, tasks), total=len(tasks), unit="pluck"))
    report(results)


if __name__ == "__main__":
    main()
