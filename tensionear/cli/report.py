"""How readings are told while they come: what every form of report offers."""

from typing import Protocol

from tensionear.cli.reading_options import HowTold
from tensionear.cli.report_json import JsonReport
from tensionear.cli.report_table import TableReport
from tensionear.reading import BeltReading, SetReading
from tensionear.task import BeltTask


class Report(Protocol):
    """Tells readings, one by one and as a set, on the standard output; each line goes out at once."""

    def begin(self) -> None:
        """Tell what the readings to come rest on."""

    def tell_pluck(self, reading: BeltReading, number: int | None = None) -> None:
        """Tell one pluck; without a number it gets the next."""

    def tell_set(self, together: SetReading, n_unreadable: int = 0) -> None:
        """Tell the plucks together, and how many sources could not be read to their end."""


def report_for(task: BeltTask, as_json: bool, how: HowTold | None = None) -> Report:
    """Lines for programs, or a table for people.

    Parameters
    ----------
    task : BeltTask
        What is found out.
    as_json : bool
        Lines for programs.
    how : HowTold or None
        Units, and what is told beside the readings; None: as usual.
    """
    how = how or HowTold()
    return JsonReport(task, how) if as_json else TableReport(task, how)
