"""Documents: the same after being written and read, closed to all that is not known, and the very same span again."""

import math
import unicodedata
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from tensionear.belt.comparison import Baseline
from tensionear.belt.estimate import Estimate
from tensionear.job.canonical_json import read_canonical, write_canonical
from tensionear.job.details import JobDetails
from tensionear.job.document import (
    LONGEST_LINE,
    LONGEST_TEXT,
    Document,
    FilledLine,
    Line,
    MeasuredDocument,
    Text,
    as_line,
)
from tensionear.job.log import (
    FACT,
    DetailCorrected,
    Fact,
    JobDeleted,
    JobRestored,
    LogEntry,
    NoteAdded,
    PhotoAdded,
    PluckReinstated,
    PluckStruckOut,
    RecordMade,
    StepSkipped,
    Turned,
)
from tensionear.job.passes import Step
from tensionear.job.setup import RuleDocument
from tensionear.job.specification_document import BaselineDocument
from tests.job.invented import (
    entries,
    invented_details,
    invented_log,
    invented_pluck,
    invented_setup,
    refused_pluck,
    whole_job,
)

SHA256 = "0123456789abcdef" * 4
FINITE = st.floats(allow_nan=False, allow_infinity=False)

DOCUMENTS: list[Document] = [
    invented_setup(),
    invented_details(),
    JobDetails(),
    invented_pluck(118.0),
    refused_pluck(),
    MeasuredDocument(value=0.1, standard_uncertainty=0.3),
    RuleDocument(asked_probability=0.8),
    BaselineDocument.of(Baseline(Estimate(118.3, 0.1), 5.0, "invented job 17")),
    *invented_log(whole_job()),
    *entries(
        (
            StepSkipped(step=Step.RUN_IN, reason="invented reason"),
            Turned(revolutions=0.5, direction=None),
            PhotoAdded(sha256=SHA256, media_type="image/png"),
            PluckStruckOut(pluck_number=1, reason="a door slammed"),
            PluckReinstated(pluck_number=1, reason="it was another pluck"),
            DetailCorrected(name="odometer_km", before=None, after=121_500.0, reason="was left out"),
            DetailCorrected(
                name="vehicle", before="12", after="13", reason="digits only, and text all the same"
            ),
            JobDeleted(reason="a trial"),
            JobRestored(),
            RecordMade(record_number=1, record_sha256=SHA256),
        )
    ),
]


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda each: type(getattr(each, "fact", each)).__name__)
def test_a_document_is_the_same_after_being_written_and_read(document: Document) -> None:
    kind = type(document)
    assert kind.model_validate_json(document.model_dump_json()) == document
    through_canonical = read_canonical(write_canonical(document.model_dump(mode="json")))
    again = kind.model_validate(through_canonical)
    assert again == document
    assert again.model_dump_json() == document.model_dump_json()


def test_every_kind_of_fact_is_among_the_documents_that_are_read_back() -> None:
    facts = {type(each.fact) for each in DOCUMENTS if isinstance(each, LogEntry)}
    kinds = {tag["const"] for tag in _properties_of(FACT.json_schema(), "kind")}
    assert {fact.model_fields["kind"].default for fact in facts} == kinds


def _properties_of(schema: dict[str, Any], name: str) -> list[dict[str, Any]]:
    return [
        each["properties"][name] for each in schema["$defs"].values() if name in each.get("properties", {})
    ]


@given(value=FINITE, standard_uncertainty=st.floats(0, 1e300), degrees=st.none() | st.floats(1e-300, 1e300))
def test_a_number_is_kept_to_the_last_bit(
    value: float, standard_uncertainty: float, degrees: float | None
) -> None:
    document = MeasuredDocument(
        value=value, standard_uncertainty=standard_uncertainty, degrees_of_freedom=degrees
    )
    canonical = write_canonical(document.model_dump(mode="json"))
    assert MeasuredDocument.model_validate(read_canonical(canonical)) == document
    assert MeasuredDocument.of(document.measured()) == document


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda each: type(getattr(each, "fact", each)).__name__)
def test_no_object_of_a_document_takes_a_field_that_is_not_known(document: Document) -> None:
    content = document.model_dump(mode="json")
    n_objects = 0
    for place in _objects_in(content):
        place["colour"] = "invented"
        with pytest.raises(ValidationError, match="colour\n  Extra inputs are not permitted"):
            type(document).model_validate(content)
        del place["colour"]
        n_objects += 1
    assert n_objects > 0
    assert type(document).model_validate(content) == document


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda each: type(getattr(each, "fact", each)).__name__)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_number_of_a_document_is_nan_or_infinite(document: Document, value: float) -> None:
    content = document.model_dump()
    for place in _objects_in(content):
        for name, kept in list(place.items()):
            if isinstance(kept, float):
                place[name] = value
                with pytest.raises(ValidationError):
                    type(document).model_validate(content)
                place[name] = kept
    assert type(document).model_validate(content) == document


