"""Setups in an archive."""

import pytest
from sqlalchemy import text

from tensionear.errors import ArchiveError, InputError
from tensionear.job.archive.archive import Archive
from tensionear.job.canonical_json import write_canonical
from tensionear.job.sha256 import sha256_of
from tests.job.invented import invented_setup

NAME = "Example Four, long span"


def test_a_setup_comes_back_as_it_was_given(archive: Archive) -> None:
    kept = archive.setup(NAME)
    assert kept.setup == invented_setup()
    assert (kept.name, kept.version, kept.by, kept.deleted_at) == (NAME, 1, "Zofia Żółć", None)
    assert archive.setup("EXAMPLE four,  LONG span") == kept


def test_its_hash_is_of_its_canonical_json(archive: Archive) -> None:
    kept = archive.setup(NAME)
    assert kept.sha256 == sha256_of(write_canonical(invented_setup().model_dump(mode="json")))


def test_a_change_makes_a_version_and_keeps_the_one_before(archive: Archive) -> None:
    changed = invented_setup(engine="another invented engine")
    second = archive.change_setup(NAME, changed, "it was another engine", by="Ada")
    assert (second.version, second.reason, second.by) == (2, "it was another engine", "Ada")
    assert archive.setup(NAME) == second
    assert archive.setup(NAME, 1).setup == invented_setup()
    assert [each.version for each in archive.setup_versions(NAME)] == [1, 2]


def test_a_change_needs_a_reason_a_difference_and_the_same_name(archive: Archive) -> None:
    with pytest.raises(InputError, match="A reason is needed"):
        archive.change_setup(NAME, invented_setup(engine="x"), " ")
    with pytest.raises(InputError, match="like that already, in version 1"):
        archive.change_setup(NAME, invented_setup(), "why not")
    with pytest.raises(InputError, match="cannot become 'Other'"):
        archive.change_setup(NAME, invented_setup(name="Other"), "why not")


def test_a_name_is_given_once_whatever_its_case(archive: Archive) -> None:
    with pytest.raises(InputError, match="there is a setup 'Example Four, long span'"):
        archive.add_setup(invented_setup(name=NAME.upper()))


def test_a_setup_that_is_not_there_is_answered_with_near_names(archive: Archive) -> None:
    with pytest.raises(InputError, match="did you mean 'Example Four, long span'"):
        archive.setup("Exmaple Four long")
    with pytest.raises(InputError, match=r"there is no setup 'zzz'$"):
        archive.setup("zzz")
    with pytest.raises(InputError, match="has versions 1 to 1, and no 2"):
        archive.setup(NAME, 2)


def test_setups_are_found_by_beginnings_of_words_in_their_last_version(archive: Archive) -> None:
    archive.add_setup(invented_setup(name="Łódź short span", engine="inline"))
    archive.change_setup(NAME, invented_setup(engine="vee"), "it is a vee")
    assert [each.name for each in archive.setups()] == [NAME, "Łódź short span"]
    assert [each.name for each in archive.setups("lodz SHO")] == ["Łódź short span"]
    assert [each.version for each in archive.setups("vee")] == [2]
    assert archive.setups("four nothing") == []
    assert archive.setups("--") == []


def test_a_deleted_setup_is_out_of_the_way_and_can_be_brought_back(archive: Archive) -> None:
    archive.delete_setup(NAME, "mistyped", by="Ada")
    assert archive.setups() == []
    assert [each.name for each in archive.setups(deleted=True)] == [NAME]
    assert archive.setup(NAME).deleted_at is not None
    with pytest.raises(InputError, match="was deleted: restore it"):
        archive.add_setup(invented_setup())
    with pytest.raises(InputError, match="is deleted: restore it first"):
        archive.change_setup(NAME, invented_setup(engine="x"), "why not")
    archive.restore_setup(NAME, by="Ada")
    assert [each.name for each in archive.setups()] == [NAME]
    with pytest.raises(InputError, match="is not deleted"):
        archive.restore_setup(NAME)
    with archive.reading() as connection:
        deeds = connection.execute(
            text("SELECT deed, subject, reason FROM archive_log ORDER BY number")
        ).all()
    assert [tuple(deed) for deed in deeds] == [
        ("setup deleted", NAME, "mistyped"),
        ("setup restored", NAME, ""),
    ]


def test_deleting_a_setup_needs_a_reason(archive: Archive) -> None:
    with pytest.raises(InputError, match="A reason is needed"):
        archive.delete_setup(NAME, "")


def test_a_setup_that_was_changed_behind_the_archives_back_is_not_given_out(archive: Archive) -> None:
    with archive.writing() as connection:
        connection.execute(text("UPDATE setup_versions SET document = replace(document, '380', '280')"))
    with pytest.raises(ArchiveError, match=r"its SHA-256 is another.*salvage"):
        archive.setup(NAME)
