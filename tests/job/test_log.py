"""The log's entries: what a fact must say, and which words of it are kept for ever."""

from typing import Any

import pytest
from pydantic import ValidationError

from tensionear.job.log import FACT, LogEntry
from tensionear.job.passes import STEP_OF, PassKind, Step
from tests.job.invented import invented_log, whole_job

SHA256 = "ab" * 32

KINDS = {
    "job opened", "setup taken", "cautions acknowledged", "pass begun", "pluck", "pass ended", "step done",
    "step skipped", "turned", "line ticked", "note", "photo", "pluck struck out", "pluck reinstated",
    "detail corrected", "job closed", "job deleted", "job restored", "record made",
}  # fmt: skip


def test_the_kinds_of_facts_are_these() -> None:
    """They stand in every archive and record: one more is welcome, one less or another name loses old jobs."""
    assert set(FACT.json_schema()["discriminator"]["mapping"]) == KINDS


def test_the_words_for_passes_and_steps_are_these() -> None:
    """They too stand in every archive and record."""
    assert [*PassKind] == ["over-tension", "run-in", "final setting", "re-check"]
    assert [*Step] == [
        "cautions", "over-tension", "locking tools out", "run-in", "top dead centre", "final setting", "re-check",
    ]  # fmt: skip
    assert all(STEP_OF[kind].value == kind.value for kind in PassKind)


@pytest.mark.parametrize(
    ("fact", "match"),
    [
        ({"kind": "step skipped", "step": "run-in", "reason": " "}, "reason\n.*at least 1 character"),
        ({"kind": "step skipped", "step": "run-in"}, "reason\n.*required"),
        ({"kind": "step skipped", "step": "run-in", "reason": "x" * 201}, "at most 200 characters"),
        ({"kind": "pluck struck out", "pluck_number": 1, "reason": ""}, "at least 1 character"),
        ({"kind": "pluck reinstated", "pluck_number": 1, "reason": ""}, "at least 1 character"),
        ({"kind": "pluck struck out", "pluck_number": 0, "reason": "a door"}, "greater than or equal to 1"),
        (
            {"kind": "detail corrected", "name": "vehicle", "before": "", "after": "x", "reason": ""},
            "at least 1 character",
        ),
        ({"kind": "job deleted", "reason": ""}, "at least 1 character"),
        ({"kind": "step done", "step": "over-tension"}, "Input should be .*TOOLS_OUT.* or .*TOP_DEAD_CENTRE"),
        ({"kind": "turned", "revolutions": 0.0, "direction": None}, "greater than 0"),
        ({"kind": "turned", "revolutions": -1.0, "direction": None}, "greater than 0"),
        ({"kind": "turned", "revolutions": 101.0, "direction": None}, "less than or equal to 100"),
        ({"kind": "turned", "revolutions": 2.0, "direction": "left"}, "'clockwise' or 'anticlockwise'"),
        ({"kind": "turned", "revolutions": 2.0}, "direction\n.*required"),
        ({"kind": "note", "text": " \n"}, "at least 1 character"),
        ({"kind": "note", "text": "x" * 10_001}, "at most 10000 characters"),
        ({"kind": "photo", "sha256": SHA256, "media_type": "image/svg+xml"}, "'image/jpeg', 'image/png'"),
        ({"kind": "photo", "sha256": "../../etc", "media_type": "image/png"}, "should match pattern"),
        ({"kind": "record made", "record_number": 0, "record_sha256": SHA256}, "greater than or equal to 1"),
        ({"kind": "cautions acknowledged", "cautions": ["\x1b[2J"]}, "control character"),
        ({"kind": "pass begun", "pass_number": 1, "pass_kind": "trial"}, "'over-tension', 'run-in'"),
    ],
)
def test_a_fact_that_does_not_say_what_it_must_is_refused(fact: dict[str, Any], match: str) -> None:
    with pytest.raises(ValidationError, match=rf"(?s){match}"):
        FACT.validate_python(fact)


def test_an_entry_is_numbered_from_1() -> None:
    content = invented_log()[0].model_dump()
    with pytest.raises(ValidationError, match="greater than or equal to 1"):
        LogEntry.model_validate({**content, "number": 0})


def test_an_entry_cannot_be_changed() -> None:
    entry = invented_log(whole_job())[4]
    with pytest.raises(ValidationError, match="Instance is frozen"):
        entry.by = "someone else"
    with pytest.raises(ValidationError, match="Instance is frozen"):
        entry.fact.kind = "note"
