"""What a sixth walk over shops kept by others found: each finding as a test."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from fleetlib.base.errors import BadRecords
from fleetlib.desk.answering import answer_check
from fleetlib.records.asked.one_column import one_column
from fleetlib.records.files.headings import Heading
from fleetlib.records.files.text_columns import column_of
from fleetlib.records.folder import Records, read_records
from fleetlib.records.parsing.amounts import read_prices
from fleetlib.records.parsing.dates import read_dates
from fleetlib.records.parsing.vocabulary import look_up
from fleetlib.records.report import check_report
from tests.records.answered import AS_OF, answered, asked, read


def days(found: Records, column: str) -> list[str]:
    return [str(d)[:10] for d in found.flips[column]]


@pytest.mark.parametrize(
    ("typed", "amount", "day"),
    [
        ("$40 11 Jan 2025", 40, "2025-01-11"),
        ("210 3/22/25", 210, "2025-03-22"),
        ("95 on May 3rd, 2025", 95, "2025-05-03"),
        ('"$1,150 2025-05-03"', 1150, "2025-05-03"),
        ("Sat 3 May 2025 for 60", 60, "2025-05-03"),
        ("free 3-May-25", 0, "2025-05-03"),
        ('"free, skip 3 May 2025"', 0, "2025-05-03"),
        ("3 May 2025", None, "2025-05-03"),
        ("75", 75, "NaT"),
    ],
)
def test_an_amount_and_a_day_in_one_cell_are_told_apart_in_every_spelling(
    tmp_path: Path, typed: str, amount: float | None, day: str
) -> None:
    typed = typed if typed.startswith('"') or "," not in typed else f'"{typed}"'
    rest = "desk,$20 2 Jan 2025,$150 9 Mar 2025\nchair,$25 3 Jan 2025,$90 on 10 Mar 2025\n"
    found = read(tmp_path, f"Type,Bought,Sold\ndesk,{typed},$120 1 Jun 2025\n{rest}")
    assert found.flips["buy_price"].fillna(-1).tolist() == [
        -1 if amount is None else amount,
        20,
        25,
    ]
    assert days(found, "bought_on")[0] == day
    assert found.flips["sale_price"].tolist() == [120, 150, 90]


def test_a_first_ask_and_a_lower_one_with_their_days_in_one_cell(tmp_path: Path) -> None:
    text = (
        "Type,Listed,Sold on,Sold for\n"
        '"desk","320 15 Mar 2025, 280 12 Apr 2025",2025-05-02,270\n'
        "chair,90 2 Apr 2025,2025-05-09,80\nbench,75 9 Apr 2025,2025-06-01,70\n"
    )
    found = read(tmp_path, text)
    assert found.flips["asking_price"].tolist() == [320, 90, 75]
    assert found.flips["last_asking_price"].tolist()[0] == 280
    assert days(found, "listed_on")[0] == "2025-03-15"


BETWEEN = (
    "Type,Bought,Listed,Sold on,Sold for\n2025,,,,\n"
    "desk,11 Jan,25 Jan,2 Feb,165\nchair,18 Jan,1 Feb,16 Feb,85\n{odd}"
    "--- 2026 ---,,,,\nbench,10 Jan,7 Feb,22 Feb,150\ndesk,3 Oct,,,\n"
)


def test_a_year_between_the_rows_is_that_of_the_days_beneath(tmp_path: Path) -> None:
    found = read(tmp_path, BETWEEN.format(odd=""))
    assert days(found, "bought_on") == ["2025-01-11", "2025-01-18", "2026-01-10", "2026-10-03"]
    assert days(found, "sold_on")[:3] == ["2025-02-02", "2025-02-16", "2026-02-22"]
    assert not asked(found, "year")
    assert not asked(found, "cell")
    assert len(found.set_aside) == 2
    assert sum("stand under" in n for n in found.notes) == 1


@pytest.mark.parametrize(
    ("said", "bought", "sold"),
    [
        ("", "NaT", "NaT"),
        ("first", "2025-04-30", "2026-03-02"),
        ("last", "2024-04-30", "2025-03-02"),
    ],
)
def test_days_that_run_over_the_year_above_them_are_asked_about_once(
    tmp_path: Path, said: str, bought: str, sold: str
) -> None:
    odd = "bench,30 Apr,8 Aug,2 Mar,90\ntrunk,2 May,9 Aug,3 Mar,95\n"
    answers = (f"year,rows between,{said}",) if said else ()
    found = read(tmp_path, BETWEEN.format(odd=odd), *answers)
    assert (days(found, "bought_on")[2], days(found, "sold_on")[2]) == (bought, sold)
    assert [q.text for q in found.to_answer if q.about in ("year", "cell")] == (
        [] if said else ["rows between"]
    )
    assert days(found, "sold_on")[0] == "2025-02-02"


def test_a_heading_of_sales_says_which_day_is_of_its_year(tmp_path: Path) -> None:
    text = (
        "Type,Bought,Sold on,Sold for\nSold 2025:,,,\ndesk,9 Nov,2 Feb,165\nchair,18 Nov,6 Mar,85\n"
    )
    found = read(tmp_path, text)
    assert days(found, "bought_on") == ["2024-11-09", "2024-11-18"]
    assert days(found, "sold_on") == ["2025-02-02", "2025-03-06"]


# In a language that the kit has no words of: what each column is, only its values and the person can say.
UNKNOWN = (
    "Kohde;Puulaji;K\u00e4sittely;Hankittu;Ostohinta;Tarvikkeet;Aika;Ilmoitus;Pyynti;Myyty;Lopulta\n"
    "lipasto;tammi;\u00f6ljy;3.2.2025;40;12;6,5;20.2.2025;1 250;9.3.2025;1 100\n"
    "p\u00f6yt\u00e4;koivu;lakka;10.2.2025;25;8;3;1.3.2025;950;14.3.2025;900\n"
    "tuoli;m\u00e4nty;maali;17.2.2025;10;5;2,5;3.3.2025;60;20.3.2025;55\n"
    "lipasto;m\u00e4nty;maali;24.2.2025;30;14;5;17.3.2025;1 400;;\n"
    "kaappi;tammi;\u00f6ljy;3.3.2025;60;20;8,5;28.3.2025;1 600;5.5.2025;1 450\n"
    "tuoli;koivu;lakka;10.3.2025;12;6;2;1.4.2025;70;12.4.2025;65\n"
    "p\u00f6yt\u00e4;tammi;\u00f6ljy;17.3.2025;35;9;4,5;12.4.2025;240;2.6.2025;220\n"
    "lipasto;koivu;lakka;24.3.2025;45;11;6;20.4.2025;1 300;;\n"
)
MEANT = {
    "Kohde": "furniture type", "Puulaji": "wood", "K\u00e4sittely": "finish", "Hankittu": "bought on",
    "Ostohinta": "buy price", "Tarvikkeet": "materials cost", "Aika": "hours", "Ilmoitus": "listed on",
    "Pyynti": "asking price", "Myyty": "sold on", "Lopulta": "sale price",
}  # fmt: skip


def test_every_column_of_a_record_in_words_unknown_is_asked_about_first(tmp_path: Path) -> None:
    found = read(tmp_path, UNKNOWN)
    first = found.to_answer[: len(MEANT) - 1]
    assert {q.about for q in first} == {"heading"}
    whole = {q.text: q for q in asked(found, "heading")}
    assert set(whole) == set(MEANT)
    assert all(MEANT[t] in {o.meaning for o in q.options} for t, q in whole.items())
    likeliest = {t for t, q in whole.items() if q.options[0].meaning == MEANT[t]}
    assert likeliest == set(MEANT)
    assert "cells are amounts, such as 1 250. What is it?" in whole["Pyynti"].said
    shown = str(check_report(found))
    assert all(f'"{t}"' in shown for t in MEANT)


def test_answered_as_asked_a_record_in_words_unknown_is_read_whole(tmp_path: Path) -> None:
    found = read(tmp_path, UNKNOWN, *(f"heading,{t},{m}" for t, m in MEANT.items()))
    assert not asked(found, "heading")
    assert found.flips["sale_price"].dropna().tolist() == [1100, 900, 55, 1450, 65, 220]
    assert found.flips["asking_price"].tolist() == [1250, 950, 60, 1400, 1600, 70, 240, 1300]
    assert found.flips["hours"].tolist() == [6.5, 3, 2.5, 5, 8.5, 2, 4.5, 6]
    assert days(found, "sold_on")[0] == "2025-03-09"


@pytest.mark.parametrize("answered", range(1, len(MEANT)))
def test_answers_given_in_any_order_never_end_without_a_question(
    tmp_path: Path, answered: int
) -> None:
    some = list(MEANT.items())[:answered]
    found = read(tmp_path, UNKNOWN, *(f"heading,{t},{m}" for t, m in some))
    left = set(MEANT) - {t for t, _ in some}
    assert {q.text for q in asked(found, "heading")} >= left


def test_a_record_refused_names_the_column_that_is_likeliest_the_price(tmp_path: Path) -> None:
    wrong = {
        t: "notes" if t in ("Pyynti", "Lopulta", "Tarvikkeet") else m for t, m in MEANT.items()
    }
    wrong["Pyynti"], wrong["Lopulta"] = "nothing", "other costs"
    del wrong["Kohde"]
    with pytest.raises(BadRecords) as refused:
        read(tmp_path, UNKNOWN, *(f"heading,{t},{m}" for t, m in wrong.items()))
    assert '--answer "Pyynti=sale price"' in str(refused.value)
    assert 'Open besides, said in the same way: "Kohde": 8 cells' in str(refused.value)


def test_a_column_of_asks_with_their_days_is_asked_about_and_then_told_apart(
    tmp_path: Path,
) -> None:
    text = (
        "Type,Paid,Out for,Sold on,Sold for\ndesk,20,180 25 Jan 2025,2025-02-02,165\n"
        'chair,5,"95 1 Feb 2025, 80 1 Mar 2025",2025-03-16,85\nbench,9,70 5 Apr 2025,2025-04-26,60\n'
        "trunk,9,90 5 Apr 2025,2025-05-26,80\n"
    )
    found = read(tmp_path, text)
    assert [(q.text, q.options[0].meaning) for q in asked(found, "heading")] == [
        ("Out for", "asking price")
    ]
    found = read(tmp_path, text, "heading,Out for,asking price")
    assert found.flips["asking_price"].tolist() == [180, 95, 70, 90]
    assert days(found, "listed_on") == ["2025-01-25", "2025-02-01", "2025-04-05", "2025-04-05"]


SWEDISH = (
    "Nr;M\u00f6bel;Tr\u00e4slag;Behandling;M\u00e5tt (BxDxH, cm);Ink\u00f6pt;Ink\u00f6pspris;Tid;Annonserad;Utpris;"
    "S\u00e5ld;Slutpris\n"
    "1;byr\u00e5;ek;oljad;90x45x85;18/1-25;300;6,5;15/2-25;1 400:-;22/3-25;1 300:-\n"
    "2;4 st stolar;bok;m\u00e5lad vit;45x45x90;25/1-25;200:-;5;8/2-25;900;3 maj 2025;850\n"
    "3;bokhylla;furu;vaxad;80x28x190;1/2 -25;250;4;1 mars 2025;1 050;14 okt 2025;1 000\n"
    "Summa;;;;;;750;;;;;3 150\n"
)


def test_a_swedish_record_is_read_without_a_question_about_words(tmp_path: Path) -> None:
    found = read(tmp_path, SWEDISH)
    assert [q.about for q in found.to_answer] == ["currency"]
    assert found.flips["furniture_type"].tolist() == ["chest of drawers", "chair", "bookcase"]
    assert found.flips["wood"].tolist() == ["oak", "beech", "pine"]
    assert found.flips["finish"].tolist() == ["oil", "paint", "wax"]
    assert found.flips["sale_price"].tolist() == [1300, 850, 1000]
    assert found.flips["asking_price"].tolist() == [1400, 900, 1050]
    assert days(found, "bought_on") == ["2025-01-18", "2025-01-25", "2025-02-01"]
    assert days(found, "sold_on") == ["2025-03-22", "2025-05-03", "2025-10-14"]
    assert found.flips["pieces_in_lot"].tolist()[1] == 4
    assert len(found.set_aside) == 1


@pytest.mark.parametrize(
    ("typed", "read_as"),
    [
        (["1 200", "950", "1 400"], [1200, 950, 1400]),  # the column's other amounts show it
        (["1 200", "950"], [None, 950]),  # one alone shows nothing
        (["120 140", "90", "100 110"], [None, 90, None]),  # two prices in a cell
        (
            ["1 200", "320 280", "950", "1 400", *(f"1 {n}00" for n in range(1, 10))],
            [1200, None, 950],
        ),
        (["200:-", "1 200:-", "2 300:-"], [200, 1200, 2300]),
    ],
)
def test_a_space_groups_thousands_where_the_other_amounts_show_it(
    typed: list[str], read_as: list[float | None]
) -> None:
    found = [p.cell.value for p in read_prices(typed)]
    assert found[: len(read_as)] == read_as


def test_days_of_one_month_are_no_day_and_year() -> None:
    """3/14-16 is the 14th to the 16th where the numbers behind it are no years that have been."""
    for texts in (["3/14-16", "6/20-27", "2/3-04"], ["3/14-16"]):
        assert all(c.value is None for c in read_dates(texts, as_of=AS_OF).cells)
    cells = read_dates(
        ["14/3-25", "1/4 -25", "20 mars 2025", "3 de mayo de 2025"], as_of=AS_OF
    ).cells
    assert [c.value for c in cells] == ["2025-03-14", "2025-04-01", "2025-03-20", "2025-05-03"]


@pytest.mark.parametrize(
    ("column", "text", "meant"),
    [
        ("furniture_type", "nachtkastje", "nightstand"),
        ("furniture_type", "c\u00f3moda", "chest of drawers"),
        ("furniture_type", "cassettiera", "chest of drawers"), ("furniture_type", "sk\u00e4nk", "sideboard"),
        ("wood", "eiken", "oak"), ("wood", "nogal", "walnut"), ("wood", "ciliegio", "cherry"),
        ("wood", "bj\u00f6rk", "birch"),
        ("finish", "gewaxt", "wax"), ("finish", "barnizado", "varnish"),
        ("finish", "laccato", "lacquer"),
    ],
)  # fmt: skip
def test_everyday_words_of_the_trade_in_four_more_languages(
    column: str, text: str, meant: str
) -> None:
    assert look_up(column, text).value == meant


def book(folder: Path, *answers: str, **sheets: list[list[object]]) -> Records:
    made = openpyxl.Workbook()
    for title, rows in sheets.items():
        page = made.create_sheet(title)
        for row in rows:
            page.append(row)
    del made["Sheet"]
    made.save(folder / "flips.xlsx")
    answered(folder, "sheet,Shed,read", *answers)
    return read_records(folder, as_of=AS_OF)


SOLD: list[list[object]] = [
    ["Piece", "What", "W x D x H", "Bought on", "Paid", "Hrs", "Did", "Listed on", "Asked", "Sold on", "Got"],
    ["A", "desk", "48x24x30", "2025-02-01", 20, 4, "waxed", "2025-03-01", 120, "2025-03-09", 110],
    ["B", "chair", "18x18x36", "2025-02-02", 10, 2.5, "oiled", "2025-03-02", 60, "2025-03-19", 55],
    ["C", "bench", "40x14x18", "2025-02-03", 15, 3, "painted", "2025-03-03", 70, "2025-04-09", 65],
]  # fmt: skip
SHED: list[list[object]] = [
    ["Piece", "What", "Size", "Bought on", "Paid", "Hrs so far", "Finish / plan", "Listed on", "Asked"],
    ["D", "trunk", "36x18x20", "2026-08-01", 30, 1.5, "wax", "2026-09-01", 140],
    ["E", "desk", "50x25x30", "2026-08-05", 40, 6, "oil", "2026-09-05", 190],
    ["F", "stool", "12x12x24", "2026-08-09", 5, 1, "paint", None, None],
]  # fmt: skip
THERE = ("heading,Hrs so far,hours", "heading,Finish / plan,finish", "heading,Did,finish")


def test_what_only_the_second_sheet_has_is_asked_about(tmp_path: Path) -> None:
    shed = [[*SHED[0], "Where from"], *([*row, "estate sale"] for row in SHED[1:])]
    found = book(tmp_path, Sold=SOLD, Shed=shed)
    asked_of = {q.text: q.options[0].meaning for q in asked(found, "heading")}
    assert asked_of == {"Hrs so far": "hours", "Finish / plan": "finish", "Did": "finish"}


def test_two_headings_for_one_thing_on_two_sheets_are_one_column(tmp_path: Path) -> None:
    found = book(tmp_path, *THERE, Sold=SOLD, Shed=SHED)
    assert found.flips["hours"].tolist() == [4, 2.5, 3, 1.5, 6, 1]
    assert found.flips["width_in"].tolist() == [48, 18, 40, 36, 50, 12]
    assert found.flips["finish"].tolist() == ["wax", "oil", "paint", "wax", "oil", "paint"]
    assert not asked(found, "heading")
    carried = " ".join(n for n in found.notes if n.startswith("Columns carried"))
    assert not any(h in carried for h in ("Hrs", "Size", "Did", "plan"))
    assert any('"Hrs so far" was read together with "Hrs", as hours.' in n for n in found.notes)


def test_cells_of_both_that_differ_in_one_row_are_asked_about(tmp_path: Path) -> None:
    both = [
        [*SHED[0], "Hrs"],
        *([*row, n] for row, n in zip(SHED[1:], (1.5, 7, None), strict=True)),
    ]
    more: list[list[object]] = [[f"G{n}", *SOLD[1][1:]] for n in range(6)]
    found = book(tmp_path, *THERE, Sold=[*SOLD, *more], Shed=both)
    hours = dict(zip(found.flips["piece"], found.flips["hours"].fillna(-1), strict=True))
    assert (hours["D"], hours["E"], hours["F"]) == (1.5, -1, 1)
    waiting = asked(found, "cell")
    assert [q.text.split(": ")[:2] for q in waiting] == [["E", "hours"]]
    assert {o.meaning for o in waiting[0].options} >= {"7", "6"}


def test_two_columns_that_differ_in_most_rows_are_not_put_together(tmp_path: Path) -> None:
    text = "Type,Price,Tag,Sold on,Sold for\ndesk,90,120,2025-03-01,85\nchair,40,60,2025-04-01,35\n"
    found = read(tmp_path, text, "heading,Tag,asking price")
    assert found.flips["asking_price"].tolist() == [120, 60]


def test_centimetres_of_one_sheet_and_inches_of_the_other_keep_their_units(tmp_path: Path) -> None:
    sold = [[*SOLD[0], "Width (in)"], *([*row, 48] for row in SOLD[1:])]
    shed = [[*SHED[0], "Width (cm)"], *([*row, 127] for row in SHED[1:])]
    for page in (sold, shed):
        for row in page:
            row[2] = "Ref" if row is page[0] else None
    found = book(tmp_path, *THERE, Sold=sold, Shed=shed)
    assert found.flips["width_in"].tolist() == [48, 48, 48, 50, 50, 50]


def test_a_heading_of_the_second_sheet_can_be_told_by_its_name(tmp_path: Path) -> None:
    book(tmp_path, Sold=SOLD, Shed=SHED)
    answer_check(tmp_path, ["Hrs so far=hours", "Finish / plan=finish"])
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.flips["hours"].tolist() == [4, 2.5, 3, 1.5, 6, 1]


def test_columns_of_ones_own_beside_kinds_that_are_known_are_not_asked_about(
    tmp_path: Path,
) -> None:
    text = (
        "Type,Sold for,Buyer,Town,Colour,Sold on\ndesk,120,Ann,Northby,green,2025-02-03\n"
        "chair,45,Bob,Northby,white,2025-03-03\ndesk,150,Ann,Southby,green,2025-04-03\n"
        "bench,60,Cy,Northby,white,2025-05-03\ntrunk,90,Bob,Southby,blue,2025-06-03\n"
    )
    assert not asked(read(tmp_path, text), "heading")


@pytest.mark.parametrize(
    ("named", "kept"),
    [
        ("Walnut veneer buffet", True),
        ("Big oak whatsit", True),
        ("Summer kitchen thing", True),
        ("So far", False),
        ("All of spring 2025", False),
        ("April:", False),
    ],
)
def test_what_has_a_name_is_a_piece_though_one_amount_is_the_sum_of_those_above(
    tmp_path: Path, named: str, kept: bool
) -> None:
    rows = "Oak dresser,60,340,325\nMaple nightstand,15,95,95\nPine trunk,free,180,140\n"
    found = read(
        tmp_path, f"Piece,Paid,Asking,Got\n{rows}{named},110,625,560\nOak desk,50,200,190\n"
    )
    assert found.set_aside["line"].tolist() == ([] if kept else [5])
    assert len(found.flips) == 4 + kept
    # A name that is no one kind is asked about, and never dropped unasked.
    assert len(asked(found, "kind")) == kept


OPEN_DAYS = "oak dresser,3/8,50,350,4/6,320\ncherry desk,5/3,20,150,6/7,140\n"
SHOWN_DAY = "pine nightstand,3/15,10,75,4/9,75\n"
DAYS_HEAD = "what,bought,paid,asked,sold,sold for\n"


@pytest.mark.parametrize(
    ("above", "answers"),
    [("2025,,,,,\n", ()), ("", ("year,sold on,2025,", "year,bought on,2025,"))],
)
def test_days_beside_one_that_shows_their_order_take_the_year_above_them_or_answered(
    tmp_path: Path, above: str, answers: tuple[str, ...]
) -> None:
    found = read(tmp_path, DAYS_HEAD + above + OPEN_DAYS + SHOWN_DAY, *answers)
    assert days(found, "bought_on") == ["2025-03-08", "2025-05-03", "2025-03-15"]
    assert days(found, "sold_on") == ["2025-04-06", "2025-06-07", "2025-04-09"]
    assert not found.to_answer


@pytest.mark.parametrize(
    ("order", "bought"), [("month first", "2025-03-08"), ("day first", "2025-08-03")]
)
def test_days_in_an_open_order_under_a_year_are_one_question_of_the_order(
    tmp_path: Path, order: str, bought: str
) -> None:
    rows = "oak dresser,3/8,50,350,4/9,320\ncherry desk,5/3,20,150,6/7,140\n"
    text = f"{DAYS_HEAD}2025,,,,,\n{rows}"
    before = read(tmp_path, text)
    assert [q.about for q in before.to_answer] == ["date order"]
    after = read(tmp_path, text, f"date order,,{order},")
    assert days(after, "bought_on")[0] == bought
    assert not asked(after, "date order") and not asked(after, "year")


def test_days_without_a_year_in_an_open_order_are_asked_for_both_and_both_answers_hold(
    tmp_path: Path,
) -> None:
    text = DAYS_HEAD + OPEN_DAYS
    before = read(tmp_path, text)
    assert sorted(q.about for q in before.to_answer) == ["date order", "year", "year"]
    told = ("date order,,month first,", "year,sold on,2025,", "year,bought on,2025,")
    after = read(tmp_path, text, *told)
    assert days(after, "sold_on") == ["2025-04-06", "2025-06-07"] and not after.to_answer
    one_by_one = read(tmp_path, text, "year,sold on,each,", "year,bought on,each,")
    assert {q.about for q in one_by_one.to_answer} == {"cell"}


def test_columns_that_show_both_orders_are_asked_and_not_settled(tmp_path: Path) -> None:
    rows = OPEN_DAYS + "pine nightstand,3/15,10,75,22/4,75\noak stool,7/5,10,75,22/8,75\n"
    found = read(tmp_path, f"{DAYS_HEAD}2025,,,,,\n{rows}")
    assert days(found, "bought_on")[0] == "2025-03-08"  # its own column shows it
    assert days(found, "sold_on")[2:] == ["2025-04-22", "2025-08-22"]
    third = f"{DAYS_HEAD.strip()},listed\n2025,,,,,,\n" + rows.replace("\n", ",6/5\n")
    assert "listed on" in asked(read(tmp_path, third), "date order")[0].said


IN_POUNDS = (
    "Item,Bought,Cost (£),Width (cm),Asking (£),Sold,Sold for (£)\n"
    "oak chest of drawers,2025-03-08,45,92,220,2025-04-15,210\n"
    "pine chest of drawers,2025-03-18,45,92,220,2025-04-25,210\n"
)


def test_a_sign_in_a_heading_is_a_sign_of_the_money(tmp_path: Path) -> None:
    found = read(tmp_path, IN_POUNDS)
    assert found.settings.currency == "GBP" and not found.to_answer
    assert [n for n in found.notes if "GBP" in n] == [
        "The headings of your amounts say £, so this record is read in GBP. If that is wrong, set "
        'currency = "USD" in settings.toml.'
    ]
    bare = read(tmp_path, IN_POUNDS.replace(" (£)", ""))
    assert asked(bare, "currency")
    dollars = read(tmp_path, IN_POUNDS.replace("£", "$"))
    assert dollars.settings.currency == "USD" and not asked(dollars, "currency")


def test_headings_in_another_money_than_the_settings_are_noted_once(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('currency = "USD"\n', encoding="utf-8")
    said = [n for n in read(tmp_path, IN_POUNDS).notes if "GBP" in n]
    assert len(said) == 1 and "buy_price and asking_price and sale_price say GBP" in said[0]


def test_what_became_of_a_piece_under_where_is_asked_about_and_is_no_place_of_sale(
    tmp_path: Path,
) -> None:
    text = (
        "what,paid,asked,sold,sold for,notes,where\n"
        "oak desk,30,130,,,nice,gave to Lupe\n"
        'maple chair,20,,,,,"kept, its mine now"\n'
        'cherry dining table,90,490,2026-04-25,460,,"came back 5/2, gave back the 460"\n'
        "oak bench,90,490,2026-05-25,460,,gift shop\n"
    )
    found = read(tmp_path, text)
    assert found.flips["channel"].dropna().tolist() == ["gift shop"]
    assert found.flips["notes"].tolist()[:2] == ["nice; gave to Lupe", "kept, its mine now"]
    moved = found.changes[found.changes["column"] == "channel"]
    assert moved["line"].tolist() == [2, 3, 4] and set(moved["now"]) == {""}
    about = asked(found, "cell")
    assert sorted(q.options[0].meaning for q in about) == ["2026-05-02", "given away", "kept"]
    told = [f'cell,"{q.text}",{q.options[0].meaning},' for q in about]
    after = read(tmp_path, text, *told)
    assert after.flips["status"].tolist() == ["withdrawn", "withdrawn", "listed", "sold"]
    assert not after.to_answer


def test_a_day_that_was_answered_is_not_asked_about_again_with_those_that_have_no_year(
    tmp_path: Path,
) -> None:
    text = "type,paid,listed,sold for,sold\noak hutch,40,8 feb,300,\noak desk,30,14 may,120,\n"
    assert [q.about for q in read(tmp_path, text).to_answer] == ["year"]
    after = read(tmp_path, text, "cell,oak hutch paid 40: listed on: 8 feb,2026-02-08,")
    assert days(after, "listed_on") == ["2026-02-08", "NaT"]
    assert [q.about for q in after.to_answer] == ["cell"] and "14 may" in after.to_answer[0].said


def test_a_column_whose_order_another_settles_keeps_the_days_that_a_year_row_tells(
    tmp_path: Path,
) -> None:
    found = read(
        tmp_path,
        "Item,Listed,Asked,Sold,Got\ndesk,3/2/26,200,4/20/26,180\ndresser,3/15,300,,\nhutch,4/10/26,400,5/22/26,390\n"
        "2026,,,,\ndesk,5/3,210,5/20,200\nchair,5/30,60,6/4,50\n",
    )
    listed = ["2026-03-02", "2026-03-15", "2026-04-10", "2026-05-03", "2026-05-30"]
    assert days(found, "listed_on") == listed
    assert days(found, "sold_on")[-2:] == ["2026-05-20", "2026-06-04"]
    assert not found.to_answer


@pytest.mark.parametrize(("apart", "joined"), [(0, True), (1, True), (2, False)])
def test_two_columns_that_differ_in_more_than_a_tenth_of_their_rows_are_not_one(
    apart: int, joined: bool
) -> None:
    one, other = ["4"] * 10, ["6"] * apart + ["4"] * (10 - apart)
    made = one_column(
        (column_of(one), Heading("hours")), (column_of(other), Heading("hours")), told=True
    )
    assert (made is not None) == joined
    if made:
        assert [made[0].cell(i) for i in range(10)] == ["4 or 6"] * apart + ["4"] * (10 - apart)
