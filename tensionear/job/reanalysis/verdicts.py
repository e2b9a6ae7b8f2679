"""What another reading of its plucks would do to the verdict of a pass; the pass itself stays as it is."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from tensionear.job.archive.archive import Archive
from tensionear.job.passes import PassKind
from tensionear.job.pluck_document import OutcomeDocument
from tensionear.job.results import PassResult, pass_result
from tensionear.job.state import JobPass
from tensionear.metrology.decision import Decision


@dataclass(frozen=True)
class PassReadTwice:
    """A pass in which a pluck is read otherwise than before.

    Attributes
    ----------
    job : str
        Its number.
    job_pass : JobPass
        As it was kept.
    before, after : PassResult
        What it says by the readings that were kept, and by those of now.
    """

    job: str
    job_pass: JobPass
    before: PassResult
    after: PassResult

    @property
    def decisions(self) -> tuple[Decision | None, Decision | None]:
        """Before and after; None: no mean, or nothing is compared."""
        return self.before.together.decision, self.after.together.decision

    @property
    def is_decided_otherwise(self) -> bool:
        """Whether the verdict, or the side of it, would be another."""
        before, after = self.decisions
        return (before and (before.verdict, before.side)) != (after and (after.verdict, after.side))


def passes_read_twice(
    archive: Archive, changed: Mapping[str, Mapping[int, OutcomeDocument]]
) -> Iterator[PassReadTwice]:
    """Judge anew the passes in which a pluck that counts is read otherwise, by the setup that their job goes by.

    The run-in has no verdict and is left out.

    Parameters
    ----------
    archive : Archive
        It is only read.
    changed : mapping of str to mapping of int to OutcomeDocument
        By the job's number and the pluck's number in it: what the pluck is read as now.

    Raises
    ------
    InputError, ArchiveError
        If a job cannot be read any more.
    """
    for number in sorted(changed):
        job, others = archive.job(number), changed[number]
        for each in job.state.passes:
            if each.kind is PassKind.RUN_IN or not any(
                pluck.number in others and not pluck.struck_out for pluck in each.plucks
            ):
                continue
            yield PassReadTwice(
                number, each, pass_result(each, job.setup), pass_result(_read_as(each, others), job.setup)
            )


def _read_as(each: JobPass, others: Mapping[int, OutcomeDocument]) -> JobPass:
    """The pass with other outcomes of some of its plucks."""
    return replace(
        each,
        plucks=tuple(
            replace(pluck, pluck=pluck.pluck.model_copy(update={"outcome": others[pluck.number]}))
            if pluck.number in others
            else pluck
            for pluck in each.plucks
        ),
    )
