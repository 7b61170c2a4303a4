"""Prints the JSON Schema of the record: `python docs/write_schema.py > docs/record.schema.json`."""

import json
import sys

from zonule.record import OperationRecord


def schema_text() -> str:
    """The schema as the file holds it."""
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema"}
    schema |= OperationRecord.model_json_schema(mode="serialization")
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.stdout.write(schema_text())
