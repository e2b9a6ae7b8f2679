"""How records are told: to people in lines, to programs in JSON."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import click

from tensionear.belt.limits import Unit
from tensionear.cli.job.lines import moment
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled, row
from tensionear.cli.setup.telling import tell_named
from tensionear.cli.units import ToldUnits
from tensionear.figures import with_uncertainty
from tensionear.job.archive.records import KeptRecord
from tensionear.job.bundle.bundle_names import SEAL
from tensionear.job.bundle.seal import Signature, read_seal
from tensionear.job.record.found_document import FoundPass, FoundValue
from tensionear.job.record.record_document import RecordDocument
from tensionear.metrology.decision import Decision
from tensionear.words import HERTZ, verdict_words

NOT_SIGNED = (
    "Not signed: the seal shows damage, and changes by somebody who does not know how to make a seal. Whoever does"
    " can make it anew, and nothing in the bundle tells."
)


def write_record_line(
    kept: KeptRecord,
    path: Path | None = None,
    files: Mapping[str, bytes] | None = None,
    steps_left: Sequence[str] | None = None,
    record: RecordDocument | None = None,
) -> None:
    """Write a record as a line of kind "record".

    Parameters
    ----------
    kept : KeptRecord
        The record.
    path : Path or None
        Of its bundle; None: none was written.
    files : mapping of str to bytes or None
        What is in the bundle.
    steps_left : sequence of str or None
        Of the job, when the record was made; None where that was not asked.
    record : RecordDocument or None
        All that it says; None where that was not asked.
    """
    signature = None if files is None else read_seal(files[SEAL]).signature
    write_line(
        "record",
        record_number=kept.place.number,
        archive_id=kept.place.archive_id,
        previous_record_sha256=kept.place.previous_sha256,
        record_sha256=kept.sha256,
        made_at=moment(kept.place.at),
        by=readable(kept.by),
        job=readable(kept.job_number),
        uid=kept.job_uid,
        path=None if path is None else readable(str(path)),
        n_files=None if files is None else len(files),
        signer=None if signature is None else readable(signature.signer),
        fingerprint=None if signature is None else signature.fingerprint,
        steps_left=None if steps_left is None else list(steps_left),
        record=None if record is None else record.model_dump(mode="json"),
    )


def tell_bundle(kept: KeptRecord, path: Path, files: Mapping[str, bytes]) -> None:
    """Tell which bundle was written, and what vouches for it."""
    n_bytes = sum(map(len, files.values()))
    click.echo(f"Record {kept.place.number} of job {kept.job_number}")
    tell_named("bundle", f"{path}, {len(files)} files, {n_bytes / 1e6:.1f} MB")
    tell_named("made", _made(kept))
    tell_named("record SHA-256", kept.sha256)
    signature = read_seal(files[SEAL]).signature
    tell_signature(signature)
    if signature is None:
        click.echo(filled(NOT_SIGNED))


def tell_signature(signature: Signature | None) -> None:
    """Tell who signed."""
    if signature is None:
        tell_named("signature", "none")
    else:
        tell_named("signed by", signature.signer)
        tell_named("key fingerprint", signature.fingerprint)


def tell_records(listed: Sequence[KeptRecord]) -> None:
    """Tell records in a line each."""
    wide = max((len(each.job_number) for each in listed), default=0)
    for each in listed:
        cells = [
            f"{each.place.number:>5}",
            _at(each),
            f"job {each.job_number:<{wide}}",
            each.sha256[:16] + "…",
        ]
        click.echo(row([*cells, *([each.by] if each.by else [])]))


def tell_record(kept: KeptRecord, record: RecordDocument | None, units: ToldUnits) -> None:
    """Tell what a record says.

    Parameters
    ----------
    kept : KeptRecord
        The record.
    record : RecordDocument or None
        Its content; None: it was deleted for good.
    units : ToldUnits
        For tensions.
    """
    demonstration = ", a demonstration" if record is not None and record.is_demonstration else ""
    click.echo(f"Record {kept.place.number} of job {kept.job_number}{demonstration}")
    tell_named("made", _made(kept))
    tell_named("record SHA-256", kept.sha256)
    tell_named("the one before", kept.place.previous_sha256 or "none: it is the first of its archive")
    tell_named("archive", kept.place.archive_id)
    if record is None:
        tell_named("content", "deleted for good, with its job; only the hash is left")
        return
    tell_named(
        "made with", f"tensionear {record.software_version}, estimator version {record.estimator_version}"
    )
    details, setup = record.found.details, record.setups[-1]
    for name, said in (
        ("vehicle", details.vehicle),
        ("registration", details.registration),
        ("chassis number", details.chassis_number),
        ("technician", details.technician),
        ("workshop", details.workshop),
        ("setup", f"{setup.name}, version {setup.version}"),
        (
            "log",
            f"{len(record.log)} entries, {len(record.sound_files)} sounds, {len(record.photo_files)} photos",
        ),
    ):
        if said:
            tell_named(name, said)
    for each in record.found.passes:
        tell_named(f"pass {each.pass_number}", _pass_words(each, units))
    tell_named("conclusion", record.found.conclusion)


def _pass_words(each: FoundPass, units: ToldUnits) -> str:
    """What a pass said, in a line."""
    parts = [each.kind.value, f"{each.n_readings} read, {each.n_refused} refused"]
    if each.n_struck_out:
        parts.append(f"{each.n_struck_out} struck out")
    if each.fundamental is not None:
        parts.append(_in_unit(each.fundamental, HERTZ))
    if each.tension is not None:
        parts.append(_in_unit(each.tension, units.force))
    if each.disagreement is not None:
        parts.append(each.disagreement.value)
    if each.compared is not None and each.compared.verdict is not None:
        parts.append(verdict_words(Decision(each.compared.verdict, each.compared.side)))
    if each.ended_at is None:
        parts.append("not ended")
    return ", ".join(parts)


def _in_unit(found: FoundValue, unit: Unit) -> str:
    """A value in its SI unit, told in another one with the expanded uncertainty that the record states."""
    return with_uncertainty(found.value * unit.per_si, found.expanded_uncertainty * unit.per_si, unit.symbol)


def _made(kept: KeptRecord) -> str:
    by = f" by {kept.by}" if kept.by else ""
    return f"{_at(kept)}{by}"


def _at(kept: KeptRecord) -> str:
    return f"{kept.place.at.astimezone():%Y-%m-%d %H:%M}"
