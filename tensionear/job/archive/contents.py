"""Sound and photos, by the hash of their bytes: the same bytes are kept once, however many jobs name them."""

from sqlalchemy import Connection, select

from tensionear.errors import InputError
from tensionear.job.archive.connection import OpenArchive, upsert
from tensionear.job.archive.stored import damaged
from tensionear.job.archive.tables import CONTENTS, JOB_CONTENTS
from tensionear.job.sha256 import sha256_of


class ArchiveContents(OpenArchive):
    """The contents of an archive."""

    def content(self, sha256: str) -> bytes:
        """Bytes of a sound or a photo.

        Parameters
        ----------
        sha256 : str
            Of the bytes.

        Raises
        ------
        InputError
            If the archive has none such.
        ArchiveError
            If they are not what was put in, or the database complains.
        """
        with self.reading() as connection:
            found = connection.scalar(select(CONTENTS.c.content).where(CONTENTS.c.sha256 == sha256))
        if found is None:
            raise InputError(f"the archive has no sound or photo of SHA-256 {sha256}")
        content = bytes(found)
        if sha256_of(content) != sha256:
            raise damaged(f"the sound or photo {sha256[:12]}…", "its SHA-256 is another")
        return content


def keep_content(connection: Connection, job_id: int, content: bytes, media_type: str) -> str:
    """Keep bytes for a job, and give their SHA-256."""
    sha256 = sha256_of(content)
    connection.execute(
        upsert(connection, CONTENTS)
        .values(sha256=sha256, media_type=media_type, content=content)
        .on_conflict_do_nothing()
    )
    connection.execute(
        upsert(connection, JOB_CONTENTS).values(job_id=job_id, sha256=sha256).on_conflict_do_nothing()
    )
    return sha256
