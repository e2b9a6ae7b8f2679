"""How readings are told while they come: what every form of report offers."""

from typing import Protocol

from tensionear.cli.report_json import JsonReport
from tensionear.cli.report_table import TableReport
from tensionear.reading import BeltReading, BeltTask, SetReading


class Report(Protocol):
    """Tells readings, one by one and as a set, on the standard output; each line goes out at once."""

    def begin(self) -> None:
        """Tell what the readings to come rest on."""

    def tell_pluck(self, reading: BeltReading) -> None:
        """Tell one pluck."""

    def tell_set(self, together: SetReading, n_unreadable: int = 0) -> None:
        """Tell the plucks together, and how many sources could not be read to their end."""


def report_for(task: BeltTask, as_json: bool) -> Report:
    """Lines for programs, or a table for people."""
    return JsonReport(task) if as_json else TableReport(task)
