"""What a sixth walk over shops kept by others found: each finding as a test."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetlib.records.asked.question import Question
from fleetlib.records.folder import Records, read_records

AS_OF = date(2026, 11, 28)
BESIDE = "on,about,text,meaning\n"


def read(folder: Path, text: str, *answers: str) -> Records:
    (folder / "flips.csv").write_text(text, encoding="utf-8")
    rows = "".join(f"2026-11-28,{a}\n" for a in answers)
    (folder / "answers.csv").write_text(BESIDE + rows, encoding="utf-8")
    return read_records(folder, as_of=AS_OF)


def asked(found: Records, about: str) -> list[Question]:
    return [q for q in found.to_answer if q.about == about]


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
