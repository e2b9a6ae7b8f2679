"""``tensionear verify``: whether record bundles are what they were."""

from contextlib import nullcontext
from pathlib import Path

import click

from tensionear.cli.exit_code import ExitCode
from tensionear.cli.options import json_option
from tensionear.cli.progress import progress_shown
from tensionear.cli.trouble import tell_trouble
from tensionear.cli.verify_telling import tell_bundle, tell_chain, write_bundle_line, write_chain_line
from tensionear.errors import BundleError, InputError
from tensionear.job.archive.opening_to_read import open_to_read
from tensionear.job.archive.records import KeptRecord
from tensionear.job.bundle.seal import Seal
from tensionear.job.bundle.signing import load_public_key
from tensionear.job.verification.verifying import Verification, verify_bundle
from tensionear.job.verification.verifying_chain import archive_findings, verify_chains

EPILOG = """\b
Examples:
  tensionear verify job-17-record-3.zip --signer-key workshop-public.pem
  tensionear verify records/*.zip
"""


@click.command(epilog=EPILOG)
@click.argument(
    "bundles", nargs=-1, required=True, type=click.Path(path_type=Path, readable=False), metavar="BUNDLE..."
)
@click.option(
    "--signer-key",
    type=click.Path(path_type=Path, readable=False),
    metavar="PUBLIC.pem",
    help="The public key of whoever has to have signed; come by in another way than with the bundle.",
)
@click.option(
    "--archive",
    metavar="PATH|URL",
    help="Also compare with the record of the same number in this archive, which is only read.",
)
@click.option(
    "--not-all",
    is_flag=True,
    help="Of several bundles of one archive: records that lie between them may be missing.",
)
@json_option
def command(
    bundles: tuple[Path, ...], signer_key: Path | None, archive: str | None, not_all: bool, as_json: bool
) -> ExitCode:
    """Check whether record bundles are what they were.

    Of each: whether a byte of the container is another; whether every file is the one that was sealed; whether the
    record's parts belong together, and record.pdf says what it says; whether every figure follows from its plucks;
    and whether the sound, read anew, gives every pluck's reading. If another version of the estimator read a pluck,
    and this one reads it otherwise, that is told apart: nobody need have changed anything. Pictures are held by the
    seal alone.

    Of several bundles of one archive: whether they are links of one chain, and none between them is missing.

    The exit code is 0 only if all is as it was, and 6 if not.
    """
    expected = None if signer_key is None else load_public_key(signer_key)
    with nullcontext() if archive is None else open_to_read(archive) as there:
        kept = None if there is None else (there.archive_id, there.records())
    seals: list[Seal] = []
    codes = {ExitCode.DONE}
    for path in bundles:
        try:
            with progress_shown(path.name) as progress:
                found = verify_bundle(path, expected, progress)
        except InputError as error:
            tell_trouble(str(error), as_json, path=path)
            codes.add(ExitCode.NOT_AS_IT_WAS if isinstance(error, BundleError) else ExitCode.INPUT)
            continue
        against = _against(found, kept)
        if found.seal is not None:
            seals.append(found.seal)
        if not found.is_as_it_was or against:
            codes.add(ExitCode.NOT_AS_IT_WAS)
        if as_json:
            write_bundle_line(path, found, expected, against)
        else:
            tell_bundle(path, found, expected, against)
    for chain in verify_chains(seals, are_all=not not_all):
        if chain.findings:
            codes.add(ExitCode.NOT_AS_IT_WAS)
        if as_json:
            write_chain_line(chain)
        else:
            tell_chain(chain)
    return max(codes)


def _against(found: Verification, kept: tuple[str, list[KeptRecord]] | None) -> list[str] | None:
    """What the archive says against a bundle; None: there is none to ask."""
    if kept is None:
        return None
    if found.seal is None:
        return ["it cannot be compared: its seal cannot be read"]
    return archive_findings(found.seal, *kept)
