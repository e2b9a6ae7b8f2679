"""The report of a re-analysis: gathered line by line, the same in whatever order the lines come."""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from tensionear.job.pluck_document import OutcomeDocument, ReadingDocument
from tensionear.job.reanalysis.change import Change, ReadTwice
from tensionear.job.reanalysis.lines import Begin, NotRead, PluckRead, ReadLine, RecordingRead
from tensionear.job.reanalysis.pairs import fundamental_of, paired

MOST_LISTED = 1_000
"""Differences that can be listed."""


@dataclass
class Tally:
    """How many plucks of one group are what now, and what became of those that were read before.

    Attributes
    ----------
    n_readings, n_refused : int
        As they are read now.
    changes : Counter of Change
        Of those that can be compared.
    """

    n_readings: int = 0
    n_refused: int = 0
    changes: Counter[Change] = field(default_factory=Counter)

    def add(self, other: "Tally") -> None:
        """Take in the plucks of another group."""
        self.n_readings += other.n_readings
        self.n_refused += other.n_refused
        self.changes += other.changes


@dataclass
class Report:
    """What a re-analysis found so far.

    Attributes
    ----------
    begin : Begin
        What is read, and with what.
    earlier : dict of str to RecordingRead or None
        Recordings of an earlier run, to compare with; None: there is none.
    done : set of str
        Items that were read.
    groups : dict of str to Tally
        By setup, or by folder.
    before_versions : Counter of int
        Estimator versions with which the plucks of an archive were read before.
    not_compared : set of str
        Recordings that are others than in the earlier run, or were not in it.
    not_read : dict of str to NotRead
        Items in trouble.
    changed : dict of str to dict of int to OutcomeDocument
        Of an archive: by job, the plucks that are not read the same, as they are read now.
    """

    begin: Begin
    earlier: dict[str, RecordingRead] | None = None
    done: set[str] = field(default_factory=set)
    groups: dict[str, Tally] = field(default_factory=dict)
    before_versions: Counter[int] = field(default_factory=Counter)
    not_compared: set[str] = field(default_factory=set)
    not_read: dict[str, NotRead] = field(default_factory=dict)
    changed: dict[str, dict[int, OutcomeDocument]] = field(default_factory=dict)
    _differing: list[ReadTwice] = field(default_factory=list)

    def add(self, line: ReadLine) -> None:
        """Take in a line; an item counts once, and one that was read at last is in no trouble any more."""
        if isinstance(line, NotRead):
            if line.item not in self.done:
                self.not_read[line.item] = line
            return
        if line.item in self.done:
            return
        self.done.add(line.item)
        self.not_read.pop(line.item, None)
        if isinstance(line, PluckRead):
            self.not_read.pop(line.item.split("/")[0], None)  # of the whole job
            self._add_pluck(line)
        else:
            self._add_recording(line)

    @property
    def total(self) -> Tally:
        """All groups together."""
        total = Tally()
        for tally in self.groups.values():
            total.add(tally)
        return total

    @property
    def n_gone(self) -> int:
        """Recordings of the earlier run that are not there any more."""
        return len(set(self.earlier or ()) - self.done - set(self.not_read))

    def largest(self, n: int) -> list[ReadTwice]:
        """The plucks that are read most otherwise, those that are newly read or refused first.

        Parameters
        ----------
        n : int
            So many at most, up to 1000.
        """
        return sorted(self._differing, key=_weight)[:n]

    def _add_pluck(self, line: PluckRead) -> None:
        self.before_versions[line.estimator_version] += 1
        self._count(line.setup, line.after)
        twice = ReadTwice(
            line.setup,
            f"job {line.job}, pluck {line.pluck_number}",
            fundamental_of(line.before),
            fundamental_of(line.after),
        )
        self._compare(twice)
        if twice.change not in (Change.SAME, Change.STILL_REFUSED):
            # What a pass says of the belt does not hang on them, and they take most of the room.
            bare = line.after.model_copy(update={"rivals": ()})
            if isinstance(bare, ReadingDocument):
                bare = bare.model_copy(update={"partials": ()})
            self.changed.setdefault(line.job, {})[line.pluck_number] = bare

    def _add_recording(self, line: RecordingRead) -> None:
        group = str(PurePosixPath(line.item).parent)
        self.groups.setdefault(group, Tally())
        for outcome in line.plucks:
            self._count(group, outcome)
        if self.earlier is None:
            return
        before = self.earlier.get(line.item)
        if before is None or before.sha256 != line.sha256:
            self.not_compared.add(line.item)
            return
        for one, other in paired(before.plucks, line.plucks):
            at_s = next(each.at_s for each in (one, other) if each is not None)
            name = f"{line.item} at {at_s:.2f} s"
            self._compare(ReadTwice(group, name, fundamental_of(one), fundamental_of(other)))

    def _count(self, group: str, outcome: OutcomeDocument) -> None:
        tally = self.groups.setdefault(group, Tally())
        if isinstance(outcome, ReadingDocument):
            tally.n_readings += 1
        else:
            tally.n_refused += 1

    def _compare(self, twice: ReadTwice) -> None:
        self.groups.setdefault(twice.group, Tally()).changes[twice.change] += 1
        if twice.change in (Change.SAME, Change.STILL_REFUSED):
            return
        self._differing.append(twice)
        if len(self._differing) > 2 * MOST_LISTED:
            self._differing = self.largest(MOST_LISTED)


def _weight(twice: ReadTwice) -> tuple[bool, float, str]:
    is_one_reading = twice.change in (Change.NEWLY_READ, Change.NEWLY_REFUSED)
    return not is_one_reading, -abs(twice.share), twice.name
