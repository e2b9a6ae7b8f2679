"""Setups in an archive: every version of each, of which the last is used for new jobs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Connection, Select, insert, select, update

from tensionear.errors import InputError
from tensionear.job.archive.connection import OpenArchive, log_deed, now, upsert
from tensionear.job.archive.stored import damaged, setup_of
from tensionear.job.archive.tables import SETUP_VERSIONS, SETUPS
from tensionear.job.archive.typed import typed_line, typed_reason
from tensionear.job.archive.words import indexed, name_key, sought
from tensionear.job.setup import Setup
from tensionear.job.sha256 import sha256_of


@dataclass(frozen=True)
class KeptSetup:
    """One version of a setup.

    Attributes
    ----------
    name : str
        Of the setup, as it is in this version.
    version : int
        From 1.
    made_at : datetime
    by, reason : str
        Who made this version, and why; the first needs no reason.
    sha256 : str
        Of the setup in canonical JSON.
    setup : Setup
        What is known in this version.
    deleted_at : datetime or None
        When the setup, with all its versions, was deleted; None: it is there.
    """

    name: str
    version: int
    made_at: datetime
    by: str
    reason: str
    sha256: str
    setup: Setup
    deleted_at: datetime | None = None


class ArchiveSetups(OpenArchive):
    """The setups of an archive."""

    def add_setup(self, setup: Setup, by: str = "") -> KeptSetup:
        """Keep a new setup, as version 1.

        Raises
        ------
        InputError
            If there is one of that name, which may be deleted.
        ArchiveError
            If the database complains.
        """
        with self.writing() as connection:
            setup_id = connection.execute(
                upsert(connection, SETUPS)
                .values(
                    name=setup.name, name_key=name_key(setup.name), last_version=1, words=setup_words(setup)
                )
                .on_conflict_do_nothing()
                .returning(SETUPS.c.id)
            ).scalar_one_or_none()
            if setup_id is None:
                there = _required_row(connection, setup.name)
                if there.deleted_at is not None:
                    raise InputError(
                        f"a setup {there.name!r} was deleted: restore it, or choose another name"
                    )
                raise InputError(f"there is a setup {there.name!r}: change it, or choose another name")
            return _add_version(connection, setup_id, 1, setup, by, "")

    def change_setup(self, name: str, setup: Setup, reason: str, by: str = "") -> KeptSetup:
        """Keep a new version of a setup; jobs go on with the one that they have.

        Parameters
        ----------
        name : str
            Of the setup.
        setup : Setup
            What it is to be, under the same name.
        reason : str
            Why it changes.
        by : str
            Who changes it.

        Raises
        ------
        InputError
            If there is no such setup, its name would be another, nothing changes, or no reason is given.
        ArchiveError
            If the database complains.
        """
        reason = typed_reason(f"why is the setup {name!r} changed?", reason)
        if name_key(setup.name) != name_key(name):
            raise InputError(
                f"the setup {name!r} cannot become {setup.name!r}: jobs name it; add that as a setup of its own"
            )
        with self.writing() as connection:
            there = _there(connection, name, lock=True)
            before = kept_setup(connection, name)
            if before.sha256 == sha256_of(setup.canonical()):
                raise InputError(
                    f"the setup {there.name!r} is like that already, in version {before.version}"
                )
            version = before.version + 1
            connection.execute(
                update(SETUPS)
                .where(SETUPS.c.id == there.id)
                .values(name=setup.name, last_version=version, words=setup_words(setup))
            )
            return _add_version(connection, there.id, version, setup, by, reason)

    def setup(self, name: str, version: int | None = None) -> KeptSetup:
        """Find a setup.

        Parameters
        ----------
        name : str
            Upper and lower case do not count.
        version : int or None
            None: the last.

        Raises
        ------
        InputError
            If there is none; the message names those that are spelt alike. Deleted ones are found, and say so.
        ArchiveError
            If the database complains.
        """
        with self.reading() as connection:
            return kept_setup(connection, name, version)

    def setup_versions(self, name: str) -> list[KeptSetup]:
        """All versions of a setup, from the first.

        Raises
        ------
        InputError, ArchiveError
            As `setup` does.
        """
        with self.reading() as connection:
            there = _required_row(connection, name)
            chosen = _versions().where(SETUPS.c.id == there.id).order_by(SETUP_VERSIONS.c.version)
            return [_kept(row) for row in connection.execute(chosen)]

    def setups(self, words: str = "", *, deleted: bool = False) -> list[KeptSetup]:
        """The last versions of all setups in which every word occurs, by name.

        Parameters
        ----------
        words : str
            Beginnings of words in name, engine, belt, span, sources or notes.
        deleted : bool
            Whether to give the deleted ones instead of the others.

        Raises
        ------
        ArchiveError
            If the database complains.
        """
        wanted = sought(words)
        if words.strip() and not wanted:
            return []
        is_deleted = SETUPS.c.deleted_at.is_not(None) if deleted else SETUPS.c.deleted_at.is_(None)
        with self.reading() as connection:
            # A workshop has hundreds of setups, not hundreds of thousands: they are looked through here.
            rows = connection.execute(select(SETUPS.c.id, SETUPS.c.words).where(is_deleted))
            ids = [row.id for row in rows if not wanted or _occurs(wanted, row.words.split(" "))]
            chosen = _versions().where(is_deleted, SETUP_VERSIONS.c.version == SETUPS.c.last_version)
            found = [_kept(row) for row in connection.execute(chosen) if row.id in set(ids)]
        return sorted(found, key=lambda each: name_key(each.name))

    def delete_setup(self, name: str, reason: str, by: str = "") -> None:
        """Put a setup away; jobs that go by it keep it.

        Raises
        ------
        InputError
            If there is none, or no reason is given.
        ArchiveError
            If the database complains.
        """
        reason = typed_reason(f"why is the setup {name!r} deleted?", reason)
        with self.writing() as connection:
            there = _there(connection, name, lock=True)
            connection.execute(update(SETUPS).where(SETUPS.c.id == there.id).values(deleted_at=now()))
            log_deed(connection, "setup deleted", there.name, reason, by)

    def restore_setup(self, name: str, by: str = "") -> None:
        """Bring a deleted setup back.

        Raises
        ------
        InputError
            If there is none, or it is not deleted.
        ArchiveError
            If the database complains.
        """
        with self.writing() as connection:
            there = _required_row(connection, name, lock=True)
            if there.deleted_at is None:
                raise InputError(f"the setup {there.name!r} is not deleted")
            connection.execute(update(SETUPS).where(SETUPS.c.id == there.id).values(deleted_at=None))
            log_deed(connection, "setup restored", there.name, "", by)


def kept_setup(connection: Connection, name: str, version: int | None = None) -> KeptSetup:
    """Find a setup within a transaction; see `ArchiveSetups.setup`."""
    wanted = SETUPS.c.last_version if version is None else version
    row = connection.execute(
        _versions().where(SETUPS.c.name_key == name_key(name), SETUP_VERSIONS.c.version == wanted)
    ).one_or_none()
    if row is None:
        there = _required_row(connection, name)
        raise InputError(f"the setup {there.name!r} has versions 1 to {there.last_version}, and no {version}")
    return _kept(row)


def setup_to_use(connection: Connection, name: str, version: int | None = None) -> tuple[int, KeptSetup]:
    """Find a setup that is not deleted, with its row's number; see `ArchiveSetups.setup`."""
    there = _there(connection, name)
    return there.id, kept_setup(connection, name, version)


