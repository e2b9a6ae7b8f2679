"""Whether records fit together: the bundles of one archive with one another, and a bundle with its archive."""

from collections.abc import Sequence
from dataclasses import dataclass

from tensionear.job.archive.records import KeptRecord
from tensionear.job.bundle.seal import Seal
from tensionear.job.bundle.seal_check import SealFault, check_chain


@dataclass(frozen=True)
class ChainVerification:
    """What the check of several records of one archive found.

    Attributes
    ----------
    archive_id : str
        Of the archive.
    numbers : tuple of int
        Of the records, in their order.
    findings : tuple of str
        Empty if they are one chain, as far as they reach.
    """

    archive_id: str
    numbers: tuple[int, ...]
    findings: tuple[str, ...]

    @property
    def n_before(self) -> int:
        """How many records there were before the first of these, of which nothing is known."""
        return self.numbers[0] - 1


def verify_chains(seals: Sequence[Seal], *, are_all: bool = True) -> list[ChainVerification]:
    """Compare records of the same archive with one another.

    Parameters
    ----------
    seals : sequence of Seal
        Of any archives, in any order. The same record may come in several bundles.
    are_all : bool
        Whether all records from the first to the last of these are expected, so that a gap is a finding.

    Returns
    -------
    list of ChainVerification
        One for each archive of which there are two records or more.
    """
    by_archive: dict[str, dict[tuple[int, str], Seal]] = {}
    for seal in seals:
        # Each bundle of a record is sealed anew: it is the record that there can be one of only.
        by_archive.setdefault(seal.chain.archive_id, {})[seal.chain.number, seal.record_sha256] = seal
    return [
        _verified(archive_id, list(of_archive.values()), are_all)
        for archive_id, of_archive in by_archive.items()
        if len(of_archive) > 1
    ]


def archive_findings(seal: Seal, archive_id: str, kept: Sequence[KeptRecord]) -> list[str]:
    """Compare a bundle with the archive that it says it comes from.

    Parameters
    ----------
    seal : Seal
        Of the bundle; it has been checked that it holds.
    archive_id : str
        Of the archive.
    kept : sequence of KeptRecord
        All its records; their documents are not called for.

    Returns
    -------
    list of str
        Empty if the archive has this very record under its number.
    """
    number = seal.chain.number
    if seal.chain.archive_id != archive_id:
        return [f"it is a record of archive {seal.chain.archive_id!r}, and this is archive {archive_id!r}"]
    there = next((each for each in kept if each.place.number == number), None)
    if there is None:
        return [f"the archive has no record {number}: it was never made there, or was taken away"]
    if there.sha256 != seal.record_sha256:
        return [
            f"the archive's own record {number} is another one: SHA-256 {there.sha256[:16]}… there,"
            f" {seal.record_sha256[:16]}… here"
        ]
    return []


def _verified(archive_id: str, seals: list[Seal], are_all: bool) -> ChainVerification:
    numbers = tuple(sorted({seal.chain.number for seal in seals}))
    gap = set(range(numbers[0], numbers[-1])) - set(numbers)
    found = [each for each in check_chain(seals) if each.fault is not SealFault.RECORDS_MISSING]
    missing = [f"record {number} is missing between those that are given" for number in sorted(gap)]
    return ChainVerification(
        archive_id, numbers, (*(each.sentence for each in found), *(missing if are_all else ()))
    )
