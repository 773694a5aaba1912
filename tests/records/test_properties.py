"""What holds for any file at all (Hypothesis)."""

from __future__ import annotations

import contextlib
import cProfile
import csv
import io
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from fleetlib.base.errors import FleetError
from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import NO_ANSWERS
from fleetlib.records.asked.claims import claim_headings
from fleetlib.records.cleaning.clean import CleanFlips, clean_table, read_flips, write_flips
from fleetlib.records.files.headings import SIZE
from fleetlib.records.files.reading import decode, table_from_text
from fleetlib.records.files.safe_csv import with_apostrophe, without_guard
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.schema.columns import COLUMN, NAMES, SIZES

AS_OF = date(2026, 9, 30)
PROFILE = settings(
    max_examples=80,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

CELLS = st.one_of(
    st.sampled_from(
        [
            *("", " ", "dresser", "Desk", "pair of chairs", "buffet", "oak veneer", "cherry finish", "mahagony"),
            *("$1,150", "1.150", "1,15", "1.234.567,89", "free", "325 obo", "120/140", "-$5", "(5.00)", "0", "12.345"),
            *("60 x 18 x 34", "5'6\"", "20½", "152 cm", '6" legs', "3h 30m", "3:30", "90 min", "400"),
            *("2026-03-04", "03/04/26", "25/12/25", "3/4/2027", "Mar 4", "4 Mar 2026", "31/02/26", "46085"),
            *("TOTAL", "2024", "n/a", "?", "=1+1", "'=1+1", "@x", "-", "line 3", "type", "price"),
            *("é£€½", "a\nb", "a\r\nb"),
        ]
    ),
    st.text(alphabet=" \t\"',;|.0123456789$€abcxyz/-()\n=+@½\u00a0", max_size=12),
    st.text(max_size=8).filter(lambda t: "\0" not in t and "\r" not in t),
    st.floats(0, 1e6, allow_nan=False).map(repr),
    st.dates(date(1900, 1, 1), date(2100, 1, 1)).map(str),
)  # fmt: skip
HEADINGS = st.lists(
    st.sampled_from(
        [
            *(
                "piece",
                "wood",
                "finish",
                "sale price",
                "asking",
                "paid",
                "hrs",
                "listed",
                "sold on",
                "width cm",
                "dims",
            ),
            *(
                "count",
                "year",
                "grade",
                "notes",
                "lot",
                "where sold",
                "hours sand",
                "My own",
                "profit",
                "line",
                "",
                "=x",
            ),
        ]
    ),
    unique_by=str.casefold,
    max_size=9,
)


@st.composite
def tables(draw: st.DrawFn) -> list[list[str]]:
    head = ["type", *draw(HEADINGS)]
    if not {"sale price", "asking"} & set(head):
        head.append("asking")
    row = st.lists(CELLS, min_size=len(head), max_size=len(head))
    return [head, *draw(st.lists(row, max_size=7))]


def as_csv(rows: list[list[str]], mark: str = ",") -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=mark, lineterminator="\r\n").writerows(rows)
    return out.getvalue()


def clean(text: str) -> CleanFlips:
    return clean_table(table_from_text(text, name="any.csv"), as_of=AS_OF)


@PROFILE
@given(st.binary(max_size=400))
@example(b"PK\x03\x04type,price")
@example(b"type,price\n\xff\xfe\x00")
@example(b"\xff\xfet\x00y\x00p\x00e\x00,")
def test_any_bytes_either_read_or_are_refused_by_name(data: bytes) -> None:
    try:
        clean(decode(data, name="any.csv").text)
    except FleetError as refusal:
        assert "any.csv" in str(refusal)


