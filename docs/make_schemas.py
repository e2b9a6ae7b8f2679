"""Write the JSON Schemas of what tensionear writes and reads; a test holds the files to the code.

``python3 docs/make_schemas.py`` writes them anew after a document has changed.
"""

import json
from pathlib import Path
from typing import Any

from tensionear.job.setup_file import setup_file_schema

FOLDER = Path(__file__).parent / "schemas"


def schemas() -> dict[str, dict[str, Any]]:
    """Every schema by the name of its file."""
    return {"setup-1.schema.json": setup_file_schema()}


def text_of(schema: dict[str, Any]) -> str:
    """A schema as it stands in its file."""
    return json.dumps(schema, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, schema in schemas().items():
        (FOLDER / name).write_text(text_of(schema), encoding="utf-8")
