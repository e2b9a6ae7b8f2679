"""A re-analysis from its begin to its end: read what is left, keep every line at once, gather the report."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, closing, contextmanager
from pathlib import Path

from tensionear import __version__
from tensionear.errors import InputError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.every_job import every_job
from tensionear.job.reanalysis.lines import Begin, NotRead, RecordingRead
from tensionear.job.reanalysis.reading import FoundRecording, KeptPluck, kept_plucks, read_item, recordings_in
from tensionear.job.reanalysis.report import Report
from tensionear.job.reanalysis.results_file import Append, read_results, results_to_go_on
from tensionear.job.reanalysis.workers import worked_through
from tensionear.pluck.estimator import ESTIMATOR_VERSION

Track = Callable[[int], AbstractContextManager[Callable[[int], object]]]
"""Is told how much there is to do, and gives a function that is told how much more is done."""


def reanalyse_archive(archive: Archive, results: Path | None, n_processes: int, track: Track) -> Report:
    """Read every kept pluck of an archive anew; nothing in it changes.

    Parameters
    ----------
    archive : Archive
        Jobs that are deleted are left out.
    results : Path or None
        Keeps what was read, so that a run that was stopped can go on; None: nothing does.
    n_processes : int
        1 or more.
    track : callable
        Follows the work, in plucks.

    Raises
    ------
    InputError
        If the file of results cannot be used, or a process dies.
    ArchiveError
        If the archive cannot be read at all; what of it is damaged is told in the report.
    """
    report = Report(_begin("archive", archive.archive_id))
    jobs = every_job(archive)
    with _kept_lines(report, results) as append:
        n_left = sum(each.n_plucks for each in jobs) - len(report.done)
        _read(report, kept_plucks(archive, jobs, report.done), append, n_processes, track, n_left, {})
    return report


def reanalyse_folder(
    folder: Path, earlier: Path | None, results: Path | None, n_processes: int, track: Track
) -> Report:
    """Read every recording of a folder, and compare with an earlier run.

    Parameters
    ----------
    folder : Path
        With the folders in it.
    earlier : Path or None
        The file of results of an earlier run over the same folder, by whatever version, wherever it was then; None:
        nothing is compared.
    results, n_processes, track
        As for `reanalyse_archive`; the work is followed in bytes.

    Raises
    ------
    InputError
        If there is no recording, a file of results cannot be used, or a process dies.
    """
    if earlier is not None and results is not None and earlier.resolve() == results.resolve():
        raise InputError(f"{earlier} cannot be compared with itself: give another file for the results")
    recordings = recordings_in(folder)
    report = Report(_begin("folder", str(folder.resolve())), None if earlier is None else _earlier(earlier))
    with _kept_lines(report, results) as append:
        left = [each for each in recordings if each.item not in report.done]
        weights = {each.item: each.n_bytes for each in left}
        _read(report, left, append, n_processes, track, sum(weights.values()), weights)
    return report


def _begin(of: str, source: str) -> Begin:
    return Begin.model_validate(
        {
            "of": of,
            "source": source,
            "software_version": __version__,
            "estimator_version": ESTIMATOR_VERSION,
        }
    )


def _earlier(path: Path) -> dict[str, RecordingRead]:
    begin, lines = read_results(path)
    if begin.of != "folder":
        raise InputError(f"{path} holds results of an archive, and a folder is read: is it the right file?")
    return {line.item: line for line in lines if isinstance(line, RecordingRead)}


@contextmanager
def _kept_lines(report: Report, results: Path | None) -> Iterator[Append]:
    """Take what was read before into the report, and give what keeps the next lines."""
    if results is None:
        yield lambda _: None
        return
    with results_to_go_on(results, report.begin) as (lines, append):
        for line in lines:
            report.add(line)
        yield append


def _read(
    report: Report,
    items: Iterable[KeptPluck | FoundRecording | NotRead],
    append: Append,
    n_processes: int,
    track: Track,
    n_steps: int,
    weights: dict[str, int],
) -> None:
    with track(n_steps) as advance, closing(worked_through(items, read_item, n_processes)) as lines:
        for line in lines:
            append(line)
            report.add(line)
            advance(weights.get(line.item, 1))
