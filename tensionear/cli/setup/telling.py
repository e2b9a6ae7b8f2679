"""How setups are told: to people in lines, to programs in JSON."""

from collections.abc import Iterator

import click

from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled, row
from tensionear.cli.task_words import span_words
from tensionear.cli.units import ToldUnits
from tensionear.job.archive.setups import KeptSetup
from tensionear.job.passes import PassKind
from tensionear.job.setup import Setup
from tensionear.metrology.decision import GUARDED
from tensionear.words import rule_words

_WIDE = 16
_JUDGED = (PassKind.OVER_TENSION, PassKind.FINAL_SETTING, PassKind.RE_CHECK)


def write_setup_line(kept: KeptSetup) -> None:
    """Write a version of a setup as a line of kind "setup"."""
    write_line(
        "setup",
        setup_name=readable(kept.name),
        setup_version=kept.version,
        setup_sha256=kept.sha256,
        made_at=kept.made_at.isoformat(timespec="seconds"),
        by=readable(kept.by),
        reason=readable(kept.reason),
        setup=kept.setup.model_dump(mode="json"),
    )


def tell_setup(kept: KeptSetup, units: ToldUnits) -> None:
    """Tell all of a setup.

    Parameters
    ----------
    kept : KeptSetup
        The version.
    units : ToldUnits
        For tensions and lengths.
    """
    by = f" by {kept.by}" if kept.by else ""
    click.echo(f"{kept.name}, version {kept.version}")
    why = f": {kept.reason}" if kept.reason else ""
    tell_named("made", f"{kept.made_at.astimezone():%Y-%m-%d %H:%M}{by}{why}")
    for name, said in _lines(kept.setup, units):
        tell_named(name, said)


def tell_named(name: str, what: str) -> None:
    """Write one line: a name, and what there is to say of it."""
    click.echo(filled(what, f"  {name:<{_WIDE}}  ", " " * (_WIDE + 4)))


def tell_list(listed: list[KeptSetup]) -> None:
    """Tell setups in a line each."""
    wide = max((len(each.name) for each in listed), default=0)
    for each in listed:
        setup = each.setup
        about = ", ".join(said for said in (setup.engine, setup.belt, setup.span_name) if said)
        click.echo(row([f"{each.name:<{wide}}", f"version {each.version}", about]))


def tell_versions(listed: list[KeptSetup]) -> None:
    """Tell the versions of a setup in a line each."""
    for each in listed:
        by = f"by {each.by}" if each.by else ""
        said = ", ".join(part for part in (by, each.reason) if part)
        click.echo(row([f"{each.version:>4}", f"{each.made_at.astimezone():%Y-%m-%d %H:%M}", said]))


def _lines(setup: Setup, units: ToldUnits) -> Iterator[tuple[str, str]]:
    for name, said in (("engine", setup.engine), ("belt", setup.belt), ("plucked span", setup.span_name)):
        if said:
            yield name, said
    if setup.span is None:
        yield "span", "Its length or density is not given: only frequencies are read."
    else:
        yield "span", span_words(setup.span.known_span(), units)
        for name, said in (
            ("length found", setup.span_length_how),
            ("density found", setup.linear_density_how),
            ("stiffness found", setup.stiffness_how),
        ):
            if said:
                yield name, said
        for warning in setup.span.warnings:
            yield "mind", f"{warning[0].upper()}{warning[1:]}."
    yield from _judged(setup)
    rule = setup.decision_rule.decision_rule()
    if rule != GUARDED:
        yield "decision rule", rule_words(rule)
    if setup.run_in is not None:
        plan = setup.run_in
        many = "revolution" if plan.revolutions == 1 else "revolutions"
        yield "run-in turning", f"{plan.revolutions} {many}, {plan.direction} seen from {plan.seen_from}"
    yield "plucks a pass", str(setup.plucks_per_pass)
    for number, line in enumerate(setup.checklist, 1):
        yield f"check {number}", f"{line.step}: {line.words}"
    for caution in setup.cautions:
        yield "own caution", caution
    if setup.notes:
        yield "notes", setup.notes


def _judged(setup: Setup) -> Iterator[tuple[str, str]]:
    """What each pass is compared with; what holds for two of them is said once."""
    said: dict[str, str] = {}
    for kind in _JUDGED:
        comparison = setup.task_for(kind).comparison
        sentence = "Nothing is specified: no verdict." if comparison is None else comparison.sentence
        yield kind.value, f"As the {said[sentence]}." if sentence in said else sentence
        said.setdefault(sentence, kind.value)
