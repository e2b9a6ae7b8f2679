"""How well plucks are read: ``python -m benchmarks.accuracy``, on all cores.

Draws seeded plucks over scenes and signal-to-noise ratios, lets `PluckListener` hear each whole sound without
being told where the pluck is, and prints, for each scene and ratio:

- answered: plucks with a reading, in per cent;
- median and 95th percentile of the relative error of those readings, in per cent;
- gross: readings off by more than 3 %, as a count;
- false: readings more than 0.4 s away from any pluck, as a count;
- covered: readings whose stated 95 % interval contains the truth, in per cent.

Where a pluck gives several readings (a double pluck has two onsets) the worst counts. ``--held-out`` draws
the half that nothing is tuned to; ``--picture FILE`` draws the errors. Every gross or false reading is listed
with what draws it again (`draw`).
"""

import argparse
import multiprocessing
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tqdm import tqdm

from benchmarks.pictures import draw_errors
from benchmarks.simulator import SCENES, SimulatedPluck, draw_pluck
from tensionear.pluck.listener import PluckListener
from tensionear.pluck.outcome import PluckReading

SNRS_DB = (30, 20, 10, 5, 0)
_GROSS = 0.03
_NEAR_S = 0.4
_COVERAGE_FACTOR = 1.96


@dataclass(frozen=True)
class Draw:
    """Which pluck: enough to simulate it again with `draw`."""

    scene: str
    snr_db: int
    number: int
    held_out: bool


@dataclass(frozen=True)
class Result:
    """What became of a pluck.

    Attributes
    ----------
    drawn : Draw
        Which pluck.
    true_hz : float
        [Hz]
    read_hz, standard_uncertainty_hz : float or None
        The worst reading near the pluck; None if there was none. [Hz]
    false_hz : tuple of float
        Readings far from any pluck. [Hz]
    reasons : tuple of str
        Why it was refused, where it was.
    """

    drawn: Draw
    true_hz: float
    read_hz: float | None
    standard_uncertainty_hz: float | None
    false_hz: tuple[float, ...]
    reasons: tuple[str, ...]

    @property
    def error(self) -> float:
        """Relative error of the reading; NaN without one."""
        return float("nan") if self.read_hz is None else self.read_hz / self.true_hz - 1

    @property
    def covered(self) -> bool:
        """Whether the stated 95 % interval contains the truth."""
        if self.read_hz is None or self.standard_uncertainty_hz is None:
            return False
        return abs(self.read_hz - self.true_hz) <= _COVERAGE_FACTOR * self.standard_uncertainty_hz


def draw(drawn: Draw) -> SimulatedPluck:
    """Simulate a pluck of the benchmark."""
    seed = (int(drawn.held_out), SCENES.index(drawn.scene), drawn.snr_db, drawn.number)
    return draw_pluck(np.random.default_rng(seed), drawn.scene, float(drawn.snr_db))


def read(drawn: Draw) -> Result:
    """Simulate a pluck, let the listener hear it, and compare."""
    return read_pluck(drawn, draw(drawn))


def read_pluck(drawn: Draw, pluck: SimulatedPluck) -> Result:
    """Let the listener hear a simulated pluck, and compare."""
    listener = PluckListener(pluck.sample_rate_hz)
    outcomes = [heard.outcome for heard in (*listener.hear(pluck.samples), *listener.finish())]
    onsets_s = [pluck.onset_s]
    if pluck.parameters.second_onset_s is not None:
        onsets_s.append(pluck.parameters.second_onset_s)
    near: list[PluckReading] = []
    false_hz: list[float] = []
    reasons: list[str] = []
    for outcome in outcomes:
        is_near = min(abs(outcome.at_s - onset_s) for onset_s in onsets_s) <= _NEAR_S
        if not isinstance(outcome, PluckReading):
            reasons += [outcome.reason.value] if is_near else []
        elif is_near:
            near.append(outcome)
        else:
            false_hz.append(outcome.fundamental_hz)
    worst = max(
        near, key=lambda reading: abs(reading.fundamental_hz / pluck.fundamental_hz - 1), default=None
    )
    return Result(
        drawn=drawn,
        true_hz=pluck.fundamental_hz,
        read_hz=None if worst is None else worst.fundamental_hz,
        standard_uncertainty_hz=None if worst is None else worst.fundamental_standard_uncertainty_hz,
        false_hz=tuple(false_hz),
        reasons=tuple(reasons) or ("not heard",),
    )


