"""Train the score that tells plucked spans from everything else: ``python -m benchmarks.likeness``, on all cores.

Simulated plucks that are read within 3 % are examples of a span; plucks that are not, and whatever the trigger cuts
out of speech, music, clanks and machines, are examples of something else. Prints the weights that belong into
`tensionear.pluck.likeness`, and how many plucks are kept when so and so many others pass; there, each of five parts
of the sounds is judged by weights trained on the other four.

Plucks and sounds come from the tuning half, so that the held-out half has no part in the weights.
"""

import argparse
import multiprocessing
import os

import numpy as np
from numpy.typing import NDArray
from tqdm import tqdm

from benchmarks.accuracy import Draw, draw
from benchmarks.hall import Piece, sound_of
from benchmarks.hall.scenes import SAMPLE_RATE_HZ
from benchmarks.simulator import SCENES
from tensionear.pluck.analysis import analyse_clip
from tensionear.pluck.likeness import Measure, measured
from tensionear.pluck.listener import PluckListener
from tensionear.pluck.measures import quality

HALL_SCENES = ("speech", "music", "clanks", "machines", "all together")
SNRS_DB = (30, 20, 10, 5)
_GROSS, _NEAR_S = 0.03, 0.08
_LEAST_QUALITY, _MOST_QUALITY, _MOST_UNCERTAINTY = 4.0, 80.0, 0.03
_WRONG_WEIGHT = 3.0
_RIDGE = 1.0
_N_PARTS = 5
_FIRST_NUMBER = 1000

Example = tuple[int, float, list[float]]
"""Number of its sound; 1 for a span, 0 for another sound, -1 for a pluck that was read wrong; its measures."""


def examples(task: tuple[int, Draw | Piece]) -> list[Example]:
    """Everything that the trigger cuts out of one sound, if its Q is one of rubber."""
    number, source = task
    pluck = None
    if isinstance(source, Draw):
        pluck = draw(source)
        sound, rate_hz = pluck.samples, pluck.sample_rate_hz
    else:
        sound, rate_hz = sound_of(source), float(SAMPLE_RATE_HZ)
    listener = PluckListener(rate_hz)
    found: list[Example] = []
    for heard in (*listener.hear(sound), *listener.finish()):
        analysis = analyse_clip(heard.clip)
        fitted = analysis.fitted
        if fitted is None or not _LEAST_QUALITY <= quality(fitted) <= _MOST_QUALITY:
            continue
        posterior = fitted.posterior
        if posterior.standard_uncertainty_hz > _MOST_UNCERTAINTY * posterior.fundamental_hz:
            continue
        kind = 0.0
        if pluck is not None:
            second_s = pluck.parameters.second_onset_s
            onsets_s = [pluck.onset_s] if second_s is None else [pluck.onset_s, second_s]
            if min(abs(heard.clip.at_s - onset_s) for onset_s in onsets_s) > _NEAR_S:
                continue
            error = posterior.fundamental_hz / pluck.fundamental_hz - 1
            kind = 1.0 if abs(error) < _GROSS else -1.0
        found.append((number, kind, [measured(analysis, fitted)[measure] for measure in Measure]))
    return found


def trained(
    measures: NDArray[np.float64], is_span: NDArray[np.bool_], weight: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Offset and weights of a ridge logistic regression, by Newton's method; shape (n_measures + 1,)."""
    mean, spread = measures.mean(axis=0), measures.std(axis=0) + 1e-9
    columns = np.column_stack([np.ones(len(measures)), (measures - mean) / spread])
    coefficients = np.zeros(columns.shape[1])
    for _ in range(40):
        odds = 1 / (1 + np.exp(-np.clip(columns @ coefficients, -30, 30)))
        curvature = (columns.T * (weight * odds * (1 - odds))) @ columns + _RIDGE * np.eye(len(coefficients))
        gradient = columns.T @ (weight * (is_span - odds)) - _RIDGE * coefficients
        coefficients += np.linalg.solve(curvature, gradient)
    a_unit = coefficients[1:] / spread
    return np.concatenate([[coefficients[0] - a_unit @ mean], a_unit])


def main() -> None:
    """Train and report."""
    parser = argparse.ArgumentParser(description="Train the score that tells spans from everything else.")
    parser.add_argument("--a-cell", type=int, default=16, help="plucks for each scene and ratio")
    parser.add_argument("--minutes", type=int, default=10, help="sound of each scene of the hall")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    options = parser.parse_args()
    plan: list[Draw | Piece] = [
        Draw(scene, snr_db, _FIRST_NUMBER + number, held_out=False)
        for scene in SCENES
        for snr_db in SNRS_DB
        for number in range(options.a_cell)
    ]
    plan += [
        Piece(scene, _FIRST_NUMBER + number, held_out=False)
        for number in range(options.minutes)
        for scene in HALL_SCENES
    ]
    # One thread a process; set before the processes load their linear algebra.
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    with multiprocessing.get_context("spawn").Pool(options.processes) as pool:
        heard = list(
            tqdm(pool.imap_unordered(examples, list(enumerate(plan))), total=len(plan), unit="sound")
        )
    # In the order of the plan: the last digits must not depend on which process was the quicker.
    found = sorted((example for several in heard for example in several), key=lambda example: example[0])
    sound, kind = (np.asarray([example[i] for example in found]) for i in (0, 1))
    measures = np.asarray([example[2] for example in found])
    is_span = kind == 1
    weight = np.where(kind < 0, _WRONG_WEIGHT, 1.0)
    offset, *weights = trained(measures, is_span, weight)
    usual = np.mean(measures[is_span], axis=0)
    print(f"{np.sum(is_span)} plucks, {np.sum(kind < 0)} read wrong, {np.sum(kind == 0)} other sounds")
    print(f"OFFSET = {offset:.2f}")
    for measure, a_unit, value in zip(Measure, weights, usual, strict=True):
        print(f"    Measure.{measure.name}: Weight({a_unit:.3f}, {value:.2f}),")
    score = np.empty(len(found))
    for part in range(_N_PARTS):
        judged = sound % _N_PARTS == part
        by = trained(measures[~judged], is_span[~judged], weight[~judged])
        score[judged] = by[0] + measures[judged] @ by[1:]
    others = np.sort(score[kind == 0])[::-1]
    print(f"{'others that pass':>18}{'least score':>13}{'plucks kept':>13}{'wrong kept':>12}")
    for n_passing in (0, 1, 2, 5, 10, 20):
        least = others[n_passing]
        kept, wrong = np.mean(score[is_span] > least), np.sum(score[kind < 0] > least)
        print(f"{n_passing:>18}{least:>13.2f}{100 * kept:>11.1f} %{wrong:>12}")


if __name__ == "__main__":
    main()
