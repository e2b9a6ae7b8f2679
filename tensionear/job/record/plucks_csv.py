"""A job's plucks as a table for a spreadsheet, a line a pluck, refused and struck out ones too.

A spreadsheet takes a file by the habits of the computer it runs on: where decimals are written with a comma, fields
are expected between semicolons. No one file is read rightly by both, so there are two, and the name says which is
which. Both begin with a byte order mark, by which a spreadsheet knows UTF-8.
"""

import csv
import io
import re
from datetime import UTC

from tensionear.job.log import PluckKept
from tensionear.job.pluck_document import ReadingDocument, RefusalDocument
from tensionear.job.record.record_document import RecordDocument

CSV_FILES = {"plucks.csv": False, "plucks-decimal-comma.csv": True}
"""The tables of a bundle, and whether decimals are written with a comma."""

_HEADINGS = (
    "pluck_number",
    "pass_number",
    "pass",
    "kept_at_utc",
    "revolutions",
    "outcome",
    "counts",
    "fundamental_hz",
    "fundamental_standard_uncertainty_hz",
    "tension_n",
    "tension_standard_uncertainty_n",
    "tension_expanded_uncertainty_n",
    "ring_time_s",
    "snr_db",
    "reason",
    "source",
    "sound_file",
)


_FORMULA = re.compile(r"""((?:^|[,;|\t\r\n"])\s*)(?=[=+@-])""")
"""Where a formula could begin."""


def plucks_csv(record: RecordDocument, *, decimal_comma: bool) -> bytes:
    """Write the table.

    Parameters
    ----------
    record : RecordDocument
        Of the job.
    decimal_comma : bool
        Whether for spreadsheets that write decimals with a comma.
    """
    found = {pluck.pluck_number: (each, pluck) for each in record.found.passes for pluck in each.plucks}
    text = io.StringIO()
    writer = csv.writer(text, delimiter=";" if decimal_comma else ",", lineterminator="\r\n")
    writer.writerow(_HEADINGS)
    for entry in record.log:
        fact = entry.fact
        if not isinstance(fact, PluckKept):
            continue
        each, pluck = found[fact.pluck_number]
        outcome, sound = fact.pluck.outcome, fact.pluck.sound
        tension = pluck.tension
        read = outcome if isinstance(outcome, ReadingDocument) else None
        reason = f"{outcome.reason}: {outcome.explanation}" if isinstance(outcome, RefusalDocument) else ""
        if pluck.struck_out:
            reason = f"struck out: {pluck.struck_out}"
        cells: tuple[str | float | None, ...] = (
            fact.pluck_number,
            each.pass_number,
            str(each.kind),
            f"{entry.at.astimezone(UTC):%Y-%m-%d %H:%M:%S}",
            pluck.revolutions,
            outcome.outcome,
            "yes" if pluck.counts else "no",
            None if read is None else read.fundamental_hz,
            None if read is None else read.fundamental_standard_uncertainty_hz,
            None if tension is None else tension.value,
            None if tension is None else tension.standard_uncertainty,
            None if tension is None else tension.expanded_uncertainty,
            None if read is None else read.ring_time_s,
            outcome.snr_db,
            reason,
            sound.source,
            record.sound_files[sound.flac_sha256],
        )
        writer.writerow([cell_text(cell, decimal_comma=decimal_comma) for cell in cells])
    return b"\xef\xbb\xbf" + text.getvalue().encode("utf-8")


def cell_text(cell: str | float | None, *, decimal_comma: bool) -> str:
    """Write one cell; a text that a spreadsheet would take for a formula gets an apostrophe before it.

    So does what would become a cell of its own if the table were opened with other separators than it has.

    Parameters
    ----------
    cell : str, float or None
        None leaves it empty.
    decimal_comma : bool
        Whether decimals are written with a comma.
    """
    if cell is None:
        return ""
    if isinstance(cell, str):
        return _FORMULA.sub(r"\1'", cell)
    number = f"{cell:.9g}"
    return number.replace(".", ",") if decimal_comma else number