@PROFILE
@given(st.binary(max_size=60), st.integers(0, 200), st.sampled_from([2, 8, 15, 80, 83]))
def test_a_real_file_with_damage_anywhere_reads_or_is_refused(
    tmp_path: Path, damage: bytes, at: int, which: int
) -> None:
    corpus = Path(__file__).with_name("corpus")
    source = next(p for p in sorted(corpus.iterdir()) if p.name.startswith(f"{which:02d}_"))
    data = source.read_bytes()
    at = at * len(data) // 200
    place = tmp_path / "damaged.dat"
    place.write_bytes(data[:at] + damage + data[at + len(damage) :])
    try:
        read_flips(place, as_of=AS_OF)
    except FleetError as refusal:
        assert "damaged.dat" in str(refusal)


@PROFILE
@given(tables(), st.sampled_from([",", ";", "\t", "|"]))
def test_rows_in_are_rows_kept_and_rows_set_aside(rows: list[list[str]], mark: str) -> None:
    found = clean(as_csv(rows, mark))
    filled = [r for r in rows[1:] if any(c.strip() for c in r)]
    assert len(found.flips) + len(found.set_aside) == len(filled)


@PROFILE
@given(tables())
def test_cleaning_what_was_cleaned_changes_nothing(rows: list[list[str]]) -> None:
    first = clean(as_csv(rows)).flips
    again = clean(write_flips(first))
    assert not len(again.set_aside)
    pd.testing.assert_frame_equal(again.flips.drop(columns="line"), first.drop(columns="line"))


@PROFILE
@example([["type", "piece", "asking"], ["60 x 18 x 34", "", ""], ["0\x850", "", ""]])
@given(tables())
def test_no_cells_text_is_ever_lost(rows: list[list[str]]) -> None:
    text = as_csv(rows)
    table = table_from_text(text, name="any.csv")
    headings = claim_headings(table, answers=NO_ANSWERS, settings=Settings(), as_of=AS_OF).headings
    lines, texts = table.lines.tolist(), [table.text_of(i) for i in range(len(table.lines))]
    typed = {n: [c.cell(i) for i in range(len(lines))] for n, c in enumerate(table.columns)}
    found = clean_table(table, as_of=AS_OF)
    aside = dict(zip(found.set_aside["line"], found.set_aside["text"], strict=True))
    was = set(
        zip(found.changes["line"], found.changes["column"], found.changes["was"], strict=True)
    )
    for i, line in enumerate(lines):
        if line in aside:
            assert aside[line] == texts[i]
            continue
        row = found.flips[found.flips["line"] == line].iloc[0]
        places = {name: place for name, (place, _) in headings.known.items()} | headings.extras
        for name, place in places.items():
            cell = typed[place][i].strip()
            if cell and (line, name, cell) not in was and (line, name, typed[place][i]) not in was:
                assert as_typed(row, name).strip() == cell


def as_typed(row: pd.Series, name: str) -> str:
    if name == SIZE:
        return " x ".join(shown(float(row[s])) for s in SIZES)
    value = row[name]
    if pd.isna(value):
        return ""
    if name in COLUMN and COLUMN[name].kind == "date":
        return str(value.date())
    return shown(float(value)) if name in NAMES and COLUMN[name].is_number else str(value)


@PROFILE
@given(st.text(max_size=20))
def test_a_guard_is_taken_off_exactly_once(text: str) -> None:
    assert without_guard(with_apostrophe(text)) == text
    assert with_apostrophe(text).lstrip("' \u00a0")[:1] not in set("=+-@") or with_apostrophe(
        text
    ).startswith("'")


@pytest.mark.parametrize(
    "filler", ['"', '"a\n', "a,", '"",', "\n", "x" * 1000 + ",", '","', '"a"b,\n"']
)
def test_twice_a_hostile_file_is_at_most_three_times_the_work(filler: str) -> None:
    """Work is counted in calls, which no busy machine moves; the seconds are measured in bench_records."""
    calls = [
        calls_to_clean("type,price\n" + filler * (size // len(filler)))
        for size in (60_000, 120_000)
    ]
    assert calls[1] <= 3 * calls[0]


def calls_to_clean(text: str) -> int:
    profile = cProfile.Profile()
    with profile, contextlib.suppress(FleetError):
        clean(text)
    return sum(entry.callcount for entry in profile.getstats())
