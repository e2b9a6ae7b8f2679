"""Write the JSON Schemas of what tensionear writes and reads; a test holds the files to the code.

``python3 docs/make_schemas.py`` writes them anew after a document has changed.
"""

import json
from pathlib import Path
from typing import Any

from tensionear.job.bundle.seal import Seal
from tensionear.job.document import Document
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.setup_file import setup_file_schema

FOLDER = Path(__file__).parent / "schemas"


def schemas() -> dict[str, dict[str, Any]]:
    """Every schema by the name of its file."""
    return {
        "setup-1.schema.json": setup_file_schema(),
        "record-1.schema.json": _schema_of_written(RecordDocument, "record, version 1"),
        "seal-1.schema.json": _schema_of_written(Seal, "seal, version 1"),
    }


def text_of(schema: dict[str, Any]) -> str:
    """A schema as it stands in its file."""
    return json.dumps(schema, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _schema_of_written(document: type[Document], title: str) -> dict[str, Any]:
    """Schema of a document that nobody writes by hand: every name of it is always there."""
    schema = document.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": title}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, schema in schemas().items():
        (FOLDER / name).write_text(text_of(schema), encoding="utf-8")
