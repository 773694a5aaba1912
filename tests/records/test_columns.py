"""The description of the columns, and the schema that ships."""

from __future__ import annotations

import itertools
import json

from fleetlib.records.files.headings import SIZE, match_heading
from fleetlib.records.schema.columns import COLUMN, COLUMNS, DERIVED_NAMES, NAMES, SIZE_HEADINGS
from fleetlib.records.schema.table_schema import SCHEMA_FILE, schema_text, table_schema


def test_no_heading_means_two_columns() -> None:
    headings = [h for c in COLUMNS for h in (c.name, *c.headings)] + list(SIZE_HEADINGS)
    found = {h: match_heading(h) for h in headings}
    for column in COLUMNS:
        for heading in (column.name, *column.headings):
            match = found[heading]
            assert match is not None and match.column == column.name, heading
    for heading in SIZE_HEADINGS:
        match = found[heading]
        assert match is not None and match.column == SIZE


def test_every_column_says_what_it_means_and_every_number_has_bounds() -> None:
    for column in COLUMNS:
        assert column.meaning.endswith(".")
        if column.is_number:
            assert column.low is not None and column.high is not None and column.unit
    assert not set(NAMES) & set(DERIVED_NAMES)


def test_the_shipped_schema_is_the_one_the_columns_make() -> None:
    rebuild = (
        "from fleetlib.records.schema.table_schema import SCHEMA_FILE, schema_text; "
        "SCHEMA_FILE.write_text(schema_text(), 'utf-8')"
    )
    same = SCHEMA_FILE.read_text("utf-8") == schema_text()
    assert same, f'columns.py has changed. Rebuild the schema: python -c "{rebuild}"'
    fields = {f["name"]: f for f in json.loads(SCHEMA_FILE.read_text("utf-8"))["fields"]}
    assert list(fields) == list(NAMES)
    assert fields["sale_price"]["type"] == "number"
    assert fields["sold_on"]["type"] == "date"
    assert fields["hours"]["constraints"] == {"minimum": 0.0, "maximum": COLUMN["hours"].high}


def test_the_schema_names_each_field_once() -> None:
    names = [f["name"] for f in table_schema()["fields"]]
    assert all(a != b for a, b in itertools.pairwise(sorted(names)))
