"""Jobs for people: what is next, and the tables of passes and plucks."""

from collections.abc import Iterator

import click

from tensionear.cli.job.lines import by_job_numbers, checklist_of, verdict_of
from tensionear.cli.job.log_words import detail_value, detail_words
from tensionear.cli.layout import filled, row
from tensionear.cli.setup.telling import tell_named
from tensionear.cli.units import ToldUnits
from tensionear.figures import with_uncertainty
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.search import JobSummary
from tensionear.job.course import NextStep, next_step, steps_left
from tensionear.job.details import JobDetails
from tensionear.job.passes import PassKind, Step
from tensionear.job.pluck_document import RefusalDocument
from tensionear.job.record.finding_run_in import found_run_in
from tensionear.job.results import PassResult, amiss, deciding_pass, pass_results
from tensionear.job.state import JobPluck
from tensionear.metrology.uncertainty import Measured
from tensionear.words import verdict_words

_COMMANDS = {
    Step.CAUTIONS: "cautions {job} --acknowledge",
    Step.OVER_TENSION: "listen {job}",
    Step.TOOLS_OUT: "tools-out {job}",
    Step.RUN_IN: "turn {job} REVOLUTIONS (with readings: listen {job} --turned REVOLUTIONS)",
    Step.TOP_DEAD_CENTRE: "top-dead-centre {job}",
    Step.FINAL_SETTING: "listen {job}",
}


def tell_next(job: ArchivedJob) -> None:
    """Tell what is to be done now, and what is left."""
    state, setup = job.state, job.setup
    now = next_step(state, setup)
    wrong = amiss(state, setup)
    if wrong is not None:
        tell_named(
            "mind",
            f"{wrong[0].upper()}{wrong[1:]}: put it right as the manufacturer's procedure says, and read the belt"
            " anew, before anything is built on it.",
        )
    tell_named("now", now.instruction)
    if now.step is not None:
        tell_named("", f"tensionear job {_command(job, now).format(job=_quoted(job.number))}")
    elif state.closed_at is None:
        tell_named("", f"tensionear job close {_quoted(job.number)}")
    for number, line in enumerate(checklist_of(state, setup), 1):
        if not line["is_ticked"] and _is_reached(setup.checklist[number - 1].step, now.step):
            tell_named("to tick", f"{number}: {setup.checklist[number - 1].words}")
    left = [step for step in steps_left(state, setup) if step is not now.step]
    if left and state.closed_at is None:
        tell_named("then", ", ".join(left))


def _command(job: ArchivedJob, now: NextStep) -> str:
    """What to type for the step that is due."""
    goes_on = job.state.open_pass
    if goes_on is not None and goes_on.kind is PassKind.RUN_IN:
        is_turned = Step.RUN_IN not in steps_left(job.state, job.setup)
        return "end-pass {job}" if is_turned else _COMMANDS[Step.RUN_IN]
    if goes_on is not None and not now.readings_left:
        return "end-pass {job}"
    return _COMMANDS.get(now.step or Step.RE_CHECK, "listen {job}")


def _is_reached(step: Step, now: Step | None) -> bool:
    """Whether a step of the checklist is the one that is due, or before it."""
    order = list(Step)
    return now is None or order.index(step) <= order.index(now)


def tell_job(job: ArchivedJob, units: ToldUnits) -> None:
    """Tell all of a job.

    Parameters
    ----------
    job : ArchivedJob
        The job.
    units : ToldUnits
        For tensions.
    """
    state = job.state
    demonstration = ", a demonstration" if state.is_demonstration else ""
    click.echo(f"Job {job.number}{demonstration}, opened {state.opened_at.astimezone():%Y-%m-%d %H:%M}")
    for name, said in _about(job):
        tell_named(name, said)
    results = pass_results(state, job.setup)
    if results:
        click.echo()
        tell_passes(results, units)
        settled = " ".join(f"{said[0].upper()}{said[1:]}." for said in _settling_sentences(results))
        if settled:
            click.echo()
            tell_named("run-in", settled)
    if state.plucks:
        click.echo()
        for line in _pluck_rows(results, units):
            click.echo(line)
    if state.closed_at is None and state.deleted_at is None:
        click.echo()
        tell_next(job)


def _settling_sentences(results: tuple[PassResult, ...]) -> Iterator[str]:
    """How the belt settled, if more than one pass says something of it."""
    found = found_run_in(results)
    if found is None or len(results) < 2:
        return
    said = (found.sentence, found.level_sentence, found.further_sentence, found.setting_sentence)
    yield from (each for each in (*said, *(recheck.sentence for recheck in found.rechecks)) if each)


def tell_passes(results: tuple[PassResult, ...], units: ToldUnits) -> None:
    """Tell each pass in a row."""
    click.echo(
        row(["pass", f"{'':<13}", f"{'read':>5}", f"{'fundamental':<17}", f"{'tension':<14}", "verdict"])
    )
    for result in results:
        each, together = result.job_pass, result.together
        statistics = together.fundamental
        mean = None if statistics is None else statistics.mean
        n_plucks = together.n_readings + together.n_refused
        cells = [
            f"{each.number:>4}",
            f"{each.kind:<13}",
            f"{together.n_readings}/{n_plucks}".rjust(5),
            f"{_figure(mean):<17}",
            f"{'' if together.tension is None else units.tension(together.tension):<14}",
            _verdict(result) + ("" if each.ended_at else ", goes on"),
        ]
        click.echo(row(cells))
        if each.kind is PassKind.RUN_IN and each.counting:
            click.echo(filled(run_in_words(result, units), " " * 6, " " * 6))
        if each.reason:
            click.echo(filled(f"done again or out of turn: {each.reason}", " " * 6, " " * 6))
        if result.way_out is not None:
            said = result.way_out.sentence()
            click.echo(filled(f"{said[0].upper()}{said[1:]}.", " " * 6, " " * 6))


