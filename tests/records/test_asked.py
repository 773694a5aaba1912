"""What is asked about a record: headings that leave two readings, words, orders, cells; and how answers count."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.cli import main
from fleetlib.records.asked.question import Chosen, chosen_by
from fleetlib.records.folder import Records, read_records
from fleetlib.records.log.answers_file import keep_answers, read_answers
from fleetlib.records.report import check_report

AS_OF = date(2026, 9, 30)
GONE = """Item,Wood,Paid,Spent,Hrs,Listed,Ask,Gone,Got,Notes
dresser,oak,80,35,9,3/4/26,450,3/20/26,410,
desk,pine,20,12,5,3/9/26,220,4/2/26,200,
hutch,oak,120,40,14,3/15/26,600,,,
nightstand,maple,30,18,6,4/1/26,180,4/13/26,165,
coffee table,walnut,25,22,7,4/10/26,260,5/1/26,260,
bookcase,pine,15,10,4,4/20/26,150,5/20/26,130,
vanity,mahogany,60,30,11,5/2/26,380,,,
sideboard,walnut,100,45,12,5/10/26,580,6/15/26,540,
trunk,cedar,10,15,3,5/15/26,140,5/25/26,120,
chair,oak,5,8,2,6/1/26,60,,,
"""


def shop(folder: Path, text: str, answers: str = "") -> Records:
    (folder / "flips.csv").write_text(text, encoding="utf-8")
    if answers:
        (folder / "answers.csv").write_text(f"on,about,text,meaning\n{answers}", encoding="utf-8")
    return read_records(folder, as_of=AS_OF)


def answered(folder: Path, *codes: str) -> Records:
    keep_answers(folder, chosen_by(read_records(folder, as_of=AS_OF).to_answer, codes), on=AS_OF)
    return read_records(folder, as_of=AS_OF)


def test_columns_of_days_and_money_that_nobody_claimed_are_asked_about_first(
    tmp_path: Path,
) -> None:
    found = shop(tmp_path, GONE)
    gone, spent = found.to_answer[:2]
    assert (gone.text, gone.options[0].meaning) == ("Gone", "sold on")
    assert '7 of 7 cells are days on or after "Listed"' in gone.said
    assert (spent.text, spent.options[0].meaning) == ("Spent", "materials cost")
    assert found.flips["sold_on"].isna().all() and (found.flips["status"] == "sold").sum() == 7


def test_a_column_of_yes_and_no_is_not_taken_to_say_where_a_piece_stands(tmp_path: Path) -> None:
    text = "Type,Insured,Fate,Asking\ndresser,yes,sold,400\ndesk,no,kept,300\nhutch,yes,sold,500\n"
    asked = [q.text for q in shop(tmp_path, text).to_answer]
    assert "Fate" in asked and "Insured" not in asked


def test_an_answer_counts_from_then_on_and_its_row_can_be_deleted(tmp_path: Path) -> None:
    shop(tmp_path, GONE)
    after = answered(tmp_path, "1a 2a")
    assert after.flips["sold_on"].notna().sum() == 7 and after.flips["materials_cost"].sum() == 235
    assert not after.to_answer
    rows = (tmp_path / "answers.csv").read_text().splitlines()
    assert rows[1:] == [
        "2026-09-30,heading,Gone,sold on,",
        "2026-09-30,heading,Spent,materials cost,",
    ]
    (tmp_path / "answers.csv").write_text("\n".join([rows[0], rows[2]]) + "\n")
    assert [q.text for q in read_records(tmp_path, as_of=AS_OF).to_answer] == ["Gone"]


def test_a_heading_said_to_be_nothing_is_asked_about_no_more(tmp_path: Path) -> None:
    found = shop(tmp_path, GONE, "2026-09-30,heading,Gone,nothing\n")
    assert [q.text for q in found.to_answer] == ["Spent"] and "Gone" in found.flips


def test_item_and_type_are_a_name_and_a_kind(tmp_path: Path) -> None:
    text = (
        "Item,Type,Price\nGrandma's oak,dresser,300\nThe tall one,hutch,450\nRed door,cabinet,90\n"
    )
    found = shop(tmp_path, text)
    assert found.flips["furniture_type"].tolist() == ["dresser", "hutch", "cabinet"]
    assert found.flips["piece"].tolist()[0] == "Grandma's oak"


def test_two_prices_are_told_apart_by_their_cells_and_asked_about(tmp_path: Path) -> None:
    rows = ["dresser,450,2026-03-20,410", "desk,220,2026-04-02,200", "hutch,600,,", "chair,60,,"]
    found = shop(tmp_path, "\n".join(["Type,Price,Sold on,Price", *rows]) + "\n")
    assert found.flips["asking_price"].tolist() == [450, 220, 600, 60]
    assert found.flips["sale_price"].tolist()[:2] == [410, 200]
    assert {(q.text, q.options[0].meaning) for q in found.to_answer} == {
        ("Price", "asking price"), ("Price 2", "sale price")}  # fmt: skip
    turned = shop(
        tmp_path,
        (tmp_path / "flips.csv").read_text(),
        "2026-09-30,heading,Price 2,last asking price\n",
    )
    assert turned.flips["last_asking_price"].notna().sum() == 2


def test_three_dates_are_asked_about_and_none_is_used(tmp_path: Path) -> None:
    rows = [f"{k},2026-0{m}-02,2026-0{m}-12,{s},{p}" for k, m, s, p in (
        ("dresser", 3, "2026-03-30", 300), ("desk", 4, "2026-05-01", 200), ("hutch", 5, "", ""))]  # fmt: skip
    found = shop(tmp_path, "\n".join(["Type,Date,Date,Date,Sold for", *rows]) + "\n")
    assert {(q.text, q.options[0].meaning) for q in found.to_answer} == {
        ("Date 3", "sold on"), ("Date 2", "listed on"), ("Date", "bought on")}  # fmt: skip
    assert found.flips[["bought_on", "listed_on", "sold_on"]].isna().all(axis=None)


@pytest.mark.parametrize(
    ("heading", "cells", "column", "first"),
    [
        ("Sold", ("$300", "$210", ""), "sale_price", 300),
        ("Sold", ("y", "n", "yes"), "status", "sold"),
        ("Labor", ("$40", "$55", "$20"), "other_costs", 40),
    ],
)
def test_cells_of_another_sort_than_the_heading_are_what_they_are(
    tmp_path: Path, heading: str, cells: tuple[str, ...], column: str, first: object
) -> None:
    kinds = ("dresser", "desk", "hutch")
    rows = "".join(f"{k},{c},400\n" for k, c in zip(kinds, cells, strict=True))
    assert shop(tmp_path, f"Type,{heading},Asking\n{rows}").flips[column].tolist()[0] == first


def test_a_lone_price_of_a_piece_without_a_day_of_sale_is_asked_about(tmp_path: Path) -> None:
    text = "Type,Sold on,Price\ndesk,2026-03-20,180\nhutch,,400\nchair,2026-04-02,60\n"
    found = shop(tmp_path, text)
    assert (
        found.to_answer[0].options[0].meaning == "asking price"
        and "lines 3" in found.to_answer[0].said
    )
    assert found.flips["sale_price"].isna().tolist() == [False, True, False]
    assert found.flips["status"].tolist()[1] == "in work"
    asked = answered(tmp_path, "1a")
    assert asked.flips["asking_price"][1] == 400 and not asked.to_answer
    assert asked.flips["status"].tolist() == ["sold", "listed", "sold"]
    sold = shop(tmp_path, text, "2026-09-30,heading,Price without a day of sale,sale price\n")
    assert sold.flips["sale_price"].tolist() == [180, 400, 60]


@pytest.mark.parametrize("heading", ["Sold", "Sold y/n"])
def test_a_price_beside_not_sold_is_what_is_asked(tmp_path: Path, heading: str) -> None:
    found = shop(tmp_path, f"Type,Price,{heading}\ndesk,180,y\nhutch,400,n\n")
    assert found.flips["status"].tolist() == ["sold", "listed"]
    assert found.flips["asking_price"][1] == 400 and found.flips["sale_price"][0] == 180


def test_a_column_of_kinds_under_no_such_heading_is_found_by_its_cells(tmp_path: Path) -> None:
    found = shop(tmp_path, "Thing,Paid,Asking,Hours\ndresser,40,300,5\noak desk,20,200,4\n")
    assert found.flips["furniture_type"].tolist() == ["dresser", "desk"]
    assert not found.to_answer  # nothing else can be meant
    half = shop(tmp_path, "Thing,Paid,Asking,Hours\ndresser,40,300,5\nmoon chest thing,20,200,4\n")
    assert half.to_answer[0].text == "Thing"


def test_words_orders_and_cells_are_asked_about_with_their_likeliest_answer(tmp_path: Path) -> None:
    text = "Type,Listed,Sold on,Price\nbureau,03/04/26,,\ndresser,05/06/26,2026-07-01,120/140\n"
    found = shop(tmp_path, text)
    by = {q.about: q for q in found.to_answer}
    assert [o.meaning for o in by["kind"].options] == ["dresser", "desk", "bureau"]
    assert by["date order"].options[0].meaning == "month first"
    assert [o.meaning for o in by["cell"].options] == ["120", "140", "nothing"]
    codes = {q.about: n + 1 for n, q in enumerate(found.to_answer)}
    after = answered(tmp_path, f"{codes['kind']}b,{codes['date order']}b", f"{codes['cell']}=130")
    assert not after.to_answer
    assert after.flips["furniture_type"].tolist() == ["desk", "dresser"]
    assert after.flips["listed_on"].dt.month.tolist() == [4, 6]
    assert after.flips["sale_price"].tolist()[1] == 130


def test_settings_win_over_answers(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text(
        'date_order = "day first"\n[words.furniture_type]\nbureau = "desk"\n'
    )
    answers = "2026-09-30,kind,bureau,dresser\n2026-09-30,date order,,month first\n"
    found = shop(tmp_path, "Type,Listed,Price\nbureau,03/04/26,90\n", answers)
    assert found.flips["furniture_type"][0] == "desk" and found.flips["listed_on"][0].month == 4


def test_of_two_answers_the_later_counts_and_a_blank_one_takes_the_earlier_back(
    tmp_path: Path,
) -> None:
    keep = "2026-09-30,kind,bureau,dresser\n"
    text = "Type,Price\nbureau,90\n"
    assert (
        shop(tmp_path, text, keep + "2026-09-30,Kind,Bureau,desk\n").flips["furniture_type"][0]
        == "desk"
    )
    assert [
        q.about for q in shop(tmp_path, text, keep + "2026-09-30,kind,bureau,\n").to_answer
    ] == ["kind"]


def test_a_row_that_is_no_answer_is_said_and_stops_nothing(tmp_path: Path) -> None:
    rows = (
        "2026-09-30,colour,red,blue\n2026-09-30,heading,Gone,the moon\n2026-09-30,currency,,euros\n"
    )
    found = shop(tmp_path, GONE, rows)
    notes = " ".join(found.notes)
    assert 'answers.csv line 2: about is "colour"' in notes
    assert 'meaning is "the moon", which is no column' in notes and "three-letter code" in notes


@pytest.mark.parametrize("code", ["9a", "1z", "a", "1", "0a", "1b=dresser", "x=3"])
def test_a_code_of_no_question_is_refused_and_nothing_is_written(tmp_path: Path, code: str) -> None:
    found = shop(tmp_path, GONE)
    with pytest.raises(BadQuestion, match="is no answer"):
        chosen_by(found.to_answer, [code])


def test_what_was_typed_comes_back_whole_from_the_file(tmp_path: Path) -> None:
    found = shop(tmp_path, 'Type,Price,Sold on\n"desk, ""big""\n one",90,2026-04-01\n')
    question = found.to_answer[0]
    keep_answers(tmp_path, [Chosen(question, "desk", "desk")], on=AS_OF)
    assert read_answers(tmp_path).of("kind", question.text) == "desk"
    assert read_records(tmp_path, as_of=AS_OF).flips["furniture_type"][0] == "desk"


def test_check_answers_from_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop(tmp_path, GONE)
    (tmp_path / "settings.toml").write_text("as_of = 2026-09-30\n")
    assert main(["check", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "1a  the day it sold" in said and '--answer "1a 2a"' in said
    assert main(["check", str(tmp_path), "--answer", "1a", "--answer", "2a"]) == 0
    said = capsys.readouterr().out
    assert "the day it sold" in said and "needs to know" not in said
    assert main(["check", str(tmp_path), "--answer", "1a"]) == 2


def test_like_faults_are_one_line(tmp_path: Path) -> None:
    found = shop(tmp_path, "Type,Price\ndesk,90\n" + "Total,90\n" * 30)
    made = check_report(found).set_aside
    assert len(made) == 1 and made["where"][0] == "line 3, line 4, line 5, line 6 and 26 more"
    assert not check_report(found).to_answer


def test_days_under_a_heading_of_prices_stop_no_file(tmp_path: Path) -> None:
    found = shop(tmp_path, "type,asking\ndesk,2026-05-22\n")
    assert str(found.flips["listed_on"][0].date()) == "2026-05-22"


def test_words_and_letters_stand_in_one_answer(tmp_path: Path) -> None:
    found = shop(tmp_path, GONE)
    free = next(i for i, q in enumerate(found.to_answer, 1) if q.free)
    other = next(i for i, q in enumerate(found.to_answer, 1) if q.options and i != free)
    for typed in (f"{free}=two words {other}a", f"{other}a, {free}=two words"):
        chosen = chosen_by(found.to_answer, [typed])
        assert {(c.question.about, c.shown) for c in chosen} == {
            (found.to_answer[free - 1].about, "two words"),
            (found.to_answer[other - 1].about, found.to_answer[other - 1].options[0].shown),
        }


def test_a_heading_said_to_be_a_size_keeps_its_unit(tmp_path: Path) -> None:
    text = "type,B (cm),T cm,price,sold on\ndresser,120,50,300,2026-03-01\ndesk,100,60,200,2026-04-01\n"
    answers = "2026-09-30,heading,B (cm),width\n2026-09-30,heading,T cm,depth\n"
    flips = shop(tmp_path, text, answers).flips
    assert flips["width_in"].round(1).tolist() == [47.2, 39.4]
    assert flips["depth_in"].round(1).tolist() == [19.7, 23.6]


def test_a_column_of_a_length_or_a_time_is_asked_about_as_such(tmp_path: Path) -> None:
    text = "type,B (cm),mins,price,sold on\n" + "".join(
        f"desk,{100 + n * n},{300 + 10 * n},{200 + n},2026-0{n}-01\n" for n in range(1, 9)
    )
    asked = {q.text: [o.meaning for o in q.options] for q in shop(tmp_path, text).to_answer}
    assert asked["B (cm)"][0] == "width"
    assert asked["mins"][0] == "hours"
    read = shop(tmp_path, text, "2026-09-30,heading,mins,hours\n").flips["hours"]
    assert read.round(2).tolist()[:2] == [5.17, 5.33]


def test_a_column_of_the_owners_own_prices_is_read_or_asked_about(tmp_path: Path) -> None:
    rows = "Item,Listed,Ask,{}\n" + "".join(
        f"desk,2026-0{m}-02,{90 + 5 * m},{100 + 7 * m}\n" for m in range(1, 8)
    )
    for known in ("My price idea", "What I'd ask"):
        found = shop(tmp_path, rows.format(known))
        assert found.flips["gut_price"].tolist() == [100 + 7 * m for m in range(1, 8)]
    assert shop(tmp_path, rows.format("Price as found")).flips["found_price"].notna().all()
    (asked,) = shop(tmp_path, rows.format("Guess at it")).to_answer
    assert (asked.text, asked.options[0].meaning) == ("Guess at it", "gut price")
