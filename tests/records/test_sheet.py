"""The blank record sheet and the settings file that `fleetlib start` lays down."""

from __future__ import annotations

import io
import re
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import get_column_letter

from fleetlib.base.settings import SETTINGS, Settings, settings_from
from fleetlib.records.blank_sheet import blank_csv, blank_workbook, settings_text, sheet_heading
from fleetlib.records.cleaning.clean import read_flips
from fleetlib.records.files.headings import match_heading
from fleetlib.records.parsing.vocabulary import known_words
from fleetlib.records.schema.columns import COLUMNS

METRIC = Settings(currency="EUR", length_unit="cm")


@pytest.fixture(scope="module")
def sheet() -> Any:
    return openpyxl.load_workbook(io.BytesIO(blank_workbook()))["flips"]


@pytest.mark.parametrize("settings", [Settings(), METRIC])
def test_every_heading_of_the_sheet_means_its_column_and_says_its_unit(settings: Settings) -> None:
    for column in COLUMNS:
        heading = sheet_heading(column)
        heading = heading.replace("(in)", f"({settings.length_unit})")
        heading = heading.replace("(USD)", f"({settings.currency})")
        found = match_heading(heading)
        assert found is not None and found.column == column.name
        if column.kind == "size":
            assert found.unit == settings.length_unit
        if column.kind == "money":
            assert found.currency == settings.currency


def test_the_header_is_frozen_and_every_column_has_a_comment(sheet: Any) -> None:
    assert sheet.freeze_panes == "C2"
    for place, column in enumerate(COLUMNS, start=1):
        assert column.meaning in sheet.cell(row=1, column=place).comment.text


def test_words_have_drop_down_lists_that_allow_other_words(sheet: Any) -> None:
    book = openpyxl.load_workbook(io.BytesIO(blank_workbook()))
    lists = {str(r.sqref)[0]: r for r in sheet.data_validations.dataValidation if r.type == "list"}
    assert len(lists) == sum(c.kind == "word" and bool(known_words(c.name)) for c in COLUMNS)
    for letter, name in zip(
        "BCDEF", ("furniture_type", "wood", "construction", "finish", "style"), strict=True
    ):
        rule = lists[letter]
        assert rule.errorStyle == "information"
        area = rule.formula1.split("!")[1].replace("$", "")
        listed = [row[0].value for row in book["words"][area]]
        assert listed == list(known_words(name))
    assert book["words"].sheet_state == "hidden"


def test_number_and_date_formats_are_set_for_whole_columns(sheet: Any) -> None:
    letters = {c.name: get_column_letter(i) for i, c in enumerate(COLUMNS, start=1)}
    formats = {n: sheet.column_dimensions[x].number_format for n, x in letters.items()}
    assert formats["sold_on"] == "yyyy-mm-dd"
    assert formats["sale_price"] == "#,##0.00"
    assert formats["piece"] == "@"


def test_the_same_sheet_is_the_same_bytes() -> None:
    assert blank_workbook() == blank_workbook()


def test_a_filled_in_sheet_reads_back(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(io.BytesIO(blank_workbook()))
    for name, value in (
        ("furniture_type", "desk"),
        ("width_in", 47),
        ("sale_price", 300),
        ("sold_on", date(2026, 3, 4)),
    ):
        place = [c.name for c in COLUMNS].index(name) + 1
        book["flips"].cell(row=2, column=place, value=value)
    book.save(tmp_path / "flips.xlsx")
    found = read_flips(tmp_path / "flips.xlsx", as_of=date(2026, 9, 30))
    row = found.flips.iloc[0]
    assert (row["furniture_type"], row["width_in"], row["sale_price"]) == ("desk", 47, 300)
    assert str(row["sold_on"].date()) == "2026-03-04"
    assert len(found.flips) == 1 and not len(found.set_aside)


def test_the_blank_csv_reads_as_no_pieces(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(blank_csv(), encoding="utf-8")
    assert not read_flips(tmp_path / "flips.csv").rows_in


def test_the_settings_file_has_a_sentence_for_every_key_and_reads_as_the_defaults() -> None:
    text = settings_text()
    made, default = settings_from(tomllib.loads(text)), Settings()
    joined = " ".join(line.removeprefix("# ") for line in text.splitlines())
    for setting in SETTINGS:
        assert setting.sentence in joined
        assert getattr(made, setting.key) == getattr(default, setting.key)


def test_the_examples_in_the_settings_file_are_settings_too() -> None:
    lines = settings_text().splitlines()
    told = [ln[2:] for ln in lines if re.match(r"# (\[[a-z_.]+\]$|[a-z_]+ = |\"[^\"]+\" = )", ln)]
    made = settings_from(tomllib.loads("\n".join(told)))
    assert made.groups["coat"].parts["natural"] == ("oil", "wax", "shellac")
    assert made.drying_days["oil"] == 5
    assert made.words["furniture_type"]["buffet"] == "sideboard"
    assert made.fee_share["Saturday market"] == 0.1
