"""The list of setups as a table for a spreadsheet, a line a setup; all of a setup is in its JSON file only."""

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from tensionear.belt.comparison import SingleValue
from tensionear.job.archive.setups import KeptSetup
from tensionear.job.passes import PassKind
from tensionear.job.record.plucks_csv import cell_text
from tensionear.job.setup import Setup
from tensionear.job.whole_file import write_whole_file

_JUDGED = {
    "over_tension": PassKind.OVER_TENSION,
    "final_setting": PassKind.FINAL_SETTING,
    "re_check": PassKind.RE_CHECK,
}
_OF_A_PASS = ("quantity", "lower", "upper", "single_value", "unit")

_HEADINGS = (
    "setup_name", "setup_version", "made_at", "by", "engine", "belt", "span_name",
    "span_length_m", "linear_density_kg_per_m", "bending_stiffness_n_m2", "span_model",
    *(f"{name}_{each}" for name in _JUDGED for each in _OF_A_PASS),
    "source", "revolutions", "direction", "plucks_per_pass", "n_checklist_lines", "notes",
)  # fmt: skip


def write_setup_list(
    path: Path, setups: Sequence[KeptSetup], *, decimal_comma: bool = False, overwrite: bool = False
) -> None:
    """Write the table; a text that a spreadsheet would take for a formula gets an apostrophe before it.

    Parameters
    ----------
    path : Path
        The file.
    setups : sequence of KeptSetup
        A line each.
    decimal_comma : bool
        Whether for spreadsheets that write decimals with a comma.
    overwrite : bool
        Whether a file that is there already may be replaced.

    Raises
    ------
    InputError
        If there is such a file already and it may not be replaced, or it cannot be written.
    """
    text = io.StringIO()
    writer = csv.writer(text, delimiter=";" if decimal_comma else ",", lineterminator="\r\n")
    writer.writerow(_HEADINGS)
    for kept in setups:
        writer.writerow([cell_text(cell, decimal_comma=decimal_comma) for cell in _cells(kept)])
    write_whole_file(path, [b"\xef\xbb\xbf", text.getvalue().encode("utf-8")], overwrite=overwrite)


def _cells(kept: KeptSetup) -> list[str | float | None]:
    setup = kept.setup
    specification, run_in = setup.specification, setup.run_in
    cells: list[str | float | None] = [
        kept.name, kept.version, kept.made_at.isoformat(timespec="seconds"), kept.by,
        setup.engine, setup.belt, setup.span_name, *_span_cells(setup),
    ]  # fmt: skip
    for kind in _JUDGED.values():
        cells += _judged_cells(setup, kind)
    return [
        *cells,
        "" if specification is None else specification.source,
        None if run_in is None else run_in.revolutions,
        None if run_in is None else str(run_in.direction),
        setup.plucks_per_pass, len(setup.checklist), setup.notes,
    ]  # fmt: skip


def _span_cells(setup: Setup) -> list[str | float | None]:
    if setup.span is None:
        return [None, None, None, None]
    known = setup.span.known_span()
    stiffness = known.stiffness
    return [
        known.span.span_length_m,
        known.span.linear_density_kg_per_m,
        None if stiffness is None else stiffness.bending_stiffness_n_m2,
        str(known.model),
    ]


def _judged_cells(setup: Setup, kind: PassKind) -> list[str | float | None]:
    comparison = setup.task_for(kind).comparison
    if comparison is None:
        return [None] * len(_OF_A_PASS)
    limits = comparison.limits
    if isinstance(limits, SingleValue):
        return [str(comparison.quantity), None, None, limits.value, str(limits.unit)]
    return [str(comparison.quantity), limits.lower, limits.upper, None, str(limits.unit)]
