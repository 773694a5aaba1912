"""The law of reading: a value is used where one reading is left, else asked about and left empty."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlib.base.settings import Settings
from fleetlib.records.asked.answers import Answer, Answers
from fleetlib.records.cleaning.clean import CleanFlips, clean_table
from fleetlib.records.files.reading import table_from_text
from fleetlib.records.parsing.amounts import read_hours, read_money, read_prices
from fleetlib.records.parsing.vocabulary import look_up

AS_OF = date(2026, 9, 30)


def record(*lines: str) -> CleanFlips:
    return clean_table(table_from_text("\n".join(lines) + "\n", name="flips.csv"), as_of=AS_OF)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("250?", 250), ("350!!", 350), ("$1.2k", 1200), ("~300", 300), ("4 x 45", 180), ("90 + 20 delivery", 90),
        ("sold 380 (asked 450)", 380), ("250 (was 280)", 250), ("500 now 450", 450), ("300 -> 260", 260),
        ("$140/pair", 140), ("450 obo", 450), ("120/140", None), ("120 each", None), ("145 quid", None),
    ],
)  # fmt: skip
def test_an_amount_of_one_reading_is_used(text: str, value: float | None) -> None:
    assert read_money([text])[0].value == value


def test_what_stands_beside_an_amount_is_kept() -> None:
    asked, charged, pair = read_prices(["sold 380 (asked 450)", "90 + 20 delivery", "300 (pair)"])
    assert (asked.before, charged.charge, pair.count) == (450, 20, 2)


def test_the_price_of_one_piece_counts_for_each_of_its_lot() -> None:
    found = record("type,count,price", "nightstand,2,120 each", "dresser,,120 each")
    assert found.flips["sale_price"].tolist()[0] == 240 and found.flips["sale_price"].isna()[1]


def test_a_sale_at_an_unreadable_price_is_a_sale_and_every_row_is_kept() -> None:
    found = record("type,sold on,price", "desk,2026-04-02,120/140", "bench,2026-04-03,")
    assert found.flips["status"].tolist() == ["sold", "sold"]
    assert found.flips["sale_price"].isna().all() and found.rows_in == 2
    assert found.questions["column"].tolist() == ["sale_price"] * 2


@pytest.mark.parametrize(
    ("word", "status"), [("gave to my sister", "withdrawn"), ("fell through", "listed"), ("traded", "sold")]
)  # fmt: skip
def test_a_word_in_a_price_cell_means_what_it_says(word: str, status: str) -> None:
    found = record("type,listed on,sold on,price", f"desk,2026-03-01,2026-04-02,{word}")
    assert found.flips["status"].tolist() == [status]


STATUS = {
    "sold": "sold", "listed": "listed", "WIP": "listed", "on hold - Ann": "listed", "kept": "withdrawn",
    "donated": "withdrawn", "gave to my sister": "withdrawn",
}  # fmt: skip


@pytest.mark.parametrize("heading", ["Status", "State", "What became of it"])
def test_a_column_of_states_means_what_it_says(heading: str) -> None:
    rows = [f"A-{n},desk,2026-03-01,{w}," for n, w in enumerate(STATUS)]
    found = record(f"piece,type,listed on,{heading},price", *rows)
    assert found.flips["status"].tolist() == list(STATUS.values())
    assert found.flips["sale_price"].isna().all() and not found.to_answer


def test_a_state_beside_a_sale_does_not_take_the_sale_back() -> None:
    found = record(
        "type,status,sold on,price", "desk,on hold,2026-04-02,90", "desk,sold,2026-04-03,80"
    )
    assert found.flips["status"].tolist() == ["sold", "sold"]
    assert any("is still on hand, sale_price is 90" in n for n in found.notes)


def test_a_state_that_is_no_known_word_is_asked_about_once_and_answered() -> None:
    states = ("Lulu's", "lulu's", "kept", "donated", "sold", "gone")
    lines = ["piece,type,status,price", *[f"A-{n},desk,{w}," for n, w in enumerate(states)]]
    asked = record(*lines).to_answer
    assert [q.about for q in asked] == ["state"] and "kept" in [o.meaning for o in asked[0].options]
    assert "2 pieces" in asked[0].said
    answered = Answers({("state", "lulu's"): Answer("", "state", "Lulu's", "kept", 2)})
    settings, _ = answered.over(Settings())
    made = clean_table(
        table_from_text("\n".join(lines) + "\n", name="flips.csv"), as_of=AS_OF, settings=settings
    )
    assert made.flips["status"].tolist() == ["withdrawn"] * 4 + ["sold"] * 2


@pytest.mark.parametrize(
    ("said", "status"), [("kept", "withdrawn"), ("on hold", "listed"), ("sold", "sold")]
)
def test_an_unread_price_may_be_answered_by_what_became_of_the_piece(
    said: str, status: str
) -> None:
    text = "piece,type,listed on,sold on,price\nA-1,desk,2026-03-01,2026-04-02,my aunt\n"
    key = "A-1: sale price: my aunt"
    answers = Answers({("cell", key.casefold()): Answer("", "cell", key, said, 2)})
    made = clean_table(table_from_text(text, name="flips.csv"), as_of=AS_OF, answers=answers)
    assert made.flips["status"].tolist() == [status]


def test_a_blank_column_gives_way_to_one_of_the_same_meaning_unasked() -> None:
    found = record("type,price,sold on,got", "desk,,2026-04-02,90", "hutch,,2026-04-03,300")
    assert found.flips["sale_price"].tolist() == [90, 300] and not found.to_answer


def test_the_days_a_piece_stood_say_when_it_was_listed() -> None:
    found = record(
        "type,bought on,days stood,sold on,price", "desk,,20,2026-04-21,90", "desk,,5,,",
        "desk,2026-04-01,30,2026-04-21,80",
    )  # fmt: skip
    days = found.flips["listed_on"].astype("str").tolist()
    assert days[0] == "2026-04-01" and found.flips["listed_on"].isna().tolist() == [
        False,
        True,
        True,
    ]
    assert found.flips["days stood"].tolist() == ["20", "5", "30"]


@pytest.mark.parametrize(
    ("column", "text", "word"),
    [
        ("furniture_type", "6 drawer dresser", "dresser"), ("furniture_type", "green hutch", "hutch"),
        ("furniture_type", "vanity w/ mirror", "vanity"), ("furniture_type", "desk lamp", "desk lamp"),
        ("furniture_type", "nesting tables", "nest of tables"), ("finish", "painted white", "paint"),
        ("wood", "oak?", "oak"), ("wood", "pine i think", "pine"), ("wood", "mahog", "mahogany"),
        ("wood", "oak veneer?", "oak"), ("wood", "silky oak", "silky oak"),
    ],
)  # fmt: skip
def test_a_word_is_found_inside_only_where_one_reading_is_left(
    column: str, text: str, word: str
) -> None:
    assert look_up(column, text).value == word


def test_words_beside_a_kind_are_its_wood_or_kept_and_never_a_count() -> None:
    typed = (
        "dresser pine",
        "wardrobe 2 door",
        "6 drawer dresser",
        "green hutch (oak)",
        "desk",
        "desk drawer",
    )
    found = record("type,wood,price", *[f"{t},{'walnut' if t == 'desk' else ''},90" for t in typed])
    flips = found.flips[["furniture_type", "wood", "type also says"]].fillna("")
    assert flips["furniture_type"].tolist() == [
        "dresser",
        "armoire",
        "dresser",
        "hutch",
        "desk",
        "desk drawer",
    ]
    assert flips["wood"].tolist() == ["pine", "", "", "oak", "walnut", ""]
    assert flips["type also says"].tolist() == ["", "2 door", "6 drawer", "green", "", ""]
    assert found.flips["pieces_in_lot"].isna().all()
    assert [q.text for q in found.to_answer] == ["desk drawer"]


def test_the_size_says_what_a_tall_dresser_is_and_without_one_it_is_asked() -> None:
    sizes = ("33 x 17 x 42", "60 x 18 x 44", "")
    found = record("type,size,price", *[f"Tall dresser,{s},90" for s in sizes])
    kinds = ["chest of drawers", "dresser", "tall dresser"]
    assert found.flips["furniture_type"].tolist() == kinds
    (question,) = found.to_answer
    assert question.text == "tall dresser" and "(1 piece; line 4: Tall dresser)" in question.said
    changed = found.changes[found.changes["column"] == "furniture_type"]
    assert changed["now"].tolist() == kinds


@pytest.mark.parametrize(
    ("typed", "likely"), [("5oo", "500"), ("l20", "120"), ("4S0", "450"), ("120/140", "120")]
)
def test_the_likeliest_reading_of_an_unread_amount_is_offered_first(
    typed: str, likely: str
) -> None:
    asked = record("type,sold for", f"desk,{typed}").to_answer
    assert asked[0].options[0].meaning == likely


def test_hours_of_one_reading_are_used() -> None:
    cells = read_hours(["3h30m00s", "210'", "2 days"])
    assert [c.value for c in cells] == [3.5, 3.5, None]


def test_minutes_under_hours_are_seen_by_their_neighbours() -> None:
    found = record("type,hrs,price", *[f"desk,{h},90" for h in ("3.5", "6", "4", "210")])
    assert found.flips["hours"].tolist() == [3.5, 6, 4, 3.5]


def test_tenths_beside_hours_and_minutes_are_asked_about() -> None:
    found = record("type,hrs,price", "desk,3:45,90", "desk,3.30,95")
    assert found.flips["hours"].isna().tolist() == [False, True]


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("26th Apr", "2026-04-26"), ("26 April", "2026-04-26"), ("the 26th of April", "2026-04-26"),
        ("Apr 26th", "2026-04-26"), ("April 26", ""), ("Apr-26", ""), ("April 12", "2026-04-12"),
        ("4/26/26 (Sun)", "2026-04-26"), ("26 April 2026, Sunday", "2026-04-26"), ("4/26/26 Mon", ""),
        ("4/26/26 evening", "2026-04-26"), ("2026 Apr 26", "2026-04-26"),
        ("4/26 2026", "2026-04-26"), ("4/26/26 at 3:30pm", "2026-04-26"),
    ],
)  # fmt: skip
def test_a_number_that_can_be_no_year_is_the_day(typed: str, day: str) -> None:
    days = ("4/20/2026", typed, "5/1/2026")
    found = record("type;listed on;price", *[f"desk;{d};{n}" for n, d in enumerate(days, 80)])
    assert found.flips["listed_on"].astype("str").fillna("").tolist()[1] == day


def test_a_day_ten_years_off_its_neighbours_is_asked_about() -> None:
    days = ("2026-03-01", "2016-03-04", "2026-03-09")
    found = record("type,listed on,price", *[f"desk,{d},90" for d in days])
    assert found.flips["listed_on"].isna().tolist() == [False, True, False]
