"""What a seventh walk over shops kept by others found about days, answers and prices: each finding as a test."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetlib.desk.answering import answer_check
from fleetlib.records.folder import Records, read_records
from fleetlib.records.report import check_report
from fleetlib.shop import open_shop
from fleetlib.week.piece import story
from tests.records.answered import AS_OF, asked, read


def days(found: Records, column: str) -> list[str]:
    return [str(d)[:10] for d in found.flips[column]]


IN_ORDER = """type,bought,paid,listed,asked,sold,sold for
desk,Nov 9,20,Nov 17,150,Nov 30,140
chair,Nov 23,10,Dec 7,90,Jan 14,80
bench,Dec 7,15,Dec 11,110,Dec 15,100
trunk,Dec 28,15,Jan 5,85,Mar 8,80
hutch,Jan 11,30,Jan 18,300,Feb 22,280
stool,Mar 1,5,Mar 8,50,,
"""
BOUGHT = ["2024-11-09", "2024-11-23", "2024-12-07", "2024-12-28", "2025-01-11", "2025-03-01"]
SOLD = ["2024-11-30", "2025-01-14", "2024-12-15", "2025-03-08", "2025-02-22", "NaT"]


def test_where_a_list_in_order_begins_is_asked_once_and_settles_every_column(
    tmp_path: Path,
) -> None:
    before = read(tmp_path, IN_ORDER)
    assert [(q.about, q.text) for q in before.to_answer] == [("year", "the list from Nov 9")]
    offered = before.to_answer[0].options
    assert [o.meaning for o in offered] == ["2025", "2024", "2023", "2022", "each"]
    assert offered[0].shown == "from November 2025 to March 2026"
    assert "(line 2: Nov 9, line 6: Jan 11, line 7: Mar 1)" in " ".join(
        str(check_report(before)).split()
    )
    after = read(tmp_path, IN_ORDER, "year,the list from Nov 9,2024")
    assert not after.to_answer
    assert days(after, "bought_on") == BOUGHT
    assert days(after, "sold_on") == SOLD
    assert days(after, "listed_on")[2:4] == ["2024-12-11", "2025-01-05"]
    assert sum("16 days" in n or "17 days" in n for n in after.notes) == 1


def test_a_list_with_the_newest_first_runs_in_order_too(tmp_path: Path) -> None:
    head, *rows = IN_ORDER.splitlines()
    after = read(tmp_path, "\n".join([head, *rows[::-1]]), "year,the list from Nov 9,2024")
    assert days(after, "bought_on") == BOUGHT[::-1]
    assert days(after, "sold_on") == SOLD[::-1]


def test_no_begin_is_offered_after_which_a_day_would_not_have_been(tmp_path: Path) -> None:
    late = (
        IN_ORDER + "stool,Nov 20,5,Nov 29,50,,\n"
    )  # the day the record is read is 28 November 2026
    assert read(tmp_path, late).to_answer[0].options[0].meaning == "2024"


def test_a_list_that_is_said_to_run_in_no_order_is_asked_by_column(tmp_path: Path) -> None:
    after = read(tmp_path, IN_ORDER, "year,the list from Nov 9,each")
    assert {q.text for q in asked(after, "year")} == {"bought on", "listed on", "sold on"}


def test_rows_in_no_order_are_asked_by_column(tmp_path: Path) -> None:
    head, *rows = IN_ORDER.splitlines()
    mixed = [rows[k] for k in (0, 5, 2, 4, 1, 3)]
    found = read(tmp_path, "\n".join([head, *mixed]))
    assert {q.text for q in asked(found, "year")} == {"bought on", "listed on", "sold on"}


def test_a_row_a_little_out_of_order_is_of_the_year_of_those_around_it(tmp_path: Path) -> None:
    head, *rows = IN_ORDER.splitlines()
    more = [f"desk,Mar {n},5,Apr {n},50,," for n in range(2, 8)]
    rows = [*rows[:4], "desk,Dec 1,9,Feb 2,60,Mar 3,55", *rows[4:], *more]
    found = read(tmp_path, "\n".join([head, *rows]), "year,the list from Nov 9,2024")
    assert days(found, "bought_on")[4:6] == ["2024-12-01", "2025-01-11"]
    assert days(found, "sold_on")[4] == "2025-03-03"
    assert not found.to_answer


def test_a_list_by_its_day_of_sale_takes_the_days_before_it_from_there(tmp_path: Path) -> None:
    text = "type,listed,asked,sold,sold for\n" + "".join(
        f"desk,{a},100,{b},90\n"
        for a, b in (
            ("Dec 3", "Dec 20"), ("Oct 2", "Jan 9"), ("Dec 30", "Jan 19"), ("Nov 3", "Feb 2"), ("Jan 1", "Feb 9"),
            ("Sep 20", "Feb 11"),
        )
    )  # fmt: skip
    found = read(tmp_path, text, "year,the list from Dec 20,2024")
    assert days(found, "listed_on") == [
        "2024-12-03", "2024-10-02", "2024-12-30", "2024-11-03", "2025-01-01", "2024-09-20",
    ]  # fmt: skip
    assert days(found, "sold_on")[0] == "2024-12-20" and days(found, "sold_on")[-1] == "2025-02-11"


def test_days_under_a_word_of_money_beside_other_days_are_asked_about_with_them(
    tmp_path: Path,
) -> None:
    head = "type,got,$in,up,ask,gone,$out"
    found = read(tmp_path, IN_ORDER.replace(IN_ORDER.splitlines()[0], head))
    likeliest = {q.text: q.options[0].meaning for q in asked(found, "heading")}
    assert likeliest == {
        "got": "bought on", "$in": "buy price", "up": "listed on", "gone": "sold on", "$out": "sale price",
    }  # fmt: skip


def test_words_under_a_heading_of_costs_are_notes(tmp_path: Path) -> None:
    text = (
        "type,paid,sold,sold for,misc\ndesk,20,2025-02-01,90,my spot now\nchair,5,2025-03-01,40,\n"
    )
    found = read(tmp_path, text + "bench,5,2025-03-01,40,top was split\n")
    assert found.flips["notes"].tolist()[0] == "my spot now" and not asked(found, "cell")
    costs = read(tmp_path, text.replace("my spot now", "12") + "bench,5,2025-03-01,40,4\n")
    assert costs.flips["other_costs"].tolist()[0] == 12


UNNAMED = """type,wood,paid,got it,listed,asked,sold,sold for,notes
armoire,pine,50,6/21/25,2025-07-01,300,2025-08-01,280,
rack,oak,20,6/22/25,2025-07-02,90,swap,,sold for 85 then she gave it back
chair x4,,4,6/23/25,2025-07-03,240,2025-08-09,20,
chair,,4,6/24/25,2025-07-04,40,2025-08-09,free,
bench,oak,10/12,6/25/25,2025-07-05,120,2025-08-10,110,reduced to 115
"""


def answer(folder: Path, found: Records, *chosen: tuple[str, str]) -> Records:
    """Answer the questions whose text holds a word, all at once, as a person would from the command line."""
    codes = [
        f"{n + 1}={meaning}"
        for n, q in enumerate(found.to_answer)
        for word, meaning in chosen
        if word in q.text
    ]
    assert len(codes) == len(chosen)
    answer_check(folder, [" ".join(codes)])
    return read_records(folder, as_of=AS_OF)


def test_what_was_answered_about_a_row_is_not_asked_again_when_its_name_changes(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, UNNAMED.replace("got it", "nonsense"))
    assert found.flips["piece"].tolist()[0] == "pine armoire of 1 Jul 2025"
    first = {q.text for q in found.to_answer if q.about == "cell"}
    assert any("sale price: 20" in t for t in first) and any("10/12" in t for t in first)
    found = answer(
        tmp_path,
        found,
        ("sale price: 20", "right"),
        ("10/12", "10"),
        ("reduced to", "115"),
    )
    before = {q.text for q in found.to_answer}
    answer_check(tmp_path, ["nonsense=bought on"])
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.flips["piece"].tolist()[0] == "pine armoire of 21 Jun 2025"
    assert found.flips["buy_price"].tolist()[4] == 10
    assert found.flips["last_asking_price"].tolist()[4] == 115
    left = {q.text.split(": ", 1)[-1] for q in found.to_answer}
    assert left <= {t.split(": ", 1)[-1] for t in before}
    assert not any("20" in t or "10/12" in t or "reduced" in t for t in left)


def test_an_answer_filed_under_a_row_survives_its_cells_being_filled_in(tmp_path: Path) -> None:
    text = "type,sold for,paid,wood,asked,notes\ndesk,,10/12,oak,90,big\ndesk,,12,oak,95,big\n"
    answer(tmp_path, read(tmp_path, text), ("10/12", "10"))
    filed = (tmp_path / "answers.csv").read_text(encoding="utf-8")
    assert "row desk 10/12 oak 90 big: buy price: 10/12" in filed
    (tmp_path / "flips.csv").write_text(text.replace("desk,,10/", "desk,85,10/"), "utf-8")
    assert read_records(tmp_path, as_of=AS_OF).flips["buy_price"].tolist() == [10, 12]


def test_of_two_rows_that_have_the_words_an_answer_counts_for_neither(tmp_path: Path) -> None:
    text = "type,paid,wood,asked\ndesk,10/12,oak,90\ndesk,10/12,oak,90\ndesk,9,oak,80\n"
    found = read(tmp_path, text, "cell,row desk 10/12 oak 90: buy price: 10/12,10")
    assert found.flips["buy_price"].dropna().tolist() == [9]


def test_an_answer_under_an_older_name_still_counts(tmp_path: Path) -> None:
    told = "cell,pine desk paid 50: asking price: 45-60,60"
    text = "type,wood,paid,bought,asked\ndesk,pine,50,2025-06-21,45-60\ndesk,oak,50,2025-06-22,90\n"
    found = read(tmp_path, text, told)
    assert found.flips["asking_price"].tolist() == [60, 90] and not asked(found, "cell")
    odd = "type,sold for,sold on,asked,bought\ndesk,20,2025-08-01,240,2025-06-21\n"
    found = read(tmp_path, odd, "cell,desk of 1 Aug 2025: sale price: 20,right")
    assert not found.to_answer


ZERO = "type,bought,asked,sold on,sold for\nrocker,2025-01-11,35,2025-02-22,{}\ndesk,2025-01-12,90,2025-02-23,80\n"


@pytest.mark.parametrize(
    ("meaning", "status", "outcome"),
    [
        ("given away", "withdrawn", "given away"),
        ("no price", "sold", "sold"),
        ("0", "sold", "sold"),
        ("right", "sold", "sold"),
        ("12", "sold", None),
    ],
)
def test_a_price_of_nothing_is_asked_about_once(
    tmp_path: Path, meaning: str, status: str, outcome: str | None
) -> None:
    found = read(tmp_path, ZERO.format("0"))
    (question,) = found.to_answer
    assert [o.meaning for o in question.options] == ["given away", "no price", "nothing"]
    after = read(tmp_path, ZERO.format("0"), f"cell,{question.text},{meaning}")
    assert not after.to_answer and not len(after.questions)
    assert after.flips["status"].tolist()[0] == status
    assert after.flips["outcome"].fillna("").tolist()[0] == (outcome or "")
    assert after.flips["sale_price"].fillna(-1).tolist()[0] == (12 if meaning == "12" else -1)


@pytest.mark.parametrize("typed", ["swap", "traded", "Traded for a saw", "trade"])
def test_what_was_traded_is_a_sale_to_which_there_is_no_price(tmp_path: Path, typed: str) -> None:
    found = read(tmp_path, ZERO.format(typed))
    assert found.flips["status"].tolist() == ["sold", "sold"]
    assert not found.to_answer and not len(found.questions)
    assert not any("missing or could not be read" in n for n in found.notes)


def test_today_asks_what_the_check_asks_and_no_price_of_a_trade(tmp_path: Path) -> None:
    text = ZERO.format("0") + "bench,2025-03-01,100,2025-04-01,traded\n"
    found = read(tmp_path, text)
    (question,) = found.to_answer

    def said() -> str:
        return " ".join(str(open_shop(tmp_path, as_of=AS_OF).today()).split())

    assert "nswers to 1 question about" in said()
    assert 'sold "chair' in said() and 'sold "bench' not in said()
    read(tmp_path, text, f"cell,{question.text},no price")
    assert "about what you typed" not in said() and "what it sold for" not in said()


def test_a_sale_that_came_back_stands_once_in_the_story_of_its_piece(tmp_path: Path) -> None:
    text = ZERO.format("").replace("rocker", "oak rocker") + "bench,2025-01-01,50,2025-02-01,\n"
    read(
        tmp_path, text.replace(",sold for", ",sold for,outcome").replace("22,\n", "22,,came back\n")
    )
    told = story(read_records(tmp_path, as_of=AS_OF), "oak chair of 11 Jan 2025")
    assert told.table["what"].tolist().count("sold") == 1


FAR = "type,paid,asked,sold on,sold for\n" + "".join(
    f"{k},{40 + n},{300 + n},2025-03-0{n + 1},{290 + n}\n"
    for n, k in enumerate(["desk", "hutch"] * 4)
)


@pytest.mark.parametrize(
    ("row", "odd"),
    [
        ("magazine rack,2,20,2025-05-01,15", []),  # one of its kind, and its prices agree
        ("plant stand,3,25,2025-05-01,24", []),
        ("plant stand,3,,2025-05-01,15", ["sale price"]),  # nothing bears it out
        ("armoire,60,4000,2025-05-01,3900", []),
        (
            "armoire,600,150,2025-05-01,140",
            ["buy price"],
        ),  # paid ten times the usual, above its price
        ("magazine rack,2,20,2025-05-01,3", ["asking price", "sale price"]),  # far below its ask
        ("armoire,60,4000,2025-05-01,390", ["asking price", "sale price"]),
    ],
)
def test_a_price_far_from_all_others_is_asked_about_where_its_row_does_not_bear_it_out(
    tmp_path: Path, row: str, odd: list[str]
) -> None:
    found = read(tmp_path, f"{FAR}{row}\n")
    assert sorted({q.text.split(": ")[1] for q in asked(found, "cell")}) == odd


def test_a_price_far_from_its_own_kind_is_asked_about(tmp_path: Path) -> None:
    found = read(tmp_path, FAR.replace("hutch", "desk") + "desk,2,20,2025-05-01,15\n")
    assert len(found.to_answer) == 3


@pytest.mark.parametrize(
    ("note", "offered"),
    [
        ("reduced 325 then 310", ["310", "325"]),
        ("reduced to 325 Jan, 310 March", ["310", "325"]),
        ("reduced to 325 6/4, 310 4/5. nobody wants them", ["310", "325"]),
        ("dropped to 325 on 4 May, then 310 on June 5th", ["310", "325"]),
        ("reduced to 310 may sell", ["310"]),
    ],
)
@pytest.mark.parametrize("got", ["", "310", "300"])
def test_of_two_cuts_that_a_note_tells_of_the_last_is_offered_first_and_any_amount_is_taken(
    tmp_path: Path, note: str, offered: list[str], got: str
) -> None:
    sold = "2025-06-06" if got else ""
    text = f'type,paid,asked,listed,sold,sold for,notes\ndesk,20,345,2025-01-02,{sold},{got},"{note}"\n'
    found = read(tmp_path, text)
    options = [o.meaning for q in found.to_answer for o in q.options]
    assert options == ([] if offered == [got] else [*offered, "right"])
    if options:
        answer(tmp_path, found, ("last asking price", "315"))
        after = read_records(tmp_path, as_of=AS_OF)
        assert after.flips["last_asking_price"].tolist() == [315] and not after.to_answer


def test_where_a_list_begins_agrees_with_the_days_that_have_a_year(tmp_path: Path) -> None:
    rows = (
        ("2024-01-05", "Oct 1", "Oct 9"), ("2024-01-09", "Oct 9", "Nov 3"), ("2024-02-01", "Nov 3", "Dec 3"),
        ("2024-02-09", "Nov 20", "Jan 9"), ("2024-03-01", "Dec 9", "Jan 20"), ("2024-03-09", "Dec 29", "Feb 20"),
    )  # fmt: skip
    text = "type,bought,listed,asked,sold,sold for\n" + "".join(
        f"desk,{bought},{listed},90,{sold},80\n" for bought, listed, sold in rows
    )
    found = read(tmp_path, text)
    assert [[o.meaning for o in q.options] for q in found.to_answer] == [["2024", "each"]]
    found = read(tmp_path, text, "year,the list from Oct 1,2024")
    assert (
        days(found, "listed_on")[-1] == "2024-12-29" and days(found, "sold_on")[-1] == "2025-02-20"
    )
    assert not found.to_answer


def test_days_of_listing_may_be_told_as_the_first_after_those_of_buying(tmp_path: Path) -> None:
    text = "type,bought,listed,asked\n" + "".join(
        f"desk,{day},{listed},90\n"
        for day, listed in (
            ("2024-03-05", "Dec 1"), ("2025-09-09", "Aug 3"), ("2024-06-06", "Feb 2"), ("2025-01-03", "Sep 9"),
        )
    )  # fmt: skip
    found = read(tmp_path, text)
    assert asked(found, "year")[0].options[0].meaning == "after buying"
    assert "first such day after it was bought" in asked(found, "year")[0].options[0].shown
    found = read(tmp_path, text, "year,listed on,after buying")
    assert days(found, "listed_on") == ["2024-12-01", "2026-08-03", "2025-02-02", "2025-09-09"]


@pytest.mark.parametrize(
    ("note", "once"),
    [
        ("still here, was 345", "345"),
        ("Started at $345, nobody called", "345"),
        ("originally 345 then 320", "345"),
        ("was 1920s, was 12 hours of work", ""),  # no prices
        ("was 60 inches wide", ""),
        ("was 290", ""),  # below the ask
    ],
)
def test_a_first_price_that_a_note_tells_of_makes_the_one_of_the_row_the_last(
    tmp_path: Path, note: str, once: str
) -> None:
    text = f'type,paid,asked,listed,notes\ndesk,20,300,2025-01-02,"{note}"\n'
    found = read(tmp_path, text)
    assert [o.meaning for q in found.to_answer for o in q.options] == [once, "right"] * bool(once)
    if once:
        answer(tmp_path, found, ("asking price", once))
        after = read_records(tmp_path, as_of=AS_OF)
        prices = after.flips[["asking_price", "last_asking_price"]].to_numpy().tolist()
        assert prices == [[345, 300]] and not after.to_answer