def setup_id(connection: Connection, name: str) -> int:
    """Number of the row of a setup, deleted or not."""
    found: int = _required_row(connection, name).id
    return found


def _add_version(
    connection: Connection, setup_id: int, version: int, setup: Setup, by: str, reason: str
) -> KeptSetup:
    content, by = setup.canonical(), typed_line("who made it", by)
    kept = KeptSetup(setup.name, version, now(), by, reason, sha256_of(content), setup)
    connection.execute(
        insert(SETUP_VERSIONS).values(
            setup_id=setup_id,
            version=version,
            made_at=kept.made_at,
            by=by,
            reason=reason,
            sha256=kept.sha256,
            document=content.decode("utf-8"),
        )
    )
    return kept


def _row(connection: Connection, name: str, *, lock: bool = False) -> Any:
    chosen = select(SETUPS.c.id, SETUPS.c.name, SETUPS.c.last_version, SETUPS.c.deleted_at)
    chosen = chosen.where(SETUPS.c.name_key == name_key(name))
    # On SQLite the transaction has locked everything, and the words for it are left out.
    return connection.execute(chosen.with_for_update(key_share=True) if lock else chosen).one_or_none()


def _required_row(connection: Connection, name: str, *, lock: bool = False) -> Any:
    row = _row(connection, name, lock=lock)
    if row is not None:
        return row
    names = {each.casefold(): each for each in connection.scalars(select(SETUPS.c.name))}
    near = [names[each] for each in get_close_matches(name.casefold(), names, n=3, cutoff=0.5)]
    hint = f": did you mean {' or '.join(map(repr, near))}?" if near else ""
    raise InputError(f"there is no setup {name!r}{hint}")


def _there(connection: Connection, name: str, *, lock: bool = False) -> Any:
    row = _required_row(connection, name, lock=lock)
    if row.deleted_at is not None:
        raise InputError(f"the setup {row.name!r} is deleted: restore it first")
    return row


def _versions() -> Select[Any]:
    return select(
        SETUPS.c.id, SETUPS.c.deleted_at, *(each for each in SETUP_VERSIONS.c if each.name != "setup_id")
    ).join(SETUP_VERSIONS, SETUP_VERSIONS.c.setup_id == SETUPS.c.id)


def _kept(row: Any) -> KeptSetup:
    content = str(row.document).encode("utf-8")  # str: a damaged file gives bytes back, too
    what = f"version {row.version} of setup {row.id}"
    if sha256_of(content) != row.sha256:
        raise damaged(what, "its SHA-256 is another")
    setup = setup_of(row.document, what)
    return KeptSetup(
        setup.name, row.version, row.made_at, row.by, row.reason, row.sha256, setup, row.deleted_at
    )


def setup_words(setup: Setup) -> str:
    """What a setup is found by."""
    sources = [each.source for each in (setup.specification, setup.over_tension) if each is not None]
    texts = [setup.name, setup.engine, setup.belt, setup.span_name, *sources, setup.notes]
    return indexed(("", text) for text in texts)


def _occurs(wanted: Sequence[Sequence[str]], words: list[str]) -> bool:
    return any(all(any(word.startswith(each) for word in words) for each in one) for one in wanted)
