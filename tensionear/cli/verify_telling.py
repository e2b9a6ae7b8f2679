"""How the check of record bundles is told: to people in plain words, to programs in JSON."""

from collections.abc import Sequence
from pathlib import Path

import click
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from tensionear import __version__
from tensionear.cli.job.lines import moment
from tensionear.cli.json_lines import readable, write_line
from tensionear.cli.layout import filled
from tensionear.cli.record.telling import NOT_SIGNED
from tensionear.cli.setup.telling import tell_named
from tensionear.job.bundle.seal import Signature
from tensionear.job.bundle.signing import raw_public_key
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.verification.document_check import is_comparable
from tensionear.job.verification.verifying import Matter, Verification
from tensionear.job.verification.verifying_chain import ChainVerification
from tensionear.pluck.estimator import ESTIMATOR_VERSION

NOBODY_VOUCHES = (
    "Nobody vouches for that name: compare the fingerprint with the signer's in another way, or check with the"
    " signer's public key (--signer-key)."
)
NOT_CHECKED = "not checked: what is above has to be readable first"


def write_bundle_line(
    path: Path, found: Verification, expected: Ed25519PublicKey | None, against: Sequence[str] | None
) -> None:
    """Write what was found of a bundle as a line of kind "verification".

    Parameters
    ----------
    path : Path
        Of the bundle.
    found : Verification
        By itself.
    expected : Ed25519PublicKey or None
        Whose signature was asked for.
    against : sequence of str or None
        What the archive says against it; None: it was not asked.
    """
    seal, record = found.seal, found.record
    signature = None if seal is None else seal.signature
    write_line(
        "verification",
        path=readable(str(path)),
        is_as_it_was=found.is_as_it_was and not against,
        findings=[{"matter": each.matter, "sentence": readable(each.sentence)} for each in found.findings],
        archive_findings=None if against is None else list(against),
        archive_id=None if seal is None else seal.chain.archive_id,
        record_number=None if seal is None else seal.chain.number,
        record_sha256=None if seal is None else seal.record_sha256,
        sealed_at=None if seal is None else moment(seal.sealed_at),
        signer=None if signature is None else readable(signature.signer),
        fingerprint=None if signature is None else signature.fingerprint,
        is_signer_known=_is_known(found, expected),
        job=None if record is None else readable(record.job_number),
        is_demonstration=None if record is None else record.is_demonstration,
        made_at=None if record is None else moment(record.made_at),
        n_plucks_read=found.n_plucks_read,
        is_document_compared=None if record is None else found.is_document_compared,
        estimator_version=ESTIMATOR_VERSION,
    )


def write_chain_line(chain: ChainVerification) -> None:
    """Write how several records of one archive fit together as a line of kind "chain"."""
    write_line(
        "chain",
        archive_id=chain.archive_id,
        record_numbers=list(chain.numbers),
        n_before=chain.n_before,
        is_as_it_was=not chain.findings,
        chain_findings=list(chain.findings),
    )


