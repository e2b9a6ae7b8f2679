"""A bundle of a job with real sound, made once for all tests of the room."""

from collections.abc import Mapping
from types import MappingProxyType

import pytest

from tensionear.job.archive.opening import open_archive
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.record.record_making import add_record, bundle_files
from tensionear.job.record.record_reading import record_from
from tests.job.recorded_job import JOB, SEALED_AT, do_recorded_job


@pytest.fixture(scope="session")
def recorded_files(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, bytes]:
    """The files of a bundle of `do_recorded_job`, two plucks of each recording, not signed."""
    with open_archive(str(tmp_path_factory.mktemp("recorded") / "archive.sqlite")) as archive:
        do_recorded_job(archive, 2)
        document = add_record(archive, JOB).document
        assert document is not None
        return MappingProxyType(bundle_files(document, archive.content, SEALED_AT))


@pytest.fixture(scope="session")
def recorded_record(recorded_files: Mapping[str, bytes]) -> RecordDocument:
    """The record of that bundle."""
    return record_from(recorded_files["record.json"])