def _objects_in(content: Any) -> list[dict[str, Any]]:
    if isinstance(content, dict):
        return [content, *(found for each in content.values() for found in _objects_in(each))]
    if isinstance(content, list | tuple):
        return [found for each in content for found in _objects_in(each)]
    return []


def test_nan_and_infinity_in_json_are_refused_too() -> None:
    for word in ("NaN", "Infinity", "-Infinity"):
        with pytest.raises(ValidationError, match="finite number"):
            JobDetails.model_validate_json(f'{{"odometer_km": {word}}}')


def test_a_document_cannot_be_changed() -> None:
    details = invented_details()
    with pytest.raises(ValidationError, match="Instance is frozen"):
        details.vehicle = "another"


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        (Line, "x" * LONGEST_LINE), (FilledLine, "x" * LONGEST_LINE), (Text, "x" * LONGEST_TEXT),
        (Line, ""), (Text, "first\n\tsecond\r\nthird"), (Line, "Zofia Żółć, Ευρυδίκη, Гриша, 日本, 🚗"),
    ],
)  # fmt: skip
def test_text_is_kept_as_it_is(kind: Any, text: str) -> None:
    assert TypeAdapter(kind).validate_python(text) == text


@pytest.mark.parametrize(
    ("kind", "text", "match"),
    [
        (Line, "x" * (LONGEST_LINE + 1), "at most 200 characters"),
        (FilledLine, "x" * (LONGEST_LINE + 1), "at most 200 characters"),
        (Text, "x" * (LONGEST_TEXT + 1), "at most 10000 characters"),
        (FilledLine, " \t ", "at least 1 character"),
        (Text, "\n \n", "at least 1 character"),
        (Line, "two\nlines", "control character '.n'"),
        (Line, "\x1b[2J", "control character '.x1b'"),
        (Text, "\x1b[2J", "control character '.x1b'"),
        (Text, "a\x00b", "control character '.x00'"),
        (Line, "a\x9bb", "control character '.x9b'"),
        (Line, "\udcff", "valid string|valid unicode|surrogates"),
    ],
)
def test_text_that_is_too_long_empty_or_commands_a_terminal_is_refused(
    kind: Any, text: str, match: str
) -> None:
    with pytest.raises(ValidationError, match=match):
        TypeAdapter(kind).validate_python(text)


def test_a_moment_without_its_offset_is_refused() -> None:
    content = invented_log()[0].model_dump(mode="json")
    with pytest.raises(ValidationError, match="timezone"):
        LogEntry.model_validate({**content, "at": "2026-03-02T09:00:00"})


def test_a_moment_keeps_its_offset_and_its_microseconds() -> None:
    content = {**invented_log()[0].model_dump(mode="json"), "at": "2026-03-02T09:00:00.000001+05:30"}
    entry = LogEntry.model_validate(content)
    assert entry.model_dump(mode="json")["at"] == content["at"]


def test_a_fact_of_an_unknown_kind_is_refused() -> None:
    with pytest.raises(ValidationError, match="does not match any of the expected tags"):
        FACT.validate_python({"kind": "belt changed", "text": "invented"})


@given(st.text(max_size=50))
def test_whatever_text_a_note_takes_comes_back(text: str) -> None:
    try:
        note: Fact = NoteAdded(text=text)
    except ValidationError:
        assert not text.strip() or any(unicodedata.category(each) in ("Cc", "Cs") for each in text)
    else:
        assert FACT.validate_json(FACT.dump_json(note)) == note


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("run-in.flac", "run-in.flac"),
        ("two\nlines.flac", "two\ufffdlines.flac"),
        ("caf\udce9.flac", "caf\ufffd.flac"),
        ("x" * 255, "x" * 200),
        ("x" * 199 + " y", "x" * 199),
    ],
    ids=ascii,
)
def test_a_name_that_no_person_typed_is_made_a_line_that_can_be_kept(name: str, line: str) -> None:
    assert as_line(name) == line
    assert TypeAdapter(Line).validate_python(line) == line


@given(st.text(max_size=300) | st.text(st.characters(categories=["Cs", "Cc", "Zs"]), max_size=300))
def test_any_name_is_made_a_line_that_can_be_kept(name: str) -> None:
    assert TypeAdapter(Line).validate_python(as_line(name)) == as_line(name)
