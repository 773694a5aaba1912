"""What five shops kept in yet other ways stumbled over: answers that went astray, rows that are no pieces, twin words.

Every record here is invented.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.desk.answering import answer_check
from fleetlib.desk.export import export
from fleetlib.records.cleaning.clean import read_finds
from fleetlib.records.folder import Records, read_records
from fleetlib.records.parsing.amounts import read_prices
from fleetlib.records.parsing.vocabulary import look_up
from fleetlib.records.report import check_report

AS_OF = date(2026, 9, 30)


def shop(folder: Path, text: str) -> Records:
    (folder / "flips.csv").write_text(text, encoding="utf-8")
    (folder / "settings.toml").write_text('as_of = "2026-09-30"\n', encoding="utf-8")
    return read_records(folder)


def answered(folder: Path, *codes: str) -> Records:
    answer_check(folder, codes)
    return read_records(folder)


def asked(records: Records, text: str) -> int:
    """The number, from 1, of the question on this text."""
    return next(i for i, q in enumerate(records.to_answer, 1) if text in q.said)


# ---- headings ------------------------------------------------------------------------------------


def test_a_numbered_twin_of_a_heading_is_told_apart_by_its_values_and_asked(tmp_path: Path) -> None:
    rows = "".join(
        f"{kind},{ask},{ask - 25},2026-0{i}-08\n"
        for i, (kind, ask) in enumerate(
            [("hutch", 310), ("desk", 190), ("trunk", 150), ("vanity", 260), ("bench", 120)], 1
        )
    )
    found = shop(tmp_path, "type,Price,Price 2,sold on\n" + rows)
    assert {q.text for q in found.to_answer} == {"Price", "Price 2"}
    by = {q.text: q.options[0].meaning for q in found.to_answer}
    assert by == {"Price": "asking price", "Price 2": "sale price"}
    wrongly = found.flips["sale_price"].dropna().tolist()
    assert wrongly in ([], [285, 165, 125, 235, 95])


def test_money_in_is_not_offered_as_inches(tmp_path: Path) -> None:
    found = shop(
        tmp_path,
        "type,$ in,$ out,out\nhutch,25,210,2026-03-01\ndesk,35,110,2026-04-01\ntrunk,15,90,2026-05-01\n",
    )
    offered = {q.text: [o.meaning for o in q.options] for q in found.to_answer}
    assert offered["$ in"][0] == "buy price" and offered["$ out"][0] == "sale price"
    assert "width" not in offered["$ in"]


def test_sizes_under_foreign_letters_are_offered_as_sizes_and_an_answer_reads_them(
    tmp_path: Path,
) -> None:
    text = "type,L x G x V,sold for\ndresser,48x19x34,200\ndesk,44x22x30,120\nhutch,46x18x74,310\n"
    found = shop(tmp_path, text)
    box = next(q for q in found.to_answer if q.text == "L x G x V")
    assert [box.options[0].meaning, box.options[-1].meaning] == ["size WxDxH", "nothing"]
    after = answered(tmp_path, "L x G x V=size")
    assert after.flips["width_in"].tolist() == [48, 44, 46]


# ---- answers -------------------------------------------------------------------------------------

SALES = "Item,Paid,Wanted,Went for,When\ndesk,40,200,180,3/14/25\nhutch thing,80,400,350,5/16/25\n"


def test_all_answers_of_one_command_mean_the_numbers_as_they_were_shown(tmp_path: Path) -> None:
    before = shop(tmp_path, SALES)
    n = asked(before, "hutch thing")
    when = next(q for q in before.to_answer if q.text == "When")
    assert before.to_answer.index(when) < n - 1  # it would go, and the numbers with it
    after = answered(tmp_path, f"{n}=hutch", "When=sold on")
    assert after.flips["furniture_type"].tolist() == ["desk", "hutch"]
    assert after.flips["sold_on"].dt.date.tolist() == [date(2025, 3, 14), date(2025, 5, 16)]


@pytest.mark.parametrize("wrong", ["yes, read both", "purple", "12"])
def test_a_heading_takes_no_answer_that_is_no_column(tmp_path: Path, wrong: str) -> None:
    before = shop(tmp_path, SALES)
    n = asked(before, '"When"')
    with pytest.raises(BadQuestion, match="is no column"):
        answer_check(tmp_path, [f"{n}={wrong}"])
    assert not (tmp_path / "answers.csv").exists()
    with pytest.raises(BadQuestion, match=r"The other answer was written to answers\.csv"):
        answer_check(tmp_path, [f"{n}={wrong}", "Wanted=asking price"])
    kept = (tmp_path / "answers.csv").read_text(encoding="utf-8").splitlines()
    assert len(kept) == 2 and "heading,Wanted,asking price" in kept[1]


def test_a_day_takes_no_word_and_nothing_is_written_beside_it(tmp_path: Path) -> None:
    before = shop(tmp_path, "type,sold for,sold on\ndesk,100,some day\nhutch,200,2026-03-04\n")
    n = asked(before, "some day")
    with pytest.raises(BadQuestion, match="write the day as 2026-10-04"):
        answer_check(tmp_path, [f"{n}=dresser"])
    assert not (tmp_path / "answers.csv").exists()
    assert answered(tmp_path, f"{n}=2026-03-02").flips["sold_on"].notna().all()


def test_an_answer_may_be_typed_in_the_words_that_are_offered(tmp_path: Path) -> None:
    before = shop(tmp_path, SALES)
    n = asked(before, '"When"')
    after = answered(tmp_path, f"{n}=the day it sold")
    assert after.flips["sold_on"].notna().all()


def test_every_question_takes_an_answer_and_rows_said_to_stand_twice_count_once(
    tmp_path: Path,
) -> None:
    text = "type,asking,bought\nchair,10,2026-02-03\nchair,10,2026-02-03\ndesk,30,2026-02-05\n"
    before = shop(tmp_path, text)
    assert all(q.options for q in before.to_answer)
    n = asked(before, "cannot be told apart")
    after = answered(tmp_path, f"{n}b")
    assert after.flips["line"].tolist() == [2, 4] and after.set_aside["line"].tolist() == [3]
    assert after.rows_in == 3 and not after.to_answer and not after.alike


def test_rows_said_to_be_different_pieces_are_asked_about_no_more(tmp_path: Path) -> None:
    text = "type,asking,bought\nchair,10,2026-02-03\nchair,10,2026-02-03\n"
    n = asked(shop(tmp_path, text), "cannot be told apart")
    after = answered(tmp_path, f"{n}a")
    assert len(after.flips) == 2 and not after.to_answer
    with pytest.raises(BadQuestion, match="its own name"):
        after.logged_as(str(after.flips["piece"].iloc[0]))


def test_a_piece_given_away_on_a_day_that_was_answered_is_no_sale(tmp_path: Path) -> None:
    text = "type,money,when\noak bench,gave to aunt,20 of june\ndesk,90,2026-03-04\nhutch,95,2026-03-14\n"
    (tmp_path / "answers.csv").write_text(
        "on,about,text,meaning\n2026-09-30,heading,money,sale price\n2026-09-30,heading,when,sold on\n"
    )
    before = shop(tmp_path, text)
    n = asked(before, "20 of june")
    after = answered(tmp_path, f"{n}=2025-06-20")
    gift = after.flips.iloc[0]
    assert gift["outcome"] == "given away" and gift["status"] == "withdrawn"
    assert gift["withdrawn_on"].date() == date(2025, 6, 20)


# ---- rows that are no pieces ---------------------------------------------------------------------


def test_a_row_can_be_said_to_be_no_piece(tmp_path: Path) -> None:
    text = "type,sold for,sold on\ndesk,100,2026-03-01\nAT THE FAIR,300,\nhutch,200,2026-05-01\n"
    before = shop(tmp_path, text)
    n = asked(before, "AT THE FAIR")
    offered = before.to_answer[n - 1].options
    letter = "ab"[[o.meaning for o in offered].index("not a piece")]
    after = answered(tmp_path, f"{n}{letter}")
    assert after.flips["furniture_type"].tolist() == ["desk", "hutch"]
    assert after.set_aside["line"].tolist() == [3] and after.rows_in == 3
    (tmp_path / "answers.csv").unlink()
    assert len(answered(tmp_path, f"{n}=nothing").flips) == 2


def test_a_job_among_the_states_can_be_said_to_be_no_piece(tmp_path: Path) -> None:
    rows = "hutch,sold,200,2026-05-01\nvanity,for aunt Ida 90 labour,90,2026-05-08\ndesk,kept,,\n"
    before = shop(tmp_path, "type,where it stands,sold for,sold on\n" + rows)
    n = asked(before, "aunt Ida")
    letters = [o.meaning for o in before.to_answer[n - 1].options]
    after = answered(tmp_path, f"{n}{'abcdefghij'[letters.index('not a piece')]}")
    assert after.flips["furniture_type"].tolist() == ["hutch", "desk"]
    assert after.set_aside["line"].tolist() == [3] and not after.to_answer


# ---- words ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "kind", "wood", "finish"),
    [
        ("oak sideboard white", "sideboard", "oak", ""),
        ("white oak sideboard", "sideboard", "white oak", ""),
        ("oak sideboard (white paint)", "sideboard", "oak", "paint"),
        ("walnut hutch, dark stain", "hutch", "walnut", "stain"),
        ("ash bench wax", "bench", "ash", "wax"),
        ("bow front hutch", "hutch", "", ""),
        ("kneehole vanity, no stool", "vanity", "", ""),
        ("kitchen tbl, 2 leaves", "dining table", "", ""),
        ("cherry stained pine trunk", "trunk", "", "stain"),
    ],
)
def test_wood_and_finish_beside_a_kind_are_read_from_words_that_stand_together(
    typed: str, kind: str, wood: str, finish: str
) -> None:
    found = look_up("furniture_type", typed)
    assert (found.value, found.wood, found.finish) == (kind, wood, finish)


@pytest.mark.parametrize("typed", ["hutch top only", "bench grinder", "desk drawer", "oak table"])
def test_another_word_beside_a_kind_leaves_it_open(typed: str) -> None:
    assert look_up("furniture_type", typed).value == typed


def test_an_answer_about_a_kind_leaves_its_wood_and_finish_to_be_read(tmp_path: Path) -> None:
    text = "type,asking\nelm plant press oil,100\noak bureau wax,200\nbureau,90\n"
    before = shop(tmp_path, text)
    codes = [f"{asked(before, 'plant press')}=cabinet", f"{asked(before, 'bureau')}b"]
    after = answered(tmp_path, *codes).flips
    assert after["furniture_type"].tolist() == ["cabinet", "desk", "desk"]
    assert after["wood"].tolist()[:2] == ["elm", "oak"]
    assert after["finish"].tolist()[:2] == ["oil", "wax"] and after["finish"].isna().iloc[2]


def test_a_colour_alone_under_finish_is_paint_and_a_mix_is_offered_as_its_parts(
    tmp_path: Path,
) -> None:
    rows = "desk,teal\nhutch,dk oak stain then poly\nbench,paint (teal)\ntrunk,dunno\nvanity,mystery goo\n"
    found = shop(tmp_path, "type,finish,asking\n" + rows.replace("\n", ",100\n"))
    assert found.flips["finish"].tolist()[2] == "paint" and found.flips["finish"].isna()[3]
    by = {q.text: [o.meaning for o in q.options] for q in found.to_answer if q.about == "finish"}
    assert found.flips["finish"][0] == "paint" and "teal" not in by  # a colour alone, and said
    assert by["dk oak stain then poly"][:2] == ["stain", "polyurethane"]
    assert any("mystery goo" in n for n in found.notes)


# ---- amounts -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "amount", "count"),
    [("20 for 4", 20, 4), ("4 for 20", 20, 4), ("24 for 3", 24, 3), ("6 for 8", None, None)],
)
def test_of_two_numbers_the_larger_is_the_money_where_it_clearly_is(
    typed: str, amount: float | None, count: float | None
) -> None:
    found = read_prices([typed])[0]
    assert (found.cell.value, found.count) == (amount, count)
    assert found.cell.refused == (amount is None)


@pytest.mark.parametrize(
    ("typed", "got", "before", "delivery"),
    [
        ("got 410!! (asked 450)", 410, 450, None),
        ("got 210 (asked 260) + 30 delivery", 210, 260, 30),
        ("got full 185", 185, None, None),
        ("got 45 each (asked 55 each)", 45, 55, None),
    ],
)
def test_what_was_asked_stays_beside_what_was_got(
    typed: str, got: float, before: float | None, delivery: float | None
) -> None:
    found = read_prices([typed])[0]
    assert (found.cell.value, found.before, found.charge) == (got, before, delivery)


def test_what_is_only_asked_is_no_sale_and_a_swap_keeps_its_ask(tmp_path: Path) -> None:
    rows = "hutch,asking 310,\nrocker,swapped for a saw (asked 95),2026-03-08\ndesk,140 (asked 160),2026-04-08\n"
    text = "type,sold for,sold on\n" + rows
    found = shop(tmp_path, text).flips
    assert found["status"].tolist() == ["listed", "sold", "sold"]
    assert found["asking_price"][0] == 310 and found["sale_price"].isna().tolist() == [
        True,
        True,
        False,
    ]
    assert found["last_asking_price"].tolist()[1:] == [95, 160]
    assert len(read_records(tmp_path).to_answer) == 0


def test_a_row_that_belongs_to_the_one_above_can_be_said_to_count_there(tmp_path: Path) -> None:
    rows = (
        "nightstand,30 the pair,150 for both,2026-03-08\nnightstand,see above,w/ above,2026-03-08\n"
    )
    text = "type,paid,sold for,sold on\n" + rows
    before = shop(tmp_path, text)
    n = asked(before, '"w/ above"')
    assert "line 2" in before.to_answer[n - 1].options[0].shown
    after = answered(tmp_path, f"{n}a")
    assert after.flips["sale_price"].tolist() == [150] and after.flips[
        "pieces_in_lot"
    ].tolist() == [2]
    assert after.set_aside["line"].tolist() == [3] and not after.to_answer


def test_amounts_are_offered_without_stray_commas_added_up_and_as_nothing_where_it_was_free(
    tmp_path: Path,
) -> None:
    rows = 'desk,"240, then 225"\nhutch,80 + 15 for the van\nbench,n/c from the roadside\ntrunk,"1,200 or less"\n'
    found = shop(
        tmp_path, "type,paid\n".replace("paid", "paid,asking") + rows.replace("\n", ",90\n")
    )
    offered = {q.text.split(": ")[2]: [o.meaning for o in q.options] for q in found.to_answer}
    assert offered["240, then 225"][:2] == ["240", "225"]
    assert offered["80 + 15 for the van"][:3] == ["95", "80", "15"]
    assert offered["n/c from the roadside"][0] == "0" and offered["1,200 or less"][0] == "1,200"


# ---- rows between the rows, and days without a year ----------------------------------------------

LIST = """piece,money,day
MY LIST,,
2024,,
oak hutch,got 310,8 feb
pine desk,got 120,9 may
2025,,
elm bench,got 90,8 feb
total for it = 520,,
TO DO,,
ash trunk,asking 140,
"""
LIST_ANSWERS = """on,about,text,meaning
2026-09-30,heading,piece,type
2026-09-30,heading,money,sale price
2026-09-30,heading,day,sold on
"""


def test_headings_and_remarks_between_the_rows_are_no_pieces_and_say_the_year(
    tmp_path: Path,
) -> None:
    (tmp_path / "answers.csv").write_text(LIST_ANSWERS)
    found = shop(tmp_path, LIST)
    assert found.set_aside["line"].tolist() == [2, 3, 6, 8, 9]
    days = [None if d != d else d.date() for d in found.flips["sold_on"]]
    assert days == [date(2024, 2, 8), date(2024, 5, 9), date(2025, 2, 8), None]
    assert found.flips["asking_price"].tolist()[3] == 140 and not found.to_answer


def test_a_row_that_sums_up_those_above_is_no_piece_but_one_that_only_looks_odd_is_asked(
    tmp_path: Path,
) -> None:
    rows = (
        "hutch,300,2026-03-08\ndesk,120,2026-04-08\nspring,420,\nbench,80,2026-06-08\nsummer,90,\n"
    )
    found = shop(tmp_path, "type,sold for,sold on\n" + rows)
    assert found.set_aside["line"].tolist() == [4]
    assert any('"summer" is no kind' in q.said for q in found.to_answer)


@pytest.mark.parametrize(
    ("letter", "years"), [("a", [2026, 2026, 2025]), ("c", [2025, 2025, 2025]), ("e", [])]
)
def test_days_without_a_year_are_asked_about_once(
    tmp_path: Path, letter: str, years: list[int]
) -> None:
    text = "type,sold for,sold on\nhutch,300,8 feb\ndesk,120,14 may\nbench,80,20 nov\n"
    before = shop(tmp_path, text)
    assert [q.about for q in before.to_answer] == ["year"]
    after = answered(tmp_path, f"1{letter}")
    assert after.flips["sold_on"].dropna().dt.year.tolist() == years
    assert len(after.to_answer) == (0 if years else 3)


def test_the_same_day_and_month_under_two_years_is_two_days(tmp_path: Path) -> None:
    (tmp_path / "answers.csv").write_text(LIST_ANSWERS)
    found = shop(tmp_path, LIST.replace("9 may", "8 feb"))
    assert found.flips["sold_on"].dropna().dt.year.tolist() == [2024, 2024, 2025]


def test_a_treatment_is_a_finish_where_its_cells_are_finishes_and_a_plan_where_they_are_plans(
    tmp_path: Path,
) -> None:
    rows = "hutch,{},200\ndesk,{},100\ntrunk,{},90\n"
    wax = shop(tmp_path, "type,treatment,sold for\n" + rows.format("wax", "shellac", "paint"))
    assert (
        wax.flips["finish"].tolist() == ["wax", "shellac", "paint"]
        and wax.flips["route"].isna().all()
    )
    assert any('"treatment" holds finishes' in n for n in wax.notes)
    plan = shop(tmp_path, "type,treatment,sold for\n" + rows.format("repair", "strip", "paint"))
    assert plan.flips["route"].tolist() == ["repair", "strip", "paint"]


def test_the_guessed_hours_of_a_find_are_its_hours_and_the_check_of_a_file_names_the_file(
    tmp_path: Path,
) -> None:
    file = tmp_path / "finds.csv"
    file.write_text("what,asking,guess hrs\noak desk,60,10\nhutch,90,14\n", encoding="utf-8")
    assert read_finds(file, as_of=AS_OF).flips["hours"].tolist() == [10, 14]
    assert check_report(read_records(file)).command == f"fleetlib check {file}"
    n = asked(read_records(file), "guess hrs")
    answer_check(file, [f"{n}a"])
    assert read_records(file).flips["hours"].tolist() == [10, 14]


def test_an_export_carries_what_was_typed_where_it_could_not_be_read(tmp_path: Path) -> None:
    shop(tmp_path, "type,sold for,sold on\ndesk,110/130,2026-03-04\nhutch,200,2026-03-08\n")
    export(read_records(tmp_path), tmp_path / "out")
    laid = pd.read_csv(tmp_path / "out" / "flips_with_events.csv")
    assert (
        laid["sale_price as typed"].tolist()[0] == "110/130"
        and laid["sale_price as typed"].isna()[1]
    )
    again = read_records(tmp_path / "out" / "shop", as_of=AS_OF)
    assert again.flips["sale_price as typed"].tolist()[0] == "110/130" and not again.to_answer
