"""The cleaned record against the Table Schema standard, by the `frictionless` library (Frictionless Data)."""

from __future__ import annotations

import warnings
from datetime import date
from pathlib import Path

import pytest

from fleetlib.records.cleaning.clean import read_flips, write_flips
from fleetlib.records.folder import read_records
from fleetlib.records.schema.columns import NAMES
from fleetlib.records.schema.table_schema import table_schema

with warnings.catch_warnings():
    warnings.simplefilter(
        "ignore"
    )  # frictionless 5.18 imports with deprecation warnings of its own
    frictionless = pytest.importorskip("frictionless")

DEMO = Path(__file__).parents[2] / "data_demo"


def validate(folder: Path, text: str) -> object:
    (folder / "cleaned.csv").write_text(text, encoding="utf-8", newline="")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        schema = frictionless.Schema.from_descriptor(table_schema())
        resource = frictionless.Resource(path="cleaned.csv", basepath=str(folder), schema=schema)
        return resource.validate()


def test_the_schema_is_accepted_by_the_standards_own_library() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        report = frictionless.Schema.validate_descriptor(table_schema())
    assert report.valid, report.flatten(["message"])


@pytest.mark.skipif(not (DEMO / "flips.csv").is_file(), reason="no demo shop in this checkout")
def test_the_cleaned_demo_is_valid_under_the_schema(tmp_path: Path) -> None:
    flips = read_records(DEMO).flips
    report = validate(tmp_path, write_flips(flips[list(NAMES)]))
    assert report.valid, report.flatten(["rowNumber", "fieldName", "message"])[:5]  # type: ignore[attr-defined]


def test_the_schema_finds_fault_with_a_record_that_was_not_cleaned(tmp_path: Path) -> None:
    source = tmp_path / "flips.csv"
    source.write_text("type,sale price\ndesk,300\n", encoding="utf-8")
    text = write_flips(read_flips(source, as_of=date(2026, 9, 30)).flips)
    assert validate(tmp_path, text).valid  # type: ignore[attr-defined]
    report = validate(tmp_path, text.replace(",300,", ',"$1,150",'))
    assert not report.valid  # type: ignore[attr-defined]
    assert "sale_price" in str(report.flatten(["fieldName"]))  # type: ignore[attr-defined]
