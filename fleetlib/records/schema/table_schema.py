"""The record as a Table Schema (the Frictionless open standard), so that other tools can check a cleaned file.

The JSON ships beside this module and is made from `columns.py`; a test keeps the two the same.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from fleetlib.records.schema.columns import COLUMNS, Column

SCHEMA_FILE = Path(__file__).with_name("flips.schema.json")


def table_schema() -> dict[str, Any]:
    """The schema of a cleaned flips.csv: every canonical column with its type, meaning, unit and bounds."""
    return {
        "$schema": "https://datapackage.org/profiles/2.0/tableschema.json",
        "name": "flips",
        "title": "Flips: one row a piece, sold or not",
        "fields": [_field(c) for c in COLUMNS],
        "missingValues": [""],
    }


def schema_text() -> str:
    """The schema as the text of flips.schema.json."""
    return json.dumps(table_schema(), indent=2, ensure_ascii=False) + "\n"


def _field(column: Column) -> dict[str, Any]:
    made: dict[str, Any] = {
        "name": column.name,
        "title": column.name.replace("_", " "),
        "type": "date" if column.kind == "date" else "number" if column.is_number else "string",
        "description": column.meaning,
    }
    if column.unit:
        made["unit"] = column.unit
    constraints: dict[str, Any] = {}
    if column.name in ("furniture_type", "piece"):
        constraints["required"] = True
    if column.low is not None and column.high is not None:
        constraints |= {"minimum": column.low, "maximum": column.high}
    if constraints:
        made["constraints"] = constraints
    return made
