"""The JSON Schema of a report: the common file, and one file for each estimate beside it."""

import json
from pathlib import Path

FOLDER = Path(__file__).parent / "schema"


def report_schema() -> dict:
    """The whole schema: every file of schema/estimates is one more required key, named as the file."""
    schema = json.loads((FOLDER / "report.schema.json").read_text(encoding="utf-8"))
    for path in sorted((FOLDER / "estimates").glob("*.json")):
        schema["properties"][path.stem] = json.loads(path.read_text(encoding="utf-8"))
        schema["required"].append(path.stem)
    return schema
