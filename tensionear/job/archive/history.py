"""How the belt of one vehicle, or the belts of one setup, were found over time."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, select

from tensionear.belt.band import BandUnit
from tensionear.belt.comparison import ComparedQuantity
from tensionear.errors import InputError
from tensionear.job.archive.connection import OpenArchive
from tensionear.job.archive.setups import setup_id
from tensionear.job.archive.tables import JOBS, PASS_RESULTS
from tensionear.job.archive.words import joined
from tensionear.job.passes import PassKind
from tensionear.metrology.decision import Verdict


@dataclass(frozen=True)
class HistoryLine:
    """A pass that ended, and what it said by the setup that its job goes by now.

    Attributes
    ----------
    job_number : str
    is_demonstration : bool
        Of the job.
    pass_number : int
        In the job.
    kind : PassKind
    begun_at, ended_at : datetime
    n_readings, n_refused : int
        Of its plucks, without those that are struck out.
    fundamental_hz, fundamental_expanded_uncertainty_hz : float or None
        Of the mean. [Hz]
    tension_n, tension_expanded_uncertainty_n : float or None
        Static tension, corrected for stiffness if it is known. [N]
    compared_quantity : ComparedQuantity or None
        What is compared; None: nothing is specified for the pass.
    compared, compared_expanded_uncertainty : float or None
        Its value. [`unit`]
    lower, upper : float or None
        Limits. [`unit`]
    single_value : float or None
        Where a value without tolerance is stated. [`unit`]
    unit : BandUnit or None
    verdict : Verdict or None
    """

    job_number: str
    is_demonstration: bool
    pass_number: int
    kind: PassKind
    begun_at: datetime
    ended_at: datetime
    n_readings: int
    n_refused: int
    fundamental_hz: float | None
    fundamental_expanded_uncertainty_hz: float | None
    tension_n: float | None
    tension_expanded_uncertainty_n: float | None
    compared_quantity: ComparedQuantity | None
    compared: float | None
    compared_expanded_uncertainty: float | None
    lower: float | None
    upper: float | None
    single_value: float | None
    unit: BandUnit | None
    verdict: Verdict | None


class ArchiveHistory(OpenArchive):
    """What an archive knows over time."""

    def history(
        self, *, vehicle: str = "", registration: str = "", chassis_number: str = "", setup: str = ""
    ) -> list[HistoryLine]:
        """Every pass that ended, of all jobs that are not deleted and agree in all that is given, by time.

        Parameters
        ----------
        vehicle, registration, chassis_number : str
            Whole, but case, accents and separators do not count.
        setup : str
            Name of a setup, whatever its version.

        Raises
        ------
        InputError
            If nothing is given, or there is no such setup.
        ArchiveError
            If the database complains.
        """
        given = {"vehicle_key": vehicle, "registration_key": registration, "chassis_key": chassis_number}
        conditions = [JOBS.c[name] == joined(text) for name, text in given.items() if joined(text)]
        with self.reading() as connection:
            if setup.strip():
                conditions.append(JOBS.c.setup_id == setup_id(connection, setup))
            if not conditions:
                raise InputError(
                    "the history of what? Give a vehicle, a registration, a chassis number or a setup"
                )
            return [_line(row) for row in connection.execute(lines_chosen(conditions))]


def lines_chosen(conditions: list[ColumnElement[bool]]) -> Select[Any]:
    """Write in SQL which passes of which jobs are told."""
    return (
        select(
            JOBS.c.number.label("job_number"),
            JOBS.c.is_demonstration,
            *(each for each in PASS_RESULTS.c if each is not PASS_RESULTS.c.job_id),
        )
        .join(PASS_RESULTS, PASS_RESULTS.c.job_id == JOBS.c.id)
        .where(JOBS.c.deleted_at.is_(None), *conditions)
        .order_by(PASS_RESULTS.c.ended_at, JOBS.c.id, PASS_RESULTS.c.pass_number)
    )


_WORDS_FOR = {
    "kind": PassKind,
    "compared_quantity": ComparedQuantity,
    "unit": BandUnit,
    "verdict": Verdict,
}


def _line(row: Any) -> HistoryLine:
    found = row._asdict()
    for name, words in _WORDS_FOR.items():
        if found[name] is not None:
            found[name] = words(found[name])
    return HistoryLine(**found)
