"""Files as text tables: RFC 4180 and what lies beside it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetlib.base.errors import BadRecords, MissingRecords
from fleetlib.records.cleaning.clean import read_flips
from fleetlib.records.files import reading
from fleetlib.records.files.reading import read_table, table_from_text
from fleetlib.records.files.text_table import TextTable

# RFC 4180 (Y. Shafranovich, October 2005), section 2: the examples of its seven rules, under headings that
# this reader knows. CRLF is the line break throughout.
HEAD = "type,notes,price\r\n"
TWO = [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]
BROKEN_LINES = [["aaa", "b\r\nbb", "cc,c"], ["zzz", "yyy", "xxx"]]
RFC_4180 = {
    "1 records on lines of their own": ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", TWO),
    "2 the last break may be missing": ("aaa,bbb,ccc\r\nzzz,yyy,xxx", TWO),
    "4 spaces belong to the cell": ("aaa , bbb,ccc\r\n", [["aaa ", " bbb", "ccc"]]),
    "5 cells may be in quotes": ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx\r\n', TWO),
    "6 breaks and commas in quotes": ('"aaa","b\r\nbb","cc,c"\r\nzzz,yyy,xxx\r\n', BROKEN_LINES),
    "7 a quote is doubled": ('"aaa","b""bb","ccc"\r\n', [["aaa", 'b"bb', "ccc"]]),
}


def rows(table: TextTable) -> list[list[str]]:
    return [[c.cell(i) for c in table.columns] for i in range(len(table.lines))]


@pytest.mark.parametrize("rule", RFC_4180)
def test_the_examples_of_rfc_4180_are_read(rule: str) -> None:
    text, expected = RFC_4180[rule]
    assert rows(table_from_text(HEAD + text, name="rfc.csv")) == expected


def test_the_rows_of_rfc_4180_keep_their_lines() -> None:
    text = HEAD + '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx\r\n'
    assert table_from_text(text, name="rfc.csv").lines.tolist() == [2, 4]


def test_a_quoted_cell_with_commas_breaks_and_quotes_is_one_cell() -> None:
    text = 'type,note,price\r\n"dresser, low","6"" legs\r\nnew pulls",250'
    table = table_from_text(text, name="x.csv")
    assert rows(table) == [["dresser, low", '6" legs\r\nnew pulls', "250"]]
    assert table.text_of(0) == '"dresser, low","6"" legs\r\nnew pulls",250'


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ('a,"x"y",1\n', [["a", 'x"y', "1"]]),
        ('a,x"y,1\n', [["a", 'x"y', "1"]]),
        ('a,"b"c"d",1\n', [["a", 'b"c"d', "1"]]),
        ('a,",x",1\n', [["a", ",x", "1"]]),
        ('"abc"def,",x",1\n', [['abc"def,', 'x"', "1"]]),
        ('a,"",1\n', [["a", "", "1"]]),
        ('a,"abc"def,",x",1\n', []),
        ("a,b\rc,1\n", [["a", "b\rc", "1"]]),
    ],
)
def test_quotes_that_break_the_rules_lose_nothing(body: str, expected: list[list[str]]) -> None:
    table = table_from_text("type,notes,price\n" + body, name="x.csv")
    assert rows(table) == expected
    if not expected:
        assert [b.text for b in table.broken] == [body.strip()]


@pytest.mark.parametrize("line", ['desk,"open,1', '"desk,open,1', 'desk,ok,"1'])
def test_an_open_quote_is_reported_with_its_line_and_the_rest_is_read(line: str) -> None:
    text = f'type,notes,price\nbench,a,1\n{line}\nchair,"b, c",2\nstool,"36""",3\n'
    table = table_from_text(text, name="x.csv")
    assert rows(table) == [["bench", "a", "1"], ["chair", "b, c", "2"], ["stool", '36"', "3"]]
    assert [(b.line, b.text) for b in table.broken] == [(3, line)]


def test_the_fast_path_and_the_careful_path_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    body = 'desk,"a, b",1\n"be\nnch","x\n\ny",2\n\nchair,x,"3,000"\n,,\nstool\nbed,"6"" x\n7",4'
    quick = rows(table_from_text("type,notes,price\n" + body, name="x.csv"))
    monkeypatch.setattr("fleetlib.records.files.splitting._at_once", lambda *_: None)
    careful = rows(table_from_text("type,notes,price\n" + body, name="x.csv"))
    monkeypatch.setattr("fleetlib.records.files.splitting._records_at_once", lambda *_: None)
    strict = rows(table_from_text("type,notes,price\n" + body, name="x.csv"))
    monkeypatch.setattr("fleetlib.records.files.splitting.tokenised", lambda *_: None)
    by_hand = rows(table_from_text("type,notes,price\n" + body, name="x.csv"))
    assert quick == careful == strict == by_hand
    assert quick[-2:] == [["stool", "", ""], ["bed", '6" x\n7', "4"]]
    assert table_from_text("type,notes,price\n" + body, name="x.csv").lines.tolist() == [
        2,
        3,
        8,
        10,
        11,
    ]


def test_a_file_that_is_not_there_is_missing(tmp_path: Path) -> None:
    with pytest.raises(MissingRecords, match=r"no file at .*nowhere\.csv"):
        read_table(tmp_path / "nowhere.csv")
    with pytest.raises(BadRecords, match="is a folder"):
        read_table(tmp_path)


def test_a_file_above_the_limit_is_refused_with_the_limit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "MOST_BYTES", 1000)
    place = tmp_path / "long.csv"
    place.write_text("type,price\n" + "desk,1\n" * 500, encoding="utf-8")
    with pytest.raises(BadRecords, match=r"larger than 0\.001 MB"):
        read_table(place)


def test_a_workbook_that_unpacks_to_too_much_is_refused_whatever_its_ratio(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    book = Path(__file__).with_name("corpus") / "81_second_sheet.xlsx"
    monkeypatch.setattr("fleetlib.records.files.workbook.MOST_UNPACKED", 1000)
    with pytest.raises(BadRecords, match="it is not opened"):
        read_table(book)


def test_day_numbers_of_a_workbook_that_counts_from_1904(tmp_path: Path) -> None:
    import openpyxl
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    book = openpyxl.Workbook()
    book.epoch = CALENDAR_MAC_1904
    for row in (
        ("type", "price", "sold on", "listed on"),
        ("desk", 300, 44196, date(2024, 12, 25)),
    ):
        book.active.append(row)
    book.save(tmp_path / "x.xlsx")
    found = read_flips(tmp_path / "x.xlsx", as_of=date(2026, 9, 30)).flips
    assert str(found["sold_on"][0].date()) == "2025-01-01"
    assert str(found["listed_on"][0].date()) == "2024-12-25"


def test_a_sheet_that_is_not_there_is_refused_with_those_that_are() -> None:
    book = Path(__file__).with_name("corpus") / "81_second_sheet.xlsx"
    with pytest.raises(BadRecords, match="Its sheets are: Shopping, Sold"):
        read_table(book, sheet="2025")