def row(name: str, results: Iterable[Result]) -> str:
    """One line of a table."""
    results = list(results)
    answered = [result for result in results if result.read_hz is not None]
    false = sum(len(result.false_hz) for result in results)
    if not answered:
        return f"{name:<28}{len(results):>6}{0:>10.1f}{'-':>9}{'-':>9}{'-':>7}{false:>7}{'-':>9}"
    errors = 100 * np.abs([result.error for result in answered])
    return (
        f"{name:<28}{len(results):>6}{100 * len(answered) / len(results):>10.1f}{np.median(errors):>9.3f}"
        f"{np.percentile(errors, 95):>9.3f}{int(np.sum(errors > 100 * _GROSS)):>7}{false:>7}"
        f"{100 * np.mean([result.covered for result in answered]):>9.1f}"
    )


def report(results: list[Result]) -> None:
    """Print the tables."""
    heading = (
        f"{'':<28}{'plucks':>6}{'answered':>10}{'median':>9}{'95th':>9}{'gross':>7}{'false':>7}{'covered':>9}"
    )
    scenes = [scene for scene in SCENES if any(result.drawn.scene == scene for result in results)]
    print(heading)
    for scene in scenes:
        for snr_db in SNRS_DB:
            cell = [r for r in results if r.drawn.scene == scene and r.drawn.snr_db == snr_db]
            if cell:
                print(row(f"{scene}, {snr_db} dB", cell))
    print(f"\n{heading}")
    for scene in scenes:
        print(
            row(
                f"{scene}, 5 dB and better",
                [r for r in results if r.drawn.scene == scene and r.drawn.snr_db >= 5],
            )
        )
    for snr_db in SNRS_DB:
        print(row(f"all scenes, {snr_db} dB", [r for r in results if r.drawn.snr_db == snr_db]))
    print(row("all scenes, 20 dB and better", [r for r in results if r.drawn.snr_db >= 20]))
    print(row("all scenes, 5 dB and better", [r for r in results if r.drawn.snr_db >= 5]))
    print("\ngross and false readings")
    for result in results:
        if abs(result.error) > _GROSS:
            print(f"  {result.drawn}: true {result.true_hz:.2f} Hz, read {result.read_hz:.2f} Hz")
        for hertz in result.false_hz:
            print(f"  {result.drawn}: true {result.true_hz:.2f} Hz, false reading {hertz:.2f} Hz")
    print("\nrefused, 5 dB and better")
    refused = [
        reason for r in results if r.read_hz is None and r.drawn.snr_db >= 5 for reason in set(r.reasons)
    ]
    for reason in sorted(set(refused), key=refused.count, reverse=True):
        print(f"  {refused.count(reason):>5}  {reason}")


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description="How well simulated plucks are read.")
    parser.add_argument("--a-cell", type=int, default=60, help="plucks for each scene and ratio")
    parser.add_argument("--scenes", nargs="+", choices=SCENES, default=SCENES)
    parser.add_argument("--held-out", action="store_true", help="the half that nothing is tuned to")
    parser.add_argument("--picture", type=Path, metavar="FILE", help="draw the errors (.png, .pdf, .svg)")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    options = parser.parse_args()
    plan = [
        Draw(scene, snr_db, number, options.held_out)
        for scene in options.scenes
        for snr_db in SNRS_DB
        for number in range(options.a_cell)
    ]
    # One thread a process; set before the processes load their linear algebra.
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    with multiprocessing.get_context("spawn").Pool(options.processes) as pool:
        results = list(tqdm(pool.imap(read, plan, chunksize=4), total=len(plan), unit="pluck"))
    report(results)
    if options.picture is not None:
        errors = {
            scene: {
                snr_db: [r.error for r in results if r.drawn.scene == scene and r.drawn.snr_db == snr_db]
                for snr_db in SNRS_DB
            }
            for scene in options.scenes
        }
        part = "held-out plucks" if options.held_out else "plucks"
        draw_errors(errors, _GROSS, f"{len(results)} simulated {part}, 30 to 0 dB", options.picture)


if __name__ == "__main__":
    main()