def run_in_words(result: PassResult, units: ToldUnits) -> str:
    """Say the first and the last reading of a run-in that count; while the belt settles there is no mean."""
    counting = result.job_pass.counting
    if not counting:
        return "no reading yet"
    ends = counting[:1] if len(counting) == 1 else (counting[0], counting[-1])
    return ", ".join(f"{_short(result, each, units)} after {_turns(each.revolutions)}" for each in ends)


def _short(result: PassResult, pluck: JobPluck, units: ToldUnits) -> str:
    found = result.each_pluck[pluck.number]
    return _figure(found.fundamental) if found.tension is None else units.tension(found.tension)


def _turns(revolutions: float) -> str:
    return f"{revolutions:g} {'revolution' if revolutions == 1 else 'revolutions'}"


def tell_summaries(found: list[JobSummary]) -> None:
    """Tell jobs in a line each."""
    wide = max((len(each.number) for each in found), default=0)
    for each in found:
        status = "deleted" if each.deleted_at else "closed" if each.closed_at else "open"
        about = ", ".join(said for said in (each.vehicle, each.registration, each.technician) if said)
        said = f"demonstration; {about}" if each.is_demonstration else about
        cells = [
            f"{each.number:<{wide}}",
            f"{each.opened_at.astimezone():%Y-%m-%d}",
            f"{status:<7}",
            f"{each.verdict or '–':<11}",
            said,
        ]
        click.echo(row(cells))


def _about(job: ArchivedJob) -> Iterator[tuple[str, str]]:
    state = job.state
    for name in JobDetails.model_fields:
        value = getattr(state.details, name)
        if value not in (None, ""):
            yield detail_words(name), detail_value(name, value)
    yield "setup", f"{job.kept_setup.name}, version {job.kept_setup.version}"
    verdict, deciding = verdict_of(state, job.setup), deciding_pass(state)
    if verdict is not None and deciding is not None:
        yield "verdict", f"{verdict.upper()} ({deciding.kind})"
    yield "turned over", f"{_turns(state.revolutions)} since the last over-tension"
    for step, reason in state.skipped.items():
        yield "skipped", f"{step}: {reason}"
    for number, line in enumerate(checklist_of(state, job.setup), 1):
        ticked = "not ticked"
        if line["is_ticked"]:
            ticked = (
                "ticked"
                if line["ticked_value"] is None
                else f"ticked: {line['ticked_value']:g} {line['unit']}"
            )
        yield f"check {number}", f"{line['step']}: {job.setup.checklist[number - 1].words} – {ticked}"
    for note in state.notes:
        yield "note", note
    for photo in state.photos:
        yield "photo", photo.caption or "without a caption"
    for each in state.corrections:
        before = detail_value(each.name, each.before)
        yield "corrected", f"{detail_words(each.name)}, was {before}: {each.reason}"
    if state.closed_at is not None:
        yield "closed", f"{state.closed_at.astimezone():%Y-%m-%d %H:%M}"
    if state.deleted_at is not None:
        yield "deleted", f"{state.deleted_at.astimezone():%Y-%m-%d %H:%M}"


def _pluck_rows(results: tuple[PassResult, ...], units: ToldUnits) -> Iterator[str]:
    yield row(
        [f"{'#':>4}", f"{'pass':<13}", f"{'turned':>6}", f"{'fundamental':<17}", f"{'tension':<14}", ""]
    )
    for result in results:
        marks = {each.number: each.mark for each in by_job_numbers(result).marked}
        for pluck in result.job_pass.plucks:
            outcome = pluck.pluck.outcome
            start = [f"{pluck.number:>4}", f"{result.job_pass.kind:<13}", f"{pluck.revolutions:>6g}"]
            if isinstance(outcome, RefusalDocument):
                yield row([*start, f"refused: {outcome.reason}"])
                continue
            found = result.each_pluck[pluck.number]
            tension = "" if found.tension is None else units.tension(found.tension)
            yield row(
                [
                    *start,
                    f"{_figure(found.fundamental):<17}",
                    f"{tension:<14}",
                    _mark(pluck, marks.get(pluck.number)),
                ]
            )


def _mark(pluck: JobPluck, mark: str | None) -> str:
    if pluck.struck_out:
        return f"struck out: {pluck.struck_out}"
    return "" if mark is None else f"left out: {mark}"


def _verdict(result: PassResult) -> str:
    decision, statistics = result.together.decision, result.together.fundamental
    if decision is not None:
        return verdict_words(decision)
    if statistics is not None and statistics.mean is None:
        return "the plucks do not agree"
    return ""


def _figure(measured: Measured | None) -> str:
    if measured is None:
        return ""
    return with_uncertainty(measured.value, measured.expanded_uncertainty, "Hz")


def _quoted(number: str) -> str:
    return f'"{number}"' if " " in number else number
