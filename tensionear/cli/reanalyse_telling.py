"""How a re-analysis is told: to people in tables, to programs in JSON."""

from collections.abc import Sequence

import click

from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled, row
from tensionear.figures import with_uncertainty
from tensionear.job.reanalysis.change import Change, ReadTwice
from tensionear.job.reanalysis.report import Report, Tally
from tensionear.job.reanalysis.verdicts import PassReadTwice
from tensionear.metrology.decision import Decision
from tensionear.metrology.uncertainty import Measured
from tensionear.words import verdict_words

_NOTHING = "–"


def write_report(report: Report, read_otherwise: Sequence[PassReadTwice], n_largest: int) -> None:
    """Write a report as lines of kinds "reanalysis_group", "reanalysis_difference", "reanalysis_pass", "reanalysis".

    Parameters
    ----------
    report : Report
        Complete.
    read_otherwise : sequence of PassReadTwice
        Passes of an archive in which a pluck is read otherwise.
    n_largest : int
        How many of the largest differences are told.
    """
    for name, tally in sorted(report.groups.items()):
        write_line("reanalysis_group", group=readable(name), **_counts(tally))
    for each in report.largest(n_largest):
        write_line(
            "reanalysis_difference",
            group=readable(each.group),
            name=readable(each.name),
            change=each.change,
            before_hz=None if each.before is None else each.before.value,
            before_expanded_uncertainty_hz=_expanded(each.before),
            after_hz=None if each.after is None else each.after.value,
            after_expanded_uncertainty_hz=_expanded(each.after),
        )
    for one in read_otherwise:
        before, after = one.decisions
        write_line(
            "reanalysis_pass",
            job=readable(one.job),
            pass_number=one.job_pass.number,
            pass_kind=one.job_pass.kind,
            is_decided_otherwise=one.is_decided_otherwise,
            before_verdict=None if before is None else before.verdict,
            after_verdict=None if after is None else after.verdict,
            before_tension_n=_value(one.before.tension),
            after_tension_n=_value(one.after.tension),
        )
    write_line(
        "reanalysis",
        of=report.begin.of,
        archive_or_folder=readable(report.begin.source),
        estimator_version=report.begin.estimator_version,
        before_versions={str(number): n for number, n in sorted(report.before_versions.items())},
        n_items=len(report.done),
        n_not_read=len(report.not_read),
        n_not_compared=len(report.not_compared),
        n_gone=report.n_gone,
        n_decided_otherwise=sum(each.is_decided_otherwise for each in read_otherwise),
        **_counts(report.total),
    )


def tell_report(report: Report, read_otherwise: Sequence[PassReadTwice], n_largest: int) -> None:
    """Tell a report; the arguments are those of `write_report`."""
    begin, total = report.begin, report.total
    is_archive = begin.of == "archive"
    n_items = len(report.done)
    what = f"{n_items} kept plucks" if is_archive else f"{n_items} recordings in {begin.source}"
    click.echo(
        filled(f"Read anew by estimator version {begin.estimator_version}: {what}.{_versions(report)}")
    )
    click.echo()
    _tell_groups(report, "setup" if is_archive else "folder")
    differing = report.largest(n_largest)
    if differing:
        click.echo()
        click.echo("The largest differences:")
        for each in differing:
            click.echo(row([f"  {each.name}", f"{_figure(each.before)} → {_figure(each.after)}", _by(each)]))
    if is_archive:
        click.echo()
        _tell_passes(read_otherwise)
    for said in _notes(report, total):
        click.echo(filled(said))


def _tell_groups(report: Report, called: str) -> None:
    groups = sorted(report.groups.items())
    wide = max([len(called), len("all"), *(len(name) for name, _ in groups)])
    is_compared = bool(report.total.changes)
    heads = ["read", "refused", *(_HEADS.values() if is_compared else ())]
    click.echo(row([f"{called:<{wide}}", *heads]))
    for name, tally in [*groups, ("all", report.total)] if len(groups) != 1 else groups:
        figures = [tally.n_readings, tally.n_refused]
        if is_compared:
            figures += [tally.changes[change] for change in _HEADS]
        cells = (f"{figure:>{len(head)}}" for figure, head in zip(figures, heads, strict=True))
        click.echo(row([f"{name:<{wide}}", *cells]))


_HEADS = {
    Change.SAME: "the same",
    Change.WITHIN: "within ±",
    Change.BEYOND: "beyond ±",
    Change.NEWLY_READ: "newly read",
    Change.NEWLY_REFUSED: "newly refused",
}


def _tell_passes(read_otherwise: Sequence[PassReadTwice]) -> None:
    otherwise = [each for each in read_otherwise if each.is_decided_otherwise]
    if not otherwise:
        click.echo(filled("No pass would have another verdict."))
        return
    many = "1 pass" if len(otherwise) == 1 else f"{len(otherwise)} passes"
    click.echo(filled(f"{many} would have another verdict; what was kept stays as it is:"))
    for each in otherwise:
        before, after = each.decisions
        words = f"{_decision(before)} → {_decision(after)}"
        click.echo(row([f"  job {each.job}, pass {each.job_pass.number}, {each.job_pass.kind}", words]))


def _notes(report: Report, total: Tally) -> list[str]:
    notes = []
    if total.changes[Change.WITHIN] or total.changes[Change.BEYOND]:
        notes.append("± is the larger of the expanded uncertainties (95 %) of the two readings of a pluck.")
    n_alike = report.before_versions[report.begin.estimator_version]
    n_other = sum(total.changes.values()) - total.changes[Change.SAME] - total.changes[Change.STILL_REFUSED]
    if n_other and n_alike and n_alike == sum(report.before_versions.values()):
        notes.append(
            "Mind: all of these were read by the same estimator version before. It should read them the same: were"
            " they kept on another machine, or is something damaged? See `tensionear archive check`."
        )
    if report.begin.of == "folder" and report.earlier is None:
        notes.append("Nothing was compared: --compare-with names the results of an earlier run.")
    if report.not_compared:
        notes.append(
            f"{len(report.not_compared)} recordings were not in the earlier run, or were others then: not compared."
        )
    if report.n_gone:
        notes.append(f"{report.n_gone} recordings of the earlier run are not there any more.")
    if report.not_read:
        notes.append(f"{len(report.not_read)} could not be read, and count nowhere above.")
    return notes


def _versions(report: Report) -> str:
    told = ", ".join(f"version {number} ({n})" for number, n in sorted(report.before_versions.items()))
    return f" Before, they were read by {told}." if told else ""


def _counts(tally: Tally) -> dict[str, int]:
    return {
        "n_readings": tally.n_readings,
        "n_refused": tally.n_refused,
        **{f"n_{change.name.lower()}": tally.changes[change] for change in Change},
    }


def _by(each: ReadTwice) -> str:
    return f"{100 * each.share:+.2g} %" if each.before is not None and each.after is not None else each.change


def _figure(measured: Measured | None) -> str:
    if measured is None:
        return _NOTHING
    return with_uncertainty(measured.value, measured.expanded_uncertainty, "Hz")


def _decision(decision: Decision | None) -> str:
    return _NOTHING if decision is None else verdict_words(decision)


def _expanded(measured: Measured | None) -> float | None:
    return None if measured is None else measured.expanded_uncertainty


def _value(measured: Measured | None) -> float | None:
    return None if measured is None else measured.value
