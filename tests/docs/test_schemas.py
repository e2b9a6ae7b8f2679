"""The published JSON Schemas are those of the code, and sound by themselves."""

import re
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from docs.make_schemas import FOLDER, schemas, text_of

NAMES = sorted(schemas())


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_published_as_the_code_has_it(name: str) -> None:
    """If this fails: python3 docs/make_schemas.py."""
    assert (FOLDER / name).read_text(encoding="utf-8") == text_of(schemas()[name])


def test_nothing_else_is_published() -> None:
    assert sorted(path.name for path in FOLDER.iterdir()) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_a_schema_is_one_by_the_standards_own_schema(name: str) -> None:
    Draft202012Validator.check_schema(schemas()[name])


@pytest.mark.parametrize("name", NAMES)
def test_every_pattern_can_be_read_by_other_validators(name: str) -> None:
    patterns = list(_patterns(schemas()[name]))
    assert all(re.compile(pattern) and "\\p" not in pattern for pattern in patterns)


@pytest.mark.parametrize("name", NAMES)
def test_every_object_is_closed(name: str) -> None:
    objects = [each for each in _objects(schemas()[name]) if "properties" in each]
    assert objects
    assert all(each.get("additionalProperties") is False for each in objects)


def _objects(schema: Any) -> list[dict[str, Any]]:
    if isinstance(schema, list):
        return [found for each in schema for found in _objects(each)]
    if not isinstance(schema, dict):
        return []
    return [schema, *(found for each in schema.values() for found in _objects(each))]


def _patterns(schema: Any) -> list[str]:
    return [each["pattern"] for each in _objects(schema) if isinstance(each.get("pattern"), str)]
