"""Setups of a damaged archive: from their own rows, or from the records of jobs that went by them."""

import json
from typing import Any

from sqlalchemy import Connection, func, insert, literal, select

from tensionear.errors import ArchiveError
from tensionear.job.archive.salvage_report import Loss
from tensionear.job.archive.salvaged_rows import Row, SmallTables
from tensionear.job.archive.setups import setup_words
from tensionear.job.archive.stored import setup_of
from tensionear.job.archive.tables import RECORDS, SETUP_VERSIONS, SETUPS
from tensionear.job.archive.words import name_key
from tensionear.job.log import SetupTaken
from tensionear.job.record.record_document import TakenSetup
from tensionear.job.setup import Setup
from tensionear.job.sha256 import sha256_of


class SalvagedSetups:
    """The setups that were found, put into the new archive.

    Parameters
    ----------
    small : SmallTables
        What was found of them.
    into : Connection
        To the new archive.
    losses : list of Loss
        Taken to, what is missing.
    """

    def __init__(self, small: SmallTables, into: Connection, losses: list[Loss]) -> None:
        self._into = into
        self._ids: dict[str, int] = {}
        self._hashes: dict[tuple[int, int], str] = {}
        versions: dict[int, dict[int, tuple[Row, Setup]]] = {}
        for row in small.setup_versions.values():
            try:
                setup = setup_of(row["document"], "a setup")
            except ArchiveError as error:
                losses.append(Loss(SETUP_VERSIONS.name, None, str(error)))
                continue
            versions.setdefault(row["setup_id"], {})[row["version"]] = row, setup
        for row in small.setups.values():
            found = versions.get(row["id"], {})
            missing = [str(each) for each in range(1, row["last_version"] + 1) if each not in found]
            if missing:
                which = ", ".join(missing)
                losses.append(
                    Loss(SETUP_VERSIONS.name, None, f"of the setup {row['name']!r} version {which} is lost")
                )
        for setup_id, of_setup in sorted(versions.items()):
            self._put(setup_id, of_setup, small.setups.get((setup_id,)))

    def _put(self, setup_id: int, versions: dict[int, tuple[Row, Setup]], row: Row | None) -> None:
        last = max(versions)
        setup = versions[last][1]
        if name_key(setup.name) in self._ids:  # two rows claim a name: the first has it
            return
        self._into.execute(
            insert(SETUPS).values(
                id=setup_id,
                name=setup.name,
                name_key=name_key(setup.name),
                last_version=last,
                deleted_at=None if row is None else row["deleted_at"],
                words=setup_words(setup),
            )
        )
        self._ids[name_key(setup.name)] = setup_id
        for version, (kept, _) in versions.items():
            self._into.execute(insert(SETUP_VERSIONS).values(kept))
            self._hashes[setup_id, version] = kept["sha256"]

    def id_of(self, taken: SetupTaken) -> int | None:
        """Row of the setup that a job took, if that very version is there or is found in a record."""
        key = name_key(taken.setup_name)
        setup_id = self._ids.get(key)
        known = None if setup_id is None else self._hashes.get((setup_id, taken.setup_version))
        if known == taken.setup_sha256:
            return setup_id
        if known is not None:
            return None
        kept = self._from_records(taken)
        if kept is None:
            return None
        document = kept.setup.canonical().decode()
        row = {
            "version": kept.version,
            "made_at": kept.made_at,
            "by": kept.by,
            "reason": kept.reason,
            "sha256": kept.sha256,
            "document": document,
        }
        if setup_id is None:
            setup_id = (self._into.scalar(select(func.max(SETUPS.c.id))) or 0) + 1
            self._put(setup_id, {kept.version: ({"setup_id": setup_id, **row}, kept.setup)}, None)
            return setup_id
        self._into.execute(insert(SETUP_VERSIONS).values(setup_id=setup_id, **row))
        self._hashes[setup_id, kept.version] = kept.sha256
        last = max(version for of_setup, version in self._hashes if of_setup == setup_id)
        if last == kept.version:
            newest = {"name": kept.setup.name, "last_version": last, "words": setup_words(kept.setup)}
            self._into.execute(SETUPS.update().where(SETUPS.c.id == setup_id).values(newest))
        return setup_id

    def _from_records(self, taken: SetupTaken) -> TakenSetup | None:
        named = func.instr(RECORDS.c.document, literal(taken.setup_sha256.encode())) > 0
        for document in self._into.scalars(select(RECORDS.c.document).where(named).limit(1)):
            given: Any = json.loads(document)
            for each in given.get("setups", ()):
                kept = TakenSetup.model_validate(each)
                if kept.sha256 == taken.setup_sha256 == sha256_of(kept.setup.canonical()):
                    return kept
        return None
