"""A list in order whose days have no year, as it grows and changes, read from files through the folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetlib.records.folder import Records
from tests.records.answered import asked, read

HEAD = "Piece,Kind,Wood,Bought,Paid,Listed,Asking,Sold on,Sold for,Hours\n"
DAYS = ("bought_on", "listed_on", "sold_on")


def as_text(rows: list[str]) -> str:
    """The list with a row for each `bought/listed/sold`, named after its place from the end, as the newest is first."""
    cells = [r.split("/") if r.count("/") == 2 else r.split() for r in rows]
    return HEAD + "".join(
        f"P-{len(rows) - n},desk,oak,{b},40,{listed},150,{s},140,5\n"
        for n, (b, listed, s) in enumerate(cells)
    )


def day_of(found: Records, piece: str, column: str) -> str:
    return str(found.flips.set_index("piece")[column][piece])[:10]


def test_one_stray_row_does_not_shift_the_years_of_the_others(tmp_path: Path) -> None:
    rows = [
        "10 Jan/3 Feb/20 Feb", "15 Feb/10 Mar/2 Apr", "3 May/1 Jun/4 Jul", "2 Jul/1 Aug/20 Aug",
        "9 Sep/2 Oct/20 Oct", "20 Jun/5 Oct/1 Nov", "12 Oct/1 Nov/10 Nov", "15 Oct/3 Nov/20 Nov",
        "20 Oct/5 Nov/22 Nov", "25 Oct/8 Nov/25 Nov",
    ]  # fmt: skip
    (question,) = read(tmp_path, as_text(rows)).to_answer
    assert question.options[0].shown == "from February 2026 to November 2026"
    found = read(tmp_path, as_text(rows), f"year,{question.text},2026")
    assert not found.to_answer
    assert all({str(d)[:4] for d in found.flips[c]} == {"2026"} for c in DAYS)


@pytest.mark.parametrize("stray", ["20 Jan", "28 Nov"])
def test_a_stray_day_in_the_only_column_that_runs_is_asked_about_by_itself(
    tmp_path: Path, stray: str
) -> None:
    days = ["10 Feb", "1 Mar", "3 Apr", "9 May", "1 Jun", "8 Jun", "2 Jul", "9 Jul", "1 Aug"]
    rows = [*days[:5], stray, *days[5:]]
    text = "kind,paid,bought\n" + "".join(f"desk,{40 + n},{d}\n" for n, d in enumerate(rows))
    found = read(tmp_path, text.replace("paid", "asked"), "year,the list from 10 Feb,2026")
    years = [str(d)[:4] for d in found.flips["bought_on"]]
    assert years == ["2026"] * 5 + ["NaT"] + ["2026"] * 4
    assert [q.about for q in found.to_answer] == ["cell"] and stray in found.to_answer[0].said


SLASHED = ["1/12 2/3 3/4", "3/5 4/6 5/7", "4/3 5/9 6/2", "6/9 7/9 8/9", "8/11 9/12 10/1", "9/2 10/2 11/7"]  # fmt: skip


def test_the_order_of_day_and_month_is_asked_before_where_the_list_begins(tmp_path: Path) -> None:
    text = as_text(SLASHED)
    assert [q.about for q in read(tmp_path, text).to_answer] == ["date order"]
    found = read(tmp_path, text, "date order,,month first")
    assert [q.text for q in found.to_answer] == ["the list from 1/12"]
    found = read(tmp_path, text, "date order,,month first", "year,the list from 1/12,2026")
    assert not found.to_answer and day_of(found, "P-6", "bought_on") == "2026-01-12"
    assert not any("left out" in n for n in found.notes)
    as_days_first = [" ".join("/".join(d.split("/")[::-1]) for d in r.split()) for r in SLASHED]
    found = read(tmp_path, as_text(as_days_first), "date order,,day first")
    assert [q.text for q in found.to_answer] == ["the list from 12/1"]


GROWN = [
    "5 Aug/1 Sep/2 Oct", "2 Mar/5 Apr/6 May", "25 Oct/8 Nov/25 Nov", "20 Jul/5 Aug/22 Aug", "15 Apr/3 May/20 May",
    "12 Jan/1 Mar/10 Apr", "12 Dec/5 Jan/1 Feb", "9 Sep/2 Oct/20 Oct", "2 Jul/1 Aug/20 Aug", "3 May/1 Jun/4 Jul",
    "15 Mar/10 Apr/2 May", "10 Jan/3 Feb/20 Feb",
]  # fmt: skip
SAID = "year,the list from 10 Jan,2024"


def years_of(found: Records) -> dict[str, list[str]]:
    return {
        str(p): [str(d) for d in row]
        for p, *row in found.flips[["piece", *DAYS]].itertuples(index=False)
    }


@pytest.mark.parametrize(
    "rows",
    [
        ["2 Jun/10 Jun/1 Jul", *GROWN],  # which would be of next year
        ["10 Dec/15 Dec/20 Dec", *GROWN],  # after the day the record is read
        ["1 Oct/9 Oct/2 Nov", *GROWN],
        ["5 Aug/1 Sep/30 Nov", *GROWN[1:]],
    ],
)
def test_an_answered_span_stays_for_its_rows_when_one_comes_on_top(
    tmp_path: Path, rows: list[str]
) -> None:
    before = years_of(read(tmp_path, as_text(GROWN), SAID))
    assert before["P-12"][0][:10] == "2026-08-05" and before["P-1"][2][:10] == "2024-02-20"
    found = read(tmp_path, as_text(rows), SAID)
    after = years_of(found)
    changed = [(p, c) for p in before for k, c in enumerate(DAYS) if before[p][k] != after[p][k]]
    assert changed == ([("P-12", "sold_on")] if len(rows) == len(GROWN) else [])
    assert not asked(found, "year")
    fits = rows[0].startswith("1 Oct")
    assert fits == (not any("does not fit" in n for n in found.notes))
    if fits:
        assert day_of(found, "P-13", "bought_on") == "2026-10-01"


def test_an_answered_span_goes_on_to_a_row_below_and_outlives_its_first_row(tmp_path: Path) -> None:
    found = read(tmp_path, as_text([*GROWN, "2 Dec/20 Dec/3 Jan"]), SAID)
    assert not found.to_answer
    assert day_of(found, "P-1", "bought_on") == "2023-12-02"
    assert day_of(found, "P-13", "bought_on") == "2026-08-05"
    found = read(tmp_path, as_text(GROWN[:-1]), SAID)
    assert not found.to_answer and day_of(found, "P-11", "bought_on") == "2026-08-05"
    assert any("is not in it now; your answer still counts" in n for n in found.notes)
    found = read(tmp_path, as_text(GROWN[:-3]), SAID)  # it now begins far from there
    assert asked(found, "year")
    assert any("is not in it now; your answer counts no more" in n for n in found.notes)


def test_a_day_without_a_year_is_offered_as_the_days_it_can_be_by_the_others_of_its_row(
    tmp_path: Path,
) -> None:
    head = "kind,bought,listed,asked,sold,sold for\n"
    other = "hutch,2025-03-06,2025-04-11,120,2025-05-03,110\n"

    def offered(row: str) -> list[str]:
        (question,) = asked(read(tmp_path, head + row + other), "cell")
        return [o.meaning for o in question.options]

    assert offered("desk,2025-03-05,2025-04-10,90,20 Mar,80\n") == ["2026-03-20", "nothing"]
    assert offered("desk,,,90,20 Dec,80\n") == ["2025-12-20", "2024-12-20", "nothing"]
    assert {"2024-10-12", "2024-12-10"} <= {*offered("desk,10/12,,90,2025-05-03,80\n")}
