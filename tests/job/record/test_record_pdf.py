"""The record's PDF, read back with pypdf, which has no code in common with the library that writes it."""

import functools
import io
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from tensionear.job.record.pdf.pdf_content import (
    CorrectionRow,
    ExpertContent,
    Fact,
    PassReadings,
    PdfContent,
    Photo,
    VerdictStatement,
)
from tensionear.job.record.pdf.record_pdf import PageSize, record_pdf
from tensionear.pass_ladder_picture import LadderPass, PassLadder
from tests.job.invented_pdf_content import CONTENT, DEMONSTRATION, EXPERT, LADDER, READ, RECORD_SHA256, photo

EXIF_ORIENTATION, EXIF_ARTIST, TURNED_BY_90 = 0x0112, 0x013B, 6
"""Exif 2.3, table 4: tags and the value for a picture that is to be turned clockwise (from memory)."""


drawn_once = functools.cache(record_pdf)


def read_back(content: PdfContent, page_size: PageSize = PageSize.A4) -> PdfReader:
    return PdfReader(io.BytesIO(drawn_once(content, page_size)))


def words(pdf: PdfReader) -> list[str]:
    """Each page's words, with single spaces between them."""
    return [" ".join(page.extract_text().split()) for page in pdf.pages]


def texts(value: Any) -> list[str]:
    """Every text of a content, however deep, but for those of the ladder, which is a picture."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, tuple):
        return [text for each in value for text in texts(each)]
    if isinstance(value, (PassLadder, bytes)) or not hasattr(value, "__dataclass_fields__"):
        return []
    return [text for field in fields(value) for text in texts(getattr(value, field.name))]


def test_first_page_tells_the_customer_who_what_and_the_verdict() -> None:
    first = words(read_back(CONTENT))[0]
    for said in (
        "Record of timing-belt tension",
        "Invented workshop 'Example Garage'",
        "Invented engine 'Example Four'",
        "In band",
        "402.6 N ± 5.1 N",
        "380 N to 460 N",
        "The belt's tension lies within the band.",
        "final setting 2026-10-14 09:48 2 of 3 402.6 5.1 380 to 460 in band",
        "Run-in: the tension fell by 3.1 % in four revolutions.",
        "Technician: A. Example Date Signature",
        f"SHA-256 of the record: {RECORD_SHA256}",
        "procedure, values and torques win",
    ):
        assert said in first


def test_every_text_of_the_content_is_on_some_page() -> None:
    said = "".join(words(read_back(CONTENT))).replace(" ", "").replace("−", "-")
    unsaid = [text for text in texts(CONTENT) if "".join(text.split()) not in said]
    assert unsaid == []


def test_every_section_for_the_expert_is_there_and_an_empty_one_says_none() -> None:
    behind = " ".join(words(read_back(replace(CONTENT, expert=ExpertContent())))[1:])
    for number, section in enumerate(
        (
            "Readings",
            "Plucks refused, marked or struck out",
            "Run-in",
            "Uncertainty budget",
            "Specification",
            "Decision rule",
            "Span and belt",
            "Instruments and software",
            "Checklist",
            "Skipped steps",
            "Corrections",
            "Cautions",
            "Notes",
            "Photos",
        ),
        start=1,
    ):
        assert f"{number} {section} None." in behind


def test_no_heading_of_a_table_is_broken_within_a_word() -> None:
    said = " ".join(words(read_back(CONTENT)))
    for heading in (
        "Revolution",
        "Fundamental [Hz]",
        "Support",
        "Result",
        "Distribution",
        "Contribution [N]",
    ):
        assert heading in said


def test_pages_have_the_size_that_was_asked_for_and_a4_is_the_default() -> None:
    # ISO 216: 210 mm by 297 mm; ANSI: 8.5 in by 11 in (from memory); 72 points to the inch.
    for size, (width, height) in {
        PageSize.A4: (210 / 25.4 * 72, 297 / 25.4 * 72),
        PageSize.LETTER: (612.0, 792.0),
    }.items():
        for page in read_back(CONTENT, size).pages:
            assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx(
                [width, height], abs=0.01
            )
    assert record_pdf(CONTENT) == record_pdf(CONTENT, PageSize.A4)


@pytest.mark.parametrize("size", PageSize)
def test_a_short_job_has_a_page_for_the_customer_and_one_for_the_expert(size: PageSize) -> None:
    short = replace(CONTENT, expert=replace(EXPERT, photos=()))
    pages = words(read_back(short, size))
    assert len(pages) == 2
    assert "1 Readings" not in pages[0]
    assert "SHA-256" not in pages[1]


def test_every_page_has_job_number_short_hash_and_page_x_of_y_in_its_footer() -> None:
    pages = words(read_back(CONTENT))
    assert len(pages) > 1
    for number, page in enumerate(pages, start=1):
        assert f"Job 2026-0143 record {RECORD_SHA256[:12]} page {number} of {len(pages)}" in page


def test_a_demonstration_is_marked_on_every_page_and_a_real_job_on_none() -> None:
    assert all(DEMONSTRATION in page for page in words(read_back(CONTENT)))
    assert not any("DEMONSTRATION" in page for page in words(read_back(replace(CONTENT, demonstration=""))))


@pytest.mark.parametrize("size", PageSize)
def test_every_face_is_embedded_and_cut_down_to_the_letters_that_are_used(size: PageSize) -> None:
    names = set()
    for page in read_back(CONTENT, size).pages:
        resources: Any = page["/Resources"]
        for reference in resources["/Font"].values():
            font = reference.get_object()
            descriptor = font["/FontDescriptor"].get_object()
            names.add(str(font["/BaseFont"]).partition("+")[2])
            assert str(font["/BaseFont"])[7] == "+"  # ISO 32000-1, 9.6.4: six letters and + mark a subset
            assert 0 < len(descriptor["/FontFile2"].get_object().get_data()) < 100_000
    assert {"DejaVuSans", "DejaVuSans-Bold"} <= names


@pytest.mark.parametrize(
    "name", ["Łukasz Żółć-Gęślą", "Ελένη Παπαδάκη", "Щербаков Ёж Київ", "Ångström & <b>Şen</b> $x$ 5 µm"]
)
def test_names_of_many_languages_are_there_as_they_were_typed(name: str) -> None:
    content = replace(CONTENT, facts=(Fact("Technician", name),), signatories=(name,), workshop=name)
    first = words(read_back(content))[0]
    assert first.count(name) == 3
    assert "typeface lacks" not in first


def test_letters_that_the_typeface_lacks_are_told_in_a_footnote() -> None:
    named = replace(CONTENT, facts=(Fact("Technician", "张伟"),))
    first = words(read_back(named))[0]
    assert "[U+5F20 U+4F1F]" in first
    assert "record.json has them as they were typed" in first
    behind = replace(CONTENT, expert=replace(EXPERT, notes="张"))
    assert "record.json has them as they were typed" in words(read_back(behind))[0]


def test_properties_name_the_job_and_no_person() -> None:
    properties = read_back(CONTENT).metadata
    assert properties is not None
    assert properties.title == "Record of timing-belt tension, job 2026-0143"
    assert not properties.author
    assert properties.creator == "tensionear 0.0"
    assert properties.creation_date == CONTENT.drawn_up_at
    assert "Example" not in "".join(str(value) for value in properties.values())


def test_one_content_gives_one_file_whatever_the_clock_and_time_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    pdf = record_pdf(CONTENT)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    elsewhere = CONTENT.drawn_up_at.astimezone(timezone(timedelta(hours=5)))
    assert record_pdf(replace(CONTENT, drawn_up_at=elsewhere)) == pdf
    assert record_pdf(replace(CONTENT, drawn_up_at=datetime(2026, 10, 16, tzinfo=UTC))) != pdf


@pytest.mark.parametrize("size", PageSize)
def test_the_ladder_is_on_the_first_page_at_300_dots_per_inch(size: PageSize) -> None:
    page = read_back(CONTENT, size).pages[0]
    (picture,) = page.images
    assert picture.image is not None
    width_points = float(page.mediabox.width) - 2 * 20 / 25.4 * 72
    assert picture.image.width == pytest.approx(300 * width_points / 72, abs=2)
    assert len(set(np.asarray(picture.image.convert("L")).ravel())) > 10


def test_a_job_without_any_reading_says_no_verdict_and_draws_no_figure() -> None:
    refused = replace(
        CONTENT,
        verdict=VerdictStatement("No verdict", "No pluck could be read, so nothing is known of the tension."),
        ladder=PassLadder((LadderPass("over-tension", n_refused=6),)),
        passes=(),
        run_in_sentence="",
        expert=ExpertContent(),
    )
    first = words(read_back(refused))[0]
    assert "No verdict No pluck could be read" in first
    assert "No pass was made." in first
    assert "±" not in first
    assert "in band" not in first.lower()
    assert "Run-in" not in first


def test_a_long_table_runs_on_under_its_name_and_heading() -> None:
    long = replace(EXPERT, readings=(PassReadings("final setting", (READ,) * 150),))
    pages = [page for page in words(read_back(replace(CONTENT, expert=long))) if "09:48:05" in page]
    assert len(pages) == 3
    assert sum(page.count("09:48:05") for page in pages) == 150
    assert all("final setting No. Time Revolution" in page for page in pages)


def test_texts_longer_than_a_page_are_said_to_the_end() -> None:
    told = " ".join(f"word{n}" for n in range(1200))
    long = replace(
        EXPERT,
        notes=told + " end-of-notes",
        corrections=(CorrectionRow("notes", told, "", "", "", "end-of-it"),),
    )
    content = replace(CONTENT, expert=long, job_number="J" * 300, workshop="W" * 300)
    said = " ".join(words(read_back(content)))
    assert all(f"word{n}" in said for n in range(1200))
    assert "end-of-notes" in said
    assert said.count("W") >= 300


LONG = " ".join(f"word{n}" for n in range(1000))


@pytest.mark.parametrize(
    "content",
    [
        replace(CONTENT, facts=(Fact("Vehicle", LONG),)),
        replace(CONTENT, workshop=LONG),
        replace(CONTENT, signatories=(LONG,)),
        replace(CONTENT, verdict=VerdictStatement(LONG, "")),
        replace(CONTENT, passes=(replace(CONTENT.passes[0], name=LONG),)),
        replace(CONTENT, expert=replace(EXPERT, photos=(Photo(photo(), LONG), Photo(photo(), "short")))),
        replace(CONTENT, expert=replace(EXPERT, specification=(Fact("source", LONG),))),
    ],
    ids=["fact", "workshop", "signatory", "verdict", "pass", "caption", "specification"],
)
def test_no_text_is_too_long_to_be_laid_out(content: PdfContent) -> None:
    said = set(" ".join(words(read_back(content))).split())
    assert set(LONG.split()) <= said


def test_the_picture_gives_way_so_that_a_talkative_first_page_is_still_one() -> None:
    wordy = replace(CONTENT, facts=tuple(Fact(f"fact {n}", "told at some length " * 3) for n in range(12)))
    pages = words(read_back(wordy))
    assert "SHA-256" in pages[0]
    assert "1 Readings" in pages[1]


def test_many_passes_run_on_to_a_second_page_and_nothing_is_lost() -> None:
    many = replace(
        CONTENT,
        ladder=PassLadder(LADDER.passes * 6),
        passes=tuple(replace(CONTENT.passes[1], name=f"re-check {n}") for n in range(18)),
    )
    pages = words(read_back(many))
    said = " ".join(pages[:2])
    assert all(f"re-check {n} 2026" in said for n in range(18))
    assert "Date Signature" in said
    assert "1 Readings" in pages[2]


def test_photos_are_upright_and_keep_neither_place_nor_owner() -> None:
    exif = Image.Exif()
    exif[EXIF_ORIENTATION], exif[EXIF_ARTIST] = TURNED_BY_90, "A. Secret"
    given = photo(320, 240, exif)
    assert b"A. Secret" in given
    expert = replace(EXPERT, photos=(Photo(given, "turned"),))
    pdf = record_pdf(replace(CONTENT, expert=expert))
    (placed,) = PdfReader(io.BytesIO(pdf)).pages[-1].images
    assert placed.image is not None
    assert placed.image.size == (240, 320)
    grey = np.asarray(placed.image.convert("L"))
    # The left half was black: turned clockwise it is the upper one.
    assert grey[:150].mean() < 10
    assert grey[170:].mean() > 245
    assert b"Secret" not in placed.data
    assert not placed.image.getexif()


def test_a_photo_that_cannot_be_read_is_said_and_the_others_are_shown() -> None:
    photos = (
        Photo(b"no picture", "damaged.jpg"),
        Photo(photo()[:400], "torn.jpg"),
        Photo(photo(), "whole.jpg"),
    )
    pdf = read_back(replace(CONTENT, expert=replace(EXPERT, photos=photos)))
    said = " ".join(words(pdf))
    assert said.count("file cannot be read as a picture") == 2
    assert all(caption in said for caption in ("damaged.jpg", "torn.jpg", "whole.jpg"))
    assert len(pdf.pages[-1].images) == 1


def test_hertz_stand_in_the_headings_where_no_span_is_known() -> None:
    first = words(read_back(replace(CONTENT, unit="Hz", ladder=replace(LADDER, unit="Hz"))))[0]
    assert "Mean [Hz] ± [Hz] Band [Hz]" in first
