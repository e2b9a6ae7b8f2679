"""How fast plucks are read anew: ``python -m benchmarks.reanalysis``.

An archive is made with an invented job that keeps simulated plucks (the quiet scene of `benchmarks.accuracy`), each
with the sound of some two seconds that a listener cuts. It is read anew with one process and with as many as there
are processors, from starting the processes to the report. Times are by the clock on the wall, which other work on the
machine makes longer; beside them the time that the processors gave to it. "Times real time" is the sound of the kept
clips over the time that reading them took.
"""

import argparse
import io
import os
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import soundfile

from benchmarks.accuracy import Draw, draw
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.opening import open_archive
from tensionear.job.details import JobDetails
from tensionear.job.hearing import kept
from tensionear.job.log import PassBegun
from tensionear.job.passes import PassKind
from tensionear.job.reanalysis.run import reanalyse_archive
from tensionear.job.reanalysis.workers import n_processors
from tensionear.job.setup import Setup
from tensionear.pluck.listener import HeardPluck, PluckListener

RATE_HZ = 48_000
JOB = "invented 1"


def heard(n_plucks: int) -> Iterator[HeardPluck]:
    """Simulated plucks, as the listener cuts them."""
    for number in range(n_plucks):
        listener = PluckListener(RATE_HZ)
        sound = draw(Draw("quiet", (30, 20, 10)[number % 3], number, held_out=False)).samples
        yield from (*listener.hear(sound), *listener.finish())


def fill(archive: Archive, n_plucks: int) -> tuple[int, float]:
    """Keep plucks; give how many, and how long their sound is. [1, s]"""
    setup = Setup(name="invented")
    archive.add_setup(setup)
    archive.open_job(setup.name, JobDetails(), number=JOB, is_demonstration=True)
    archive.write_down(JOB, lambda _: PassBegun(pass_number=1, pass_kind=PassKind.RE_CHECK))
    n_kept, length_s = 0, 0.0
    for each in heard(n_plucks):
        document, flac = kept(each, "simulated", 1, is_recording=True)
        if archive.keep_pluck(JOB, document, flac) is not None:
            n_kept += 1
            length_s += soundfile.info(io.BytesIO(flac)).duration
    return n_kept, length_s


@contextmanager
def untracked(_: int) -> Iterator[Callable[[int], object]]:
    """Follow nothing."""
    yield lambda _: None


def main() -> None:
    """Run the measurement."""
    parser = argparse.ArgumentParser(description="How fast plucks are read anew.")
    parser.add_argument("--plucks", type=int, default=200, help="simulated plucks in the archive")
    options = parser.parse_args()
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    with (
        tempfile.TemporaryDirectory() as folder,
        open_archive(str(Path(folder) / "archive.sqlite")) as archive,
    ):
        n_kept, length_s = fill(archive, options.plucks)
        print(f"{n_kept} plucks, {length_s:.0f} s of sound; load of the machine {os.getloadavg()[0]:.1f}")
        for n_processes in sorted({1, n_processors()}):
            start_s, start_cpu_s = time.perf_counter(), sum(os.times()[:4])
            report = reanalyse_archive(archive, Path(folder) / f"{n_processes}.jsonl", n_processes, untracked)
            took_s, took_cpu_s = time.perf_counter() - start_s, sum(os.times()[:4]) - start_cpu_s
            many = "1 process" if n_processes == 1 else f"{n_processes} processes"
            print(
                f"{many}: {n_kept / took_s:.1f} plucks a second, {length_s / took_s:.0f} times real time;"
                f" {took_s:.1f} s, {1000 * took_cpu_s / n_kept:.0f} ms of processor a pluck"
            )
            assert len(report.done) == n_kept


if __name__ == "__main__":
    main()
