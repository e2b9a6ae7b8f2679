"""The published schemas are those of the program."""

import json
from pathlib import Path

import jsonschema
import pytest

from docs.make_schemas import FOLDER, schemas, text_of

NAMES = sorted(schemas())


def test_every_published_schema_is_made_by_the_script() -> None:
    assert sorted(path.name for path in Path(FOLDER).iterdir()) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_a_published_schema_is_that_of_the_program(name: str) -> None:
    assert (FOLDER / name).read_text("utf-8") == text_of(schemas()[name]), "start docs/make_schemas.py"


@pytest.mark.parametrize("name", NAMES)
def test_a_published_schema_is_a_schema(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads((FOLDER / name).read_text("utf-8")))
