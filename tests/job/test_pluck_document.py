"""A pluck that was kept is what the estimator made of it, read or refused."""

from typing import Any

import pytest
from pydantic import BaseModel, ValidationError

from tensionear.job.pluck_document import PluckDocument, ReadingDocument, RefusalDocument, outcome_document
from tensionear.metrology.uncertainty import Measured
from tensionear.pluck.outcome import PluckReading, PluckRefusal, RefusalReason, Rival
from tests.job.invented import (
    invented_pluck,
    refused_pluck,
)


@pytest.mark.parametrize(
    "pluck", [invented_pluck(118.0), refused_pluck(RefusalReason.RIVALS)], ids=["read", "refused"]
)
def test_what_became_of_a_pluck_is_kept_whole(pluck: PluckDocument) -> None:
    outcome = pluck.outcome.pluck_outcome()
    assert outcome_document(outcome) == pluck.outcome
    kept = PluckDocument.model_validate_json(pluck.model_dump_json())
    assert kept.outcome.pluck_outcome() == outcome


def test_a_refusal_keeps_its_reason_explanation_and_rivals() -> None:
    refusal = PluckRefusal(
        1.5, RefusalReason.RIVALS, "two spans answer", 21.0, (Rival(118.0, 0.5), Rival(59.0, 0.4))
    )
    kept = outcome_document(refusal)
    assert isinstance(kept, RefusalDocument)
    assert RefusalDocument.model_validate_json(kept.model_dump_json()).pluck_outcome() == refusal


def test_the_fundamental_is_that_of_the_reading_and_none_of_a_refusal() -> None:
    assert invented_pluck(118.0, standard_uncertainty_hz=0.05).fundamental == Measured(118.0, 0.05)
    assert refused_pluck().fundamental is None


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"fundamental_hz": 0.0}, "greater than 0"),
        ({"fundamental_hz": -118.0}, "greater than 0"),
        ({"fundamental_standard_uncertainty_hz": -0.1}, "greater than or equal to 0"),
        ({"outcome": "guessed"}, "'reading'"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(changes: dict[str, Any], match: str) -> None:
    content = invented_pluck(118.0).outcome.model_dump()
    with pytest.raises(ValidationError, match=match):
        ReadingDocument.model_validate({**content, **changes})


def test_a_reading_knows_nothing_that_its_document_does_not_keep() -> None:
    documents: dict[type, type[BaseModel]] = {PluckReading: ReadingDocument, PluckRefusal: RefusalDocument}
    for known, document in documents.items():
        assert set(known.__dataclass_fields__) == set(document.model_fields) - {"outcome"}  # type: ignore[attr-defined]


@pytest.mark.parametrize("sha256", ["", "0" * 63, "0" * 65, "G" * 64, "A" * 64])
def test_a_hash_that_is_none_is_refused(sha256: str) -> None:
    content = invented_pluck(118.0).sound.model_dump()
    with pytest.raises(ValidationError, match="flac_sha256"):
        type(invented_pluck(118.0).sound).model_validate({**content, "flac_sha256": sha256})
