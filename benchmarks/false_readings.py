"""How often something is read where nobody plucks: ``python -m benchmarks.false_readings``, on all cores.

Lets `PluckListener` hear minutes of hum, pink noise, clanks, speech, music, machines, and all of them
together (`benchmarks.hall`), and prints readings and refusals an hour, then every false reading with the
piece of sound that holds it. ``--scenes speech --pieces 17 --keep FOLDER`` makes that piece again and keeps
it as a recording. Needs espeak-ng and fluidsynth with FluidR3_GM.sf2.
"""

import argparse
import collections
import math
import multiprocessing
import os
from dataclasses import dataclass
from pathlib import Path

import soundfile
from tqdm import tqdm

from benchmarks.hall import SCENES, Piece, sound_of
from benchmarks.hall.scenes import PIECE_S, SAMPLE_RATE_HZ
from tensionear.pluck.listener import PluckListener
from tensionear.pluck.outcome import PluckReading, PluckRefusal


@dataclass(frozen=True)
class Heard:
    """What was read and refused in a piece of sound."""

    piece: Piece
    readings: tuple[PluckReading, ...]
    refusals: tuple[PluckRefusal, ...]


def hear(task: tuple[Piece, Path | None]) -> Heard:
    """Make a piece of sound and let the listener hear it."""
    piece, folder = task
    sound = sound_of(piece)
    if folder is not None:
        name = f"{piece.scene}-{piece.number}{'-held-out' if piece.held_out else ''}.flac"
        soundfile.write(folder / name.replace(" ", "-"), sound, SAMPLE_RATE_HZ, subtype="PCM_16")
    listener = PluckListener(SAMPLE_RATE_HZ)
    outcomes = [heard.outcome for heard in (*listener.hear(sound), *listener.finish())]
    return Heard(
        piece,
        tuple(outcome for outcome in outcomes if isinstance(outcome, PluckReading)),
        tuple(outcome for outcome in outcomes if isinstance(outcome, PluckRefusal)),
    )


def report(results: list[Heard]) -> None:
    """Print the tables."""
    print(f"{'':<16}{'minutes':>9}{'readings':>10}{'an hour':>9}{'refusals an hour':>18}   reasons")
    for scene in SCENES:
        of_scene = [heard for heard in results if heard.piece.scene == scene]
        if not of_scene:
            continue
        hours = len(of_scene) * PIECE_S / 3600
        n_readings = sum(len(heard.readings) for heard in of_scene)
        reasons = collections.Counter(
            refusal.reason.value for heard in of_scene for refusal in heard.refusals
        )
        named = ", ".join(f"{count} {reason}" for reason, count in reasons.most_common())
        print(
            f"{scene:<16}{60 * hours:>9.0f}{n_readings:>10}{n_readings / hours:>9.1f}"
            f"{reasons.total() / hours:>18.0f}   {named}"
        )
    print("\nfalse readings")
    for heard in results:
        for reading in heard.readings:
            print(
                f"  {heard.piece}: at {reading.at_s:.2f} s, {reading.fundamental_hz:.2f} Hz "
                f"± {reading.fundamental_standard_uncertainty_hz:.2f} Hz, support {reading.support:.3f}, "
                f"ring time {reading.ring_time_s:.3f} s, {len(reading.partials)} partials, "
                f"{reading.snr_db:.0f} dB"
            )


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description="How often something is read where nobody plucks.")
    parser.add_argument("--minutes", type=float, default=30, help="sound of each scene")
    parser.add_argument("--scenes", nargs="+", choices=SCENES, default=SCENES)
    parser.add_argument("--pieces", nargs="+", type=int, help="numbers of the pieces, instead of --minutes")
    parser.add_argument("--held-out", action="store_true", help="the half that nothing is tuned to")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="write the sounds there")
    parser.add_argument("--processes", type=int, default=os.cpu_count())
    options = parser.parse_args()
    if options.keep is not None:
        options.keep.mkdir(parents=True, exist_ok=True)
    numbers = options.pieces or range(math.ceil(60 * options.minutes / PIECE_S))
    plan = [
        (Piece(scene, number, options.held_out), options.keep)
        for scene in options.scenes
        for number in numbers
    ]
    # One thread a process; set before the processes load their linear algebra.
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    with multiprocessing.get_context("spawn").Pool(options.processes) as pool:
        results = list(tqdm(pool.imap(hear, plan), total=len(plan), unit="min"))
    report(results)


if __name__ == "__main__":
    main()
