"""``tensionear record make`` and ``again``."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from tensionear.cli.archive_options import looking_options, opened, writing_options
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.job.which import job_and_rest, number_of, words_argument
from tensionear.cli.key_password import VARIABLE, password_for
from tensionear.cli.layout import filled
from tensionear.cli.record.telling import tell_bundle, write_record_line
from tensionear.errors import InputError, TensionearError
from tensionear.job.archive.archive import Archive
from tensionear.job.archive.records import KeptRecord
from tensionear.job.bundle.bundle_file import write_bundle
from tensionear.job.bundle.signing import load_private_key
from tensionear.job.course import steps_left
from tensionear.job.record.pdf.record_pdf import PageSize
from tensionear.job.record.record_making import add_record, bundle_files
from tensionear.job.whole_file import require_nothing_there

_LONGEST_NUMBER = 60  # of a job, in the name of a file


def bundle_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a bundle that is written."""
    command = click.option(
        "--signer", metavar="NAME", default="", help="Whose key it is; stands in the seal, and is signed."
    )(command)
    command = click.option(
        "--key",
        type=click.Path(path_type=Path, readable=False),
        metavar="PRIVATE.pem",
        help='Sign with this private key ("tensionear key make"); its password is asked for, or taken from the'
        f" environment variable {VARIABLE}.",
    )(command)
    command = click.option(
        "--page",
        type=click.Choice([size.value for size in PageSize]),
        default=PageSize.A4.value,
        show_default=True,
        help="Size of the pages of record.pdf.",
    )(command)
    return click.option(
        "--out",
        type=click.Path(path_type=Path, readable=False),
        metavar="FILE.zip",
        help="Where to write the bundle; nothing is ever replaced."
        "  [default: named by job and record, in this folder]",
    )(command)


@click.command(name="make")
@words_argument()
@bundle_options
@writing_options
def make_command(
    words: tuple[str, ...], archive: str | None, by: str, as_json: bool, **typed: Any
) -> ExitCode:
    """Make a record of a job as it is now, and write its bundle.

    A job that is not finished gets a record too, which says so.
    """
    job, _ = job_and_rest(words)
    bundle = _Bundle.of(typed)
    with opened(archive) as there:
        number = number_of(there, job)
        found = there.job(number)
        kept = add_record(there, number, by)
        try:
            path, files = bundle.write(there, kept)
        except TensionearError as error:
            again = f'write it with "tensionear record again {kept.place.number}"'
            raise type(error)(
                f"record {kept.place.number} was made and is kept, but not its bundle: {error}; when that is"
                f" mended, {again}"
            ) from error
    left = [step.value for step in steps_left(found.state, found.setup)]
    if as_json:
        write_record_line(kept, path, files, steps_left=left)
        return ExitCode.DONE
    tell_bundle(kept, path, files)
    if left:
        click.echo(filled(f"The job is not finished, and the record says so. Missing: {', '.join(left)}."))
    return ExitCode.DONE


@click.command(name="again")
@click.argument("number", type=click.IntRange(min=1))
@bundle_options
@looking_options
def again_command(number: int, archive: str | None, as_json: bool, **typed: Any) -> ExitCode:
    """Write the bundle of a record that was made before.

    NUMBER is the record's, as "tensionear record list" tells it. The record is the one that was made then, to the
    byte; it is sealed anew.
    """
    bundle = _Bundle.of(typed)
    with opened(archive) as there:
        kept = there.record(number)
        path, files = bundle.write(there, kept)
    if as_json:
        write_record_line(kept, path, files)
    else:
        tell_bundle(kept, path, files)
    return ExitCode.DONE


@dataclass(frozen=True)
class _Bundle:
    """How and where a bundle is to be written; what is wrong with that is found out before a record is made."""

    out: Path | None
    page_size: PageSize
    key: Ed25519PrivateKey | None
    signer: str

    @classmethod
    def of(cls, typed: dict[str, Any]) -> "_Bundle":
        out, key_path, signer = typed["out"], typed["key"], typed["signer"].strip()
        if (key_path is None) != (not signer):
            raise click.UsageError("--key and --signer go together: a signature needs a key and a name")
        if out is not None:
            if out.suffix.lower() != ".zip":
                raise InputError(f"bundle {out} does not end in .zip: give it such a name")
            if not out.parent.is_dir():
                raise InputError(f"bundle {out} cannot be written: there is no folder {out.parent}")
            require_nothing_there(out)
        key = None if key_path is None else load_private_key(key_path, password_for(key_path))
        return cls(out, PageSize(typed["page"]), key, signer)

    def write(self, archive: Archive, kept: KeptRecord) -> tuple[Path, dict[str, bytes]]:
        """Write the bundle of a record, and give its path and its files."""
        if kept.document is None:
            raise InputError(
                f"record {kept.place.number} has no content any more: job {kept.job_number} was deleted for good;"
                " of the record only its hash is left"
            )
        path = self.out or Path(f"job-{_in_a_name(kept.job_number)}-record-{kept.place.number}.zip")
        require_nothing_there(path)
        files = bundle_files(
            kept.document,
            archive.content,
            datetime.now(UTC),
            page_size=self.page_size,
            key=self.key,
            signer=self.signer,
        )
        write_bundle(path, files)
        return path, files


def _in_a_name(job_number: str) -> str:
    """A job's number as it may stand in a file's name everywhere."""
    kept = "".join(sign if sign.isalnum() or sign in "-_." else "-" for sign in job_number)
    return kept.strip(".")[:_LONGEST_NUMBER] or "-"
