"""Pieces that were sold and came back: what the sale still tells, what the books say, and since when it is up again.

That such a sale tells of prices and of the time to sell is common practice, no source.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

import fleetlib as fl
from fleetlib.base.errors import BadQuestion
from fleetlib.books.accounts import accounts
from fleetlib.desk.answering import answer_check
from fleetlib.price.estimate import came_back_notes
from fleetlib.records.cleaning.clean import read_flips, write_flips
from fleetlib.records.folder import Records, read_records
from fleetlib.records.log.append import append_event
from fleetlib.records.parsing.outcomes import outcome_said, state_said
from fleetlib.records.report import check_report
from fleetlib.selling.weeks_at_risk import listing_histories
from fleetlib.week.piece import story
from tests.records.answered import AS_OF, asked, read

HEAD = "Piece,Type,Bought,Paid,Materials,Listed,Asked,Last asking price,Sold on,Sold for,Outcome,Notes\n"
BACK = "A,desk,2025-07-12,65,17.50,2025-08-09,310,290,2025-08-30,280,Returned,refunded in full 2025-09-02\n"
OTHER = "B,desk,2025-07-12,40,,2025-08-09,200,,2025-09-05,190,Sold,\n"
KEY = "cell,A: outcome: came back,"


def _row(found: Records, piece: str = "A") -> pd.Series:
    return found.flips.set_index("piece").loc[piece]


def _quarter(found: Records) -> dict[str, float]:
    made = accounts(found, start=date(2025, 7, 1), end=date(2025, 9, 30))
    assert made.stock.reconciled
    return dict(zip(made.table["line"], made.table["value"], strict=True))


def test_the_sale_of_a_piece_that_came_back_is_kept_and_the_piece_is_on_hand(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, HEAD + BACK + OTHER)
    row = _row(found)
    assert (row["status"], row["asking_price"]) == ("listed", 290)  # at its last ask
    assert pd.isna(row["sale_price"]) and pd.isna(row["sold_on"])
    assert pd.isna(row["listed_on"])  # since when it is up again is asked, never the first listing
    (past,) = found.past_sales.to_dict("records")
    assert (past["sale_price"], past["days_listed"], past["asking_price"]) == (280, 21, 310)
    (question,) = asked(found, "cell")
    assert [o.meaning for o in question.options] == [
        "2025-09-02", "not up again", "on hand", "sold",
    ]  # fmt: skip
    assert "2 Sep 2025" in question.options[0].shown


@pytest.mark.parametrize(
    ("answer", "status", "listed_on", "ended_on"),
    [
        ("2025-09-02", "listed", "2025-09-02", "2025-09-02"),
        ("4 Oct 2025", "listed", "2025-10-04", "2025-09-02"),
        ("not up again", "in work", None, "2025-09-02"),
        ("on hand", "listed", None, "2025-09-02"),
        ("kept", "withdrawn", None, "2025-09-02"),
    ],
)
def test_what_is_answered_of_a_return_is_what_counts(
    tmp_path, answer, status, listed_on, ended_on
) -> None:
    found = read(tmp_path, HEAD + BACK + OTHER, KEY + answer)
    row = _row(found)
    assert row["status"] == status
    assert (None if pd.isna(row["listed_on"]) else str(row["listed_on"].date())) == listed_on
    assert [str(d.date()) for d in found.ended["ended_on"]] == [ended_on]
    assert found.to_answer == ()
    assert len(found.past_sales) == 1


def test_a_sale_that_stood_after_all_counts_as_before(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + BACK + OTHER, KEY + "sold")
    assert (_row(found)["status"], _row(found)["sale_price"]) == ("sold", 280)
    assert found.ended.empty and found.past_sales.empty and found.to_answer == ()


def test_the_books_show_the_return_and_no_income_of_it(tmp_path: Path) -> None:
    lines = _quarter(read(tmp_path, HEAD + BACK + OTHER))
    assert lines["takings"] == 280 + 190
    assert lines["returns and refunds"] == 280
    assert lines["cost of pieces returned"] == 82.5
    assert lines["profit"] == 190 - 40  # of B alone
    assert lines["listed"] == 2


def test_a_sale_that_ended_is_not_said_to_lack_its_price_or_hours(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + BACK + OTHER)
    made = accounts(found, start=date(2025, 7, 1), end=date(2025, 9, 30))
    assert not any("buy price" in n or "sale price" in n for n in made.notes)
    assert any(n.startswith("1 of 1 sold pieces have no hours") for n in made.notes)  # B alone


def test_a_day_before_the_sale_is_asked_about_again_and_a_word_is_refused(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + BACK, KEY + "2025-08-01")
    (question,) = asked(found, "cell")
    assert "You answered 1 Aug 2025, which is before it sold." in question.said
    with pytest.raises(BadQuestion, match="write the day as 2026-10-04"):
        answer_check(tmp_path, ["1=perhaps"])
    answer_check(tmp_path, ["1=2025-10-04"])
    assert str(_row(read_records(tmp_path, as_of=AS_OF))["listed_on"].date()) == "2025-10-04"


@pytest.mark.parametrize(
    ("note", "days"),
    [
        (
            "came back 9/2, gave her the money back",
            ["2025-09-02", "2026-02-09"],
        ),  # either order may be
        ("came back 9/25", ["2025-09-25"]),
        ("came back 1/10", ["2025-10-01", "2026-01-10"]),
        ("refunded 02/09/2025", ["2025-09-02"]),  # 9 Feb lies before the sale
        ("back on 2 Sept, refunded", ["2025-09-02"]),
        ("came back Sep 14 2025", ["2025-09-14"]),
        ("back again, money returned", []),
        ("came back, no. 12/2025-3", []),
    ],
)
def test_the_days_a_note_may_name_are_offered_and_never_used_as_the_listing(
    tmp_path, note, days
) -> None:
    text = HEAD + BACK.replace("refunded in full 2025-09-02", f'"{note}"')
    (question,) = asked(read(tmp_path, text), "cell")
    assert sorted(o.meaning for o in question.options if o.meaning[0] == "2") == days


def test_a_note_alone_is_asked_about_with_the_same_answers_and_the_sale_stands_meanwhile(
    tmp_path: Path,
) -> None:
    text = HEAD + BACK.replace(
        "Returned,refunded in full 2025-09-02", 'Sold,"came back 9/2, gave it all back"'
    )
    found = read(tmp_path, text)
    assert (_row(found)["status"], _row(found)["sale_price"]) == ("sold", 280)
    (question,) = asked(found, "cell")
    assert [o.meaning for o in question.options] == [
        "2025-09-02",
        "2026-02-09",
        "not up again",
        "on hand",
        "right",
    ]
    after = read(tmp_path, text, f'cell,"{question.text}",2025-09-02')
    assert str(_row(after)["listed_on"].date()) == "2025-09-02" and len(after.past_sales) == 1
    assert after.to_answer == ()
    kept = read(tmp_path, text, f'cell,"{question.text}",kept')
    assert _row(kept)["outcome"] == "kept" and len(kept.past_sales) == 1


def test_the_models_learn_from_a_sale_whose_piece_came_back(tmp_path: Path) -> None:
    read(tmp_path, HEAD + BACK + OTHER, KEY + "2025-10-04")
    shop = fl.open_shop(tmp_path, as_of=AS_OF)
    sold = shop.fits.prices.sales
    assert sorted(zip(sold["piece"], sold["sale_price"], strict=True)) == [("A", 280), ("B", 190)]
    told = listing_histories(
        shop.records.listings, shop.records.events, usual_price=[1.0] * 3, as_of=AS_OF
    ).table
    mine = told[told["piece"] == "A"].sort_values("weeks")
    assert mine["sold"].tolist() == [True, False]
    assert mine["weeks"].tolist() == [
        4,
        60,
    ]  # 21 days to the sale; from 4 Oct 2025 on, not from the first
    page = str(shop.estimate(shop.piece("A")))
    assert "came back" in page and "expect less" in page
    assert came_back_notes(shop.fits, shop.piece("B")) == []


def test_how_pieces_sold_counts_the_first_sale_and_work_is_counted_when_it_was_done(
    tmp_path: Path,
) -> None:
    read(tmp_path, HEAD + BACK + OTHER, KEY + "2026-10-04")
    shop = fl.open_shop(tmp_path, as_of=AS_OF)
    assert set(shop.records.first_listed["listed_on"]) == {pd.Timestamp("2025-08-09")}
    sold = shop.earnings(by=["furniture_type"]).table.set_index("furniture_type")
    assert (
        sold.loc["desk", "sold_within_30"] == 2 / 3
    )  # after 21 and 27 days; up again, 55 without a sale
    with pytest.raises(BadQuestion, match="Nothing came to market"):
        shop.earnings(start=date(2026, 9, 1))


def test_the_story_of_the_piece_tells_the_sale_and_the_return(tmp_path: Path) -> None:
    told = story(read(tmp_path, HEAD + BACK, KEY + "2025-10-04"), "A").table
    assert told["what"].tolist() == ["bought", "listed", "sold", "returned", "listed"]
    assert told["on"].iloc[-1] == "4 Oct 2025"


def test_a_return_that_is_logged_too_counts_once(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(HEAD + BACK)
    append_event(tmp_path, on=date(2025, 9, 5), piece="A", event="returned", amount=250)
    found = read_records(tmp_path, as_of=AS_OF)
    assert found.ended[["given_back", "sold_on"]].to_numpy().tolist() == [
        [250, pd.Timestamp("2025-08-30")]
    ]
    assert str(_row(found)["listed_on"].date()) == "2025-09-05"
    assert _row(found)["asking_price"] == 290  # what was given back is no price asked


def test_returned_in_a_cell_of_a_price_or_a_day_leaves_the_piece_on_hand(tmp_path: Path) -> None:
    text = "Piece,Type,Listed,Asked,Sold on,Sold for\nA,desk,2025-08-09,310,2025-08-30,returned\n"
    text += "B,desk,2025-08-09,200,returned,190\nC,desk,2025-08-09,210,2025-09-09,200\n"
    found = read(tmp_path, text)
    assert found.flips["status"].tolist() == ["listed", "listed", "sold"]
    assert found.past_sales[["piece", "sale_price"]].fillna(0).to_numpy().tolist() == [
        ["A", 0],
        ["B", 190],
    ]
    assert len(asked(found, "cell")) == 2


def test_what_is_read_of_a_return_reads_back_the_same_and_the_check_says_what_was_done(
    tmp_path: Path,
) -> None:
    found = read(tmp_path, HEAD + BACK + OTHER)
    first = read_flips(tmp_path / "flips.csv", as_of=AS_OF)
    (tmp_path / "again.csv").write_text(write_flips(first.flips))
    again = read_flips(tmp_path / "again.csv", as_of=AS_OF)
    pd.testing.assert_frame_equal(first.flips, again.flips)
    how = check_report(found).reworded.set_index("how")["for example"]
    assert how["where it stands"] == '"Returned" is came back'
    assert "spaces" not in how.index


def test_a_state_may_be_answered_to_have_come_back_or_to_be_in_work(tmp_path: Path) -> None:
    text = HEAD + BACK.replace("Returned,", "Hmm,") + OTHER + "C,desk,2025-07-12,40,,,,,,,Cold,\n"
    found = read(tmp_path, text)
    states = {q.text: q.options for q in asked(found, "state")}
    assert "came back" in [o.meaning for o in states["Hmm"]]
    assert any("still being worked on" in o.shown for o in states["Cold"])
    after = read(tmp_path, text, "state,Hmm,came back", "state,Cold,in work")
    assert (len(after.past_sales), _row(after, "C")["status"]) == (1, "in work")


def test_a_return_behind_a_price_or_a_day_is_a_note_that_is_asked_about(tmp_path: Path) -> None:
    text = (
        HEAD
        + 'A,desk,2025-07-12,65,,2025-08-09,310,,"2025-08-30, back 2025-09-04","$280, refunded",,\n'
        + OTHER
    )
    found = read(tmp_path, text)
    assert (_row(found)["sale_price"], str(_row(found)["sold_on"].date())) == (280, "2025-08-30")
    assert _row(found)["notes"] == "back 2025-09-04; refunded"
    (question,) = asked(found, "cell")
    assert (question.options[0].meaning, question.meanwhile) == ("2025-09-04", "it counts as sold")
    after = read(tmp_path, text, f'cell,"{question.text}",2025-09-04')
    assert str(_row(after)["listed_on"].date()) == "2025-09-04" and after.to_answer == ()


def test_a_price_that_cannot_be_read_beside_a_return_is_offered_with_it(tmp_path: Path) -> None:
    text = (
        HEAD
        + "A,desk,2025-07-12,65,,2025-08-09,310,,2025-08-30,refunded the 280 in cash,,\n"
        + OTHER
    )
    (question,) = asked(read(tmp_path, text), "cell")
    assert question.options[0].meaning == "280, came back"
    after = read(tmp_path, text, f'cell,"{question.text}","280, came back"')
    assert after.past_sales["sale_price"].tolist() == [280]
    assert len(asked(after, "cell")) == 1  # since when it is up again


def test_an_older_answer_that_it_is_on_hand_still_settles_a_note_of_a_return(
    tmp_path: Path,
) -> None:
    text = HEAD + BACK.replace("Returned,refunded in full 2025-09-02", "Sold,came back")
    found = read(tmp_path, text, "cell,A: notes: came back,on hand")
    assert (_row(found)["status"], len(found.past_sales), found.to_answer) == ("listed", 1, ())
    unnamed = text.replace("Piece,", "").replace("A,desk", "desk")
    (question,) = asked(read(tmp_path, unnamed), "cell")
    older = 'cell,"desk paid 65: notes: came back",on hand'
    assert read(tmp_path, unnamed, older).to_answer == () and "desk" in question.text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("Returned", "came back"), ("refunded", "came back"), ("sold, returned", "came back"),
        ("Sold - came back", "came back"), ("sold but refunded", "came back"), ("sold", "sold"),
        ("returned, resold", None), ("came back, sold again", None), ("fell through", "unsold"),
    ],
)  # fmt: skip
def test_what_a_word_about_a_sale_says_of_its_return(typed: str, said: str | None) -> None:
    assert outcome_said(typed) == said


def test_the_day_it_is_up_again_may_be_logged_instead_of_answered(tmp_path: Path) -> None:
    (tmp_path / "flips.csv").write_text(HEAD + BACK + OTHER)
    append_event(tmp_path, on=date(2026, 10, 2), piece="A", event="listed", amount=270)
    found = read_records(tmp_path, as_of=AS_OF)
    row = _row(found)
    assert (str(row["listed_on"].date()), row["asking_price"]) == ("2026-10-02", 270)
    assert found.to_answer == () and found.questions.empty
    assert found.past_sales["last_asking_price"].tolist() == [290]


def test_a_listing_that_is_logged_says_the_day_of_a_piece_whose_ask_alone_was_typed(
    tmp_path: Path,
) -> None:
    (tmp_path / "flips.csv").write_text(HEAD + "C,desk,2026-07-12,40,,,300,,,,,\n" + OTHER)
    append_event(tmp_path, on=date(2026, 10, 9), piece="C", event="asking_price", amount=290)
    assert pd.isna(_row(read_records(tmp_path, as_of=AS_OF), "C")["listed_on"])
    append_event(tmp_path, on=date(2026, 10, 2), piece="C", event="listed", amount=300)
    row = _row(read_records(tmp_path, as_of=AS_OF), "C")
    assert str(row["listed_on"].date()) == "2026-10-02"
    assert (row["asking_price"], row["last_asking_price"]) == (300, 290)


def test_two_rows_of_one_name_that_came_back_keep_a_sale_each(tmp_path: Path) -> None:
    found = read(tmp_path, HEAD + BACK + BACK.replace("280", "250").replace("310", "330") + OTHER)
    assert found.past_sales[["line", "asking_price", "sale_price"]].to_numpy().tolist() == [
        [2, 310, 280], [3, 330, 250],
    ]  # fmt: skip
    assert found.flips["status"].tolist() == ["listed", "listed", "sold"]


def test_a_piece_in_the_workshop_or_on_the_bench_is_on_hand() -> None:
    for typed in ("In workshop", "in the workshop", "On my bench", "workshop"):
        assert state_said(typed) == "on hand"


LEDGER = "Piece,Kind,Wood,Bought,Paid,Listed,Asking,Sold on,Sold for,Hours,Status,Notes\n"
STAND = "D-1,dresser,oak,2026-01-05,60,2026-02-01,320,2026-02-20,300,12,Sold,\n"
STAND += "N-1,nightstand,pine,2026-01-08,15,2026-02-03,90,2026-02-25,80,4,Sold,\n"
TABLE = "C-1,coffee table,walnut,2026-02-02,40,2026-03-01,220,2026-03-15,200,8,Returned,"
LOG = "on,piece,event,amount,note\n"


def _ledger(folder: Path, rows: str, log: str, *answers: str) -> Records:
    (folder / "events.csv").write_text(LOG + log)
    (folder / "settings.toml").write_text("delivery_cost = 0\n")
    return read(folder, LEDGER + STAND + rows, *answers)


def _year(found: Records) -> dict[str, float]:
    made = accounts(found, start=date(2026, 1, 1), end=date(2026, 12, 31))
    assert made.stock.reconciled
    return dict(zip(made.table["line"], made.table["value"], strict=True))


def _ends(found: Records) -> list[tuple[float, str, str, float]]:
    cells = found.ended[["sale_price", "sold_on", "ended_on", "given_back"]]
    return [(p, str(a)[:10], str(b)[:10], g) for p, a, b, g in cells.itertuples(index=False)]


def test_a_piece_that_came_back_twice_once_in_the_row_and_once_in_the_log_is_on_hand(
    tmp_path: Path,
) -> None:
    log = "2026-04-20,C-1,sold,180,\n2026-05-02,C-1,returned,,\n"
    found = _ledger(tmp_path, TABLE + "\n", log, "cell,C-1: outcome: came back,2026-03-20")
    assert _ends(found) == [
        (200, "2026-03-15", "2026-03-20", 200), (180, "2026-04-20", "2026-05-02", 180),
    ]  # fmt: skip
    row = _row(found, "C-1")
    assert (row["status"], str(row["listed_on"].date())) == ("listed", "2026-05-02")
    assert pd.isna(row["sold_on"]) and pd.isna(row["sale_price"])
    told = story(found, "C-1")
    assert told.status == "listed"
    assert [w for w in told.table["what"] if w in ("sold", "returned")] == ["sold", "returned"] * 2
    lines = _year(found)
    assert lines["takings"] == 300 + 80 + 200 + 180
    assert lines["returns and refunds"] == 200 + 180
    assert lines["profit"] == 300 + 80 - 60 - 15  # of the two that stayed sold
    assert found.questions.empty and found.to_answer == ()


def test_a_sale_in_the_row_and_in_the_log_that_came_back_is_one_sale(tmp_path: Path) -> None:
    found = _ledger(tmp_path, TABLE + "back 2026-03-20\n", "2026-03-15,C-1,sold,200,\n")
    assert _ends(found) == [(200, "2026-03-15", "2026-03-20", 200)]
    assert _row(found, "C-1")["status"] == "listed"
    lines = _year(found)
    assert (lines["takings"], lines["returns and refunds"]) == (580, 200)
    assert lines["profit"] == 300 + 80 - 60 - 15
    assert found.questions.empty and len(asked(found, "cell")) == 1  # since when it is up again


def test_a_sale_that_row_and_log_tell_unlike_is_kept_as_typed_and_asked_about(
    tmp_path: Path,
) -> None:
    found = _ledger(tmp_path, TABLE + "back 2026-03-20\n", "2026-03-16,C-1,sold,190,\n")
    assert _ends(found) == [(200, "2026-03-15", "2026-03-20", 200)]
    (question,) = found.questions["question"]
    assert "sold on 2026-03-15 for 200, events.csv on 2026-03-16 for 190" in question


@pytest.mark.parametrize("refunded_on", ["2026-03-18", "2026-03-24"])
def test_money_given_back_before_or_after_it_came_back_counts_once(tmp_path, refunded_on) -> None:
    found = _ledger(tmp_path, TABLE + "back 2026-03-20\n", f"{refunded_on},C-1,refund,50,\n")
    assert _ends(found) == [(200, "2026-03-15", "2026-03-20", 150)]
    lines = _year(found)
    assert lines["returns and refunds"] == 200
    assert lines["profit"] == 300 + 80 - 60 - 15


def test_a_sale_logged_after_it_came_back_stands_and_the_return_is_not_asked_about(
    tmp_path: Path,
) -> None:
    row = "S-1,sideboard,oak,2026-02-05,70,2026-03-10,400,2026-04-01,360,14,came back,returned 4 Apr\n"
    found = _ledger(tmp_path, row, "2026-05-10,S-1,sold,350,\n")
    assert _ends(found) == [(360, "2026-04-01", "2026-04-04", 360)]
    assert (_row(found, "S-1")["status"], _row(found, "S-1")["sale_price"]) == ("sold", 350)
    assert found.to_answer == ()
    lines = _year(found)
    assert lines["takings"] == 300 + 80 + 360 + 350
    assert lines["profit"] == 300 + 80 + 350 - 60 - 15 - 70
    later = _ledger(
        tmp_path, row.replace("4 Apr", "4 Apr and 20 May"), "2026-05-10,S-1,sold,350,\n"
    )
    assert len(asked(later, "cell")) == 1  # a return after the sale that stands


@pytest.mark.parametrize("log", ["", "2026-03-20,C-1,returned,,\n"])
def test_a_sale_without_a_day_that_came_back_counts_in_no_line_and_its_piece_shows_both(
    tmp_path, log
) -> None:
    note = "" if log else "buyer brought it back 2026-03-20"
    found = _ledger(tmp_path, TABLE.replace("2026-03-15", "") + note + "\n", log)
    assert _ends(found) == [(200, "NaT", "2026-03-20", 200)]
    lines = _year(found)
    assert lines["takings"] == 380 and "returns and refunds" not in lines
    assert lines["profit"] == 300 + 80 - 60 - 15
    told = story(found, "C-1").table
    (sold,) = told[told["what"].str.startswith("sold")].to_dict("records")
    (back,) = told[told["what"] == "returned"].to_dict("records")
    assert (sold["what"], sold["amount"]) == ("sold, on a day not known", "$200.00")
    assert back["on"] == "20 Mar 2026"
    assert told["what"].tolist().index(sold["what"]) < told["what"].tolist().index("returned")


def test_a_sale_and_a_return_without_days_are_shown_of_the_piece(tmp_path: Path) -> None:
    found = _ledger(tmp_path, TABLE.replace("2026-03-15", "") + "\n", "")
    told = story(found, "C-1").table
    assert told[told["on"] == "on a day not known"]["what"].tolist() == ["sold", "returned"]
    assert _year(found)["profit"] == 300 + 80 - 60 - 15


@pytest.mark.parametrize(
    ("state", "note"),
    [
        ("Returned", "returned 3/20, resold 4/2 for 280"),
        ("Sold", "came back 3/20, sold again 4/2 for $280"),
        ("Sold", "came back 3/20, then sold to second buyer 4/2 for 280"),
    ],
)
def test_a_note_that_tells_of_a_second_sale_offers_it_and_the_first_sale_is_kept(
    tmp_path, state, note
) -> None:
    row = f'C-1,dresser,oak,2026-01-10,60,2026-02-10,320,2026-03-10,300,12,{state},"{note}"\n'
    (question,) = asked(_ledger(tmp_path, row, ""), "cell")
    assert question.options[0].meaning == "280 on 2026-04-02"
    found = _ledger(tmp_path, row, "", f'cell,"{question.text}",280 on 2026-04-02')
    assert [(*e[:2], e[3]) for e in _ends(found)] == [(300, "2026-03-10", 300)]
    sold = _row(found, "C-1")
    assert (sold["status"], sold["sale_price"]) == ("sold", 280)
    assert str(sold["sold_on"].date()) == "2026-04-02"
    assert found.past_sales["sale_price"].tolist() == [300]
    assert found.to_answer == ()
    lines = _year(found)
    assert (lines["takings"], lines["returns and refunds"]) == (300 + 80 + 300 + 280, 300)
    assert lines["profit"] == 300 + 80 + 280 - 60 - 15 - 60
