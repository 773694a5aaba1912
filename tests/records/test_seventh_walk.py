"""Columns whose headings say little: cut short, one letter a state, days mostly without a year."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.records.answered import asked, read

ROWS = [
    # kind, wood, ask, sold for, state, supplies, came
    ("dresser", "oak", 295, 260, "S", 22, "12/28/24"),
    ("nightstand", "maple", 120, 110, "S", 31, "1/4"),
    ("desk", "oak", 265, 245, "S", 14, "1/25"),
    ("bookcase", "pine", 75, 70, "S", 11, "2/1"),
    ("hutch", "maple", 310, "", "L", 40, "2/2"),
    ("armoire", "pine", 210, "", "L", 18, "2/9"),
    ("rocker", "maple", "", "", "K", 5, "2/22"),
    ("crib", "oak", "", "", "K", 9, "3/1"),
]


def sheet(state: str, words: dict[str, str] | None = None) -> str:
    words = words or {}
    head = f"Piece,Wood,Asking,Sold for,Paid,{state},Supp,Got it\n"
    return head + "".join(
        f"{k},{w},{a},{p},20,{words.get(s, s)},{m},{d}\n" for k, w, a, p, s, m, d in ROWS
    )


@pytest.mark.parametrize("heading", ["St", "Status", "Stat."])
def test_letters_under_a_state_are_asked_about_but_the_one_that_the_sales_explain(
    tmp_path: Path, heading: str
) -> None:
    found = read(tmp_path, sheet(heading))
    states = asked(found, "state")
    assert {q.text: q.options[0].meaning for q in states} == {"L": "on hand", "K": "kept"}
    assert found.flips["status"].tolist().count("sold") == 4
    kept = read(tmp_path, sheet(heading), "state,L,on hand", "state,K,kept").flips
    assert kept["outcome"].tolist()[-2:] == ["kept", "kept"]
    assert kept["status"].tolist() == ["sold"] * 4 + ["listed"] * 2 + ["withdrawn"] * 2


def test_a_column_of_a_few_words_that_goes_with_the_sales_is_asked_about(tmp_path: Path) -> None:
    words = {"S": "uit", "L": "hier", "K": "ons"}
    found = read(tmp_path, sheet("Hoe", words))
    (question,) = [q for q in asked(found, "heading") if q.text == "Hoe"]
    assert question.options[0].meaning == "outcome"
    other = read(tmp_path, sheet("Van", {"S": "An", "L": "An", "K": "Bo"}))
    assert not [q for q in asked(other, "heading") if q.text == "Van"]


def test_a_heading_cut_short_over_amounts_and_days_mostly_without_a_year_are_asked_about(
    tmp_path: Path,
) -> None:
    questions = {q.text: q for q in asked(read(tmp_path, sheet("St")), "heading")}
    assert "8 of 8 cells are amounts" in questions["Supp"].said
    assert questions["Supp"].options[0].meaning == "materials cost"
    days = "8 of 8 cells are days, most without a year, such as 12/28/24"
    assert days in questions["Got it"].said
    assert questions["Got it"].options[0].meaning == "bought on"


def test_of_a_price_and_what_it_sold_for_only_the_price_is_in_doubt(tmp_path: Path) -> None:
    days = [(f"2026-0{i}-01", f"2026-0{i}-20") for i in range(1, 7)]
    rows = "".join(f"desk,{d},{90 + 5 * i},{s},{80 + 5 * i}\n" for i, (d, s) in enumerate(days))
    text = f"Type,Advertised,Price,Sold on,Sold for\n{rows}hutch,2026-10-01,140,,\n"
    found = read(tmp_path, text)
    assert not asked(found, "heading") or asked(found, "heading")[0].text == "Price"
    assert found.flips["asking_price"].tolist() == [90, 95, 100, 105, 110, 115, 140]
    assert found.flips["sale_price"].tolist()[:6] == [80, 85, 90, 95, 100, 105]


def test_got_over_days_beside_gone_is_the_day_it_came(tmp_path: Path) -> None:
    money = [(31, 90), (20, 140), (45, 95), (12, 60), (38, 210), (25, 85), (30, 120)]
    rows = "".join(
        f"desk,2026-0{i}-01,{paid},2026-0{i}-20,{got}\n" for i, (paid, got) in enumerate(money, 1)
    )
    found = read(tmp_path, "Type,got,$in,gone,$out\n" + rows + "hutch,2026-08-01,40,,\n")
    first = {q.text: q.options[0].meaning for q in asked(found, "heading")}
    right = {"got": "bought on", "$in": "buy price", "gone": "sold on", "$out": "sale price"}
    assert first == right


def test_a_column_of_other_costs_that_holds_remarks_is_notes(tmp_path: Path) -> None:
    remarks = ["peeled, redoing", "with mirror", "shoulda asked more", "delivered +40", ""]
    rows = "".join(f"desk,{90 + i},{r}\n" for i, r in enumerate(f'"{r}"' for r in remarks))
    found = read(tmp_path, "Type,Sold for,misc\n" + rows)
    assert found.flips["notes"].tolist()[:3] == remarks[:3]
    assert not [q for q in asked(found, "cell") if "other costs" in q.said]


@pytest.mark.parametrize(
    ("note", "last"),
    [
        ("dropped 25", 135),
        ("dropped 10 then 10 more", 140),
        ("dropped 20 twice", 120),
        ("still have. dropped 15, 15", 130),
        ("dropped 30, dropped 20", 110),
        ("dropped by 10", 150),
        ("dropped to 120", 120),
    ],
)
def test_a_note_of_how_far_a_price_came_down_is_asked_about(
    tmp_path: Path, note: str, last: int
) -> None:
    text = f'Type,Listed,Asking,Notes\ndesk,2026-10-01,160,"{note}"\n'
    (question,) = asked(read(tmp_path, text), "cell")
    assert question.options[0].meaning == str(last)
    assert read(tmp_path, text).flips["last_asking_price"].isna().all()


def test_how_far_a_price_came_down_is_asked_about_where_it_sold_at_that_too(tmp_path: Path) -> None:
    rows = "desk,2026-01-01,160,2026-02-01,135,dropped 25\nhutch,2026-01-01,300,2026-02-01,250,came down to 250\n"
    found = read(tmp_path, f"Type,Listed,Asking,Sold on,Sold for,Notes\n{rows}")
    (question,) = asked(found, "cell")
    assert question.options[0].meaning == "135" and "dropped 25" in question.said


def test_an_unclaimed_column_of_remarks_is_read_as_notes_and_its_fates_are_asked_about(
    tmp_path: Path,
) -> None:
    fates = [
        "a couple in town",
        "keeping, for myself",
        "cracked it unloading, trash",
        "my neighbour Kim",
    ]
    rows = "".join(f'desk,2026-0{i}-01,{90 + i},"{f}"\n' for i, f in enumerate(fates, 1))
    found = read(tmp_path, "Type,Listed,Asking,Who / where\n" + rows)
    assert found.flips["notes"].tolist() == fates
    said = [q.said for q in asked(found, "cell")]
    assert sum("What became of it" in s for s in said) == 2


def test_days_and_months_with_a_slash_are_days_and_halves_are_not(tmp_path: Path) -> None:
    days = [("8/7", "22/7", "26/8"), ("1/10", "3/11", "20/11"), ("27/4", "9/5", "30/5")]
    rows = "".join(f"desk,{i},{a},{o},{90 + 7 * k}\n" for k, (i, a, o) in enumerate(days))
    text = "Type,In,Ad,Out,Sold for\n" + rows + "hutch,2/2,1/3,,\n"
    first = {q.text: q.options[0].meaning for q in asked(read(tmp_path, text), "heading")}
    assert first == {"In": "bought on", "Ad": "listed on", "Out": "sold on"}
    halves = "Type,Sold for,Gap\ndesk,90,1/2\nhutch,80,3/4\nbench,70,1/8\n"
    assert not [q for q in asked(read(tmp_path, halves), "heading") if q.text == "Gap"]
