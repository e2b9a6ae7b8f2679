"""What listening and reading cost: ``python -m benchmarks.speed``.

One after the other, each in a process of its own with one thread:

- idle: share of one core that listening takes while nothing is plucked, in the blocks of a microphone;
- readings and refusals: processor time of reading one clip, over simulated plucks of every scene, and over
  speech and music, where nearly all is refused;
- recordings: how many times faster than real time a file is read, on one core, with many plucks and few;
- memory: what the process holds (resident set) in the course of a day of listening with a pluck a minute,
  fed as fast as it goes.

Times are of the processor (`time.process_time`), so other work on the machine disturbs them little.
"""

import argparse
import multiprocessing
import os
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from tqdm import tqdm

from benchmarks.accuracy import Draw, draw
from benchmarks.hall import Piece, sound_of
from benchmarks.simulator import SCENES, noise
from tensionear.pluck.estimator import read_clip
from tensionear.pluck.listener import PluckListener
from tensionear.pluck.outcome import PluckClip, PluckReading
from tensionear.reading import read_recording
from tensionear.task import BeltTask

RATE_HZ = 48000
BLOCK = 1024
Samples = NDArray[np.float32]


def sound_with_plucks(length_s: float, every_s: float | None) -> Samples:
    """Steady pink noise, with quiet-scene plucks 25 dB or so above it."""
    rng = np.random.default_rng(1)
    n = round(length_s * RATE_HZ)
    sound = noise.coloured(rng, n, RATE_HZ, 1.0)
    sound *= 0.01 / np.std(sound)
    if every_s is not None:
        for number in range(int(length_s / every_s)):
            pluck = draw(Draw("quiet", 30, number % 20, held_out=False))
            ring = pluck.samples[round(pluck.onset_s * RATE_HZ) - 100 :].astype(np.float64)
            noise.add(sound, round((number + 0.5) * every_s * RATE_HZ), 0.5 * ring / np.max(np.abs(ring)))
    return sound.astype(np.float32)


def blocks(sound: Samples) -> Iterator[Samples]:
    """Cut a sound into the blocks of a microphone."""
    for start in range(0, len(sound), BLOCK):
        yield sound[start : start + BLOCK]


def idle(seconds: float) -> None:
    """Print what listening to noise costs."""
    sound = sound_with_plucks(seconds, None)
    listener = PluckListener(RATE_HZ)
    start_s = time.process_time()
    n_heard = sum(len(listener.hear(block)) for block in blocks(sound))
    share = (time.process_time() - start_s) / seconds
    print(f"idle: {100 * share:.2f} % of a core over {seconds:.0f} s of pink noise, {n_heard} plucks heard")


def reading(n_plucks: int) -> None:
    """Print what a reading and a refusal cost."""
    drawn = [
        Draw(SCENES[k % len(SCENES)], (30, 20, 10, 5)[k // len(SCENES) % 4], k, False)
        for k in range(n_plucks)
    ]
    sounds: dict[str, Callable[[], Iterator[Samples]]] = {
        "simulated plucks": lambda: (draw(one).samples for one in drawn),
        "speech": lambda: iter([sound_of(Piece("speech", 0, held_out=False))]),
        "music": lambda: iter([sound_of(Piece("music", 0, held_out=False))]),
    }
    for name, made in sounds.items():
        costs_ms: dict[bool, list[float]] = {True: [], False: []}
        for sound in made():
            listener = PluckListener(RATE_HZ)
            for heard in (*listener.hear(sound), *listener.finish()):
                costs_ms[isinstance(heard.outcome, PluckReading)].append(_cost_ms(heard.clip))
        for is_reading, costs in costs_ms.items():
            if costs:
                print(
                    f"a {'reading' if is_reading else 'refusal'} ({name}): median {np.median(costs):.0f} ms, "
                    f"95th percentile {np.percentile(costs, 95):.0f} ms, most {max(costs):.0f} ms, n {len(costs)}"
                )


def _cost_ms(clip: PluckClip) -> float:
    start_s = time.process_time()
    read_clip(clip)
    return 1000 * (time.process_time() - start_s)


def recordings(seconds: float) -> None:
    """Print how fast recordings are read."""
    with tempfile.TemporaryDirectory() as folder:
        for every_s in (5.0, 60.0):
            for ending in ("wav", "flac"):
                path = Path(folder) / f"plucks.{ending}"
                soundfile.write(path, sound_with_plucks(seconds, every_s), RATE_HZ, subtype="PCM_16")
                start_s = time.process_time()
                plucks = [reading.pluck.outcome for reading in read_recording(path, BeltTask())]
                cost_s = time.process_time() - start_s
                n_read = sum(isinstance(outcome, PluckReading) for outcome in plucks)
                print(
                    f"a recording of {seconds:.0f} s ({ending}, a pluck every {every_s:.0f} s): "
                    f"{seconds / cost_s:.0f} times real time, {n_read} readings, {len(plucks) - n_read} refusals"
                )


def memory(hours: float) -> None:
    """Print what is held in the course of a long listening."""
    minutes = 10
    sound = sound_with_plucks(60.0 * minutes, 60.0)
    listener = PluckListener(RATE_HZ)
    n_rounds = max(2, round(60 * hours / minutes))
    print(f"{'hours':>6}{'resident MiB':>14}{'heard':>7}")
    n_heard = 0
    for number in tqdm(range(n_rounds), unit_scale=minutes, unit="min", leave=False):
        n_heard += sum(len(listener.hear(block)) for block in blocks(sound))
        # The first round is warming up.
        if number % 6 == 0 or number == n_rounds - 1:
            elapsed_h = (number + 1) * minutes / 60
            tqdm.write(f"{elapsed_h:>6.1f}{_resident_mib():>14}{n_heard:>7}")


def _resident_mib() -> str:
    try:
        pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    except OSError:
        return "unknown"  # not Linux
    return f"{pages * os.sysconf('SC_PAGE_SIZE') / 2**20:.1f}"


def main() -> None:
    """Run the measurements."""
    parser = argparse.ArgumentParser(description="What listening and reading cost.")
    parser.add_argument("--seconds", type=float, default=600, help="sound for idle and for each recording")
    parser.add_argument("--plucks", type=int, default=160, help="simulated plucks to be read")
    parser.add_argument("--hours", type=float, default=8, help="listening for the memory")
    options = parser.parse_args()
    # One thread; set before the processes load their linear algebra.
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    with multiprocessing.get_context("spawn").Pool(1, maxtasksperchild=1) as pool:
        pool.apply(idle, (options.seconds,))
        pool.apply(reading, (options.plucks,))
        pool.apply(recordings, (options.seconds,))
        pool.apply(memory, (options.hours,))


if __name__ == "__main__":
    main()