def tell_bundle(
    path: Path, found: Verification, expected: Ed25519PublicKey | None, against: Sequence[str] | None
) -> None:
    """Tell what was checked of a bundle and what was found; the arguments are those of `write_bundle_line`."""
    click.echo(f"{path}")
    record, seal = found.record, found.seal
    if record is not None:
        demonstration = ", a demonstration" if record.is_demonstration else ""
        made = f"{record.made_at.astimezone():%Y-%m-%d %H:%M}"
        tell_named(
            "says it is",
            f"record {record.chain.number} of job {record.job_number}{demonstration}, made {made}",
        )
    is_readable = seal is not None or record is not None
    _tell_matter(found, Matter.CONTAINER, "every byte as it was written")
    files = "" if seal is None else f"{len(seal.files) + 1} files as they were sealed"
    _tell_matter(found, Matter.SEAL, files if is_readable else NOT_CHECKED)
    _tell_matter(found, Matter.RECORD, "its parts belong together" if record is not None else NOT_CHECKED)
    _tell_matter(
        found,
        Matter.FIGURE,
        "every figure follows from plucks and setup" if record is not None else NOT_CHECKED,
    )
    if record is not None and not found.is_document_compared:
        tell_named("mind", _not_compared(record))
    plucks = f"{found.n_plucks_read} {'pluck' if found.n_plucks_read == 1 else 'plucks'} read anew"
    others = len([each for each in found.findings if each.matter is Matter.OTHER_ESTIMATOR])
    sound = f"{plucks}, each as stated" if not others else f"{plucks}, each as stated but these:"
    if not found.n_plucks_read:
        sound = "no pluck is kept in it"
    _tell_matter(found, Matter.SOUND, sound if record is not None else NOT_CHECKED)
    if others:
        _tell_matter(found, Matter.OTHER_ESTIMATOR, "")
    if against is not None:
        for said in against or ["it has this very record under this number"]:
            tell_named("archive", said)
    if seal is not None:
        _tell_signature(seal.signature, found, expected)
    _tell_outcome(found, expected, against)


def tell_chain(chain: ChainVerification) -> None:
    """Tell how several records of one archive fit together."""
    numbers = ", ".join(map(str, chain.numbers))
    click.echo(f"Records {numbers} of archive {chain.archive_id}")
    for said in chain.findings or ("each names the one before it, as far as that is given",):
        tell_named("chain", said)
    if chain.n_before:
        many = "Record 1" if chain.n_before == 1 else f"Records 1 to {chain.n_before}"
        tell_named("mind", f"{many} of the archive: not among them, so that nothing is said of that.")
    tell_named("mind", "That a record after the last of these was taken away cannot show here.")


def _not_compared(record: RecordDocument) -> str:
    if is_comparable(record):
        return "What record.pdf says was not compared, as the record is not in order."
    return (
        f"What record.pdf says was not compared: tensionear {record.software_version} made it, and this is"
        f" {__version__}. Go by record.json."
    )


def _tell_matter(found: Verification, matter: Matter, otherwise: str) -> None:
    said = [each.sentence for each in found.findings if each.matter is matter]
    name = "other version" if matter is Matter.OTHER_ESTIMATOR else matter.value
    for sentence in said or [otherwise]:
        tell_named(name, sentence)


def _tell_signature(
    signature: Signature | None, found: Verification, expected: Ed25519PublicKey | None
) -> None:
    if signature is None:
        tell_named("signature", NOT_SIGNED)
        return
    tell_named("signed by", signature.signer)
    tell_named("key fingerprint", signature.fingerprint)
    if expected is None:
        tell_named("mind", NOBODY_VOUCHES)
    elif _is_known(found, expected):
        tell_named("signature", "It is of the key that you gave.")


def _tell_outcome(
    found: Verification, expected: Ed25519PublicKey | None, against: Sequence[str] | None
) -> None:
    n_wrong = sum(each.matter is not Matter.OTHER_ESTIMATOR for each in found.findings) + len(against or ())
    if n_wrong:
        click.echo(filled(f"NOT AS IT WAS: {n_wrong} {'finding' if n_wrong == 1 else 'findings'}."))
        return
    if found.seal is None or found.seal.signature is None:
        said = "As it was when it was sealed. By whom, nothing tells: it is not signed."
    elif _is_known(found, expected):
        said = "As it was when it was signed with the key that you gave."
    else:
        said = "As it was when it was signed with the key above."
    if found.findings:
        said += " Another version of the estimator reads some plucks otherwise; nothing was changed for that."
    click.echo(filled(said))


def _is_known(found: Verification, expected: Ed25519PublicKey | None) -> bool | None:
    """Whether it is signed with the key that was asked for; None: none was."""
    if expected is None:
        return None
    signature = None if found.seal is None else found.seal.signature
    return (
        signature is not None
        and signature.public_key == raw_public_key(expected).hex()
        and not any(each.matter is Matter.SEAL for each in found.findings)
    )
