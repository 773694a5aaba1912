"""The trade's words: listed ones are put right, likenesses only suggested."""

from __future__ import annotations

import pytest

from fleetlib.records.files.headings import header_row, match_heading
from fleetlib.records.parsing.counts import read_counts, read_grades, read_years, split_count
from fleetlib.records.parsing.vocabulary import TWO_MEANINGS, known_words, look_up


@pytest.mark.parametrize("column", ["furniture_type", "wood", "construction", "finish", "style"])
def test_a_known_word_stands_for_itself(column: str) -> None:
    for word in known_words(column):
        found = look_up(column, word)
        assert (found.value, found.why, found.question) == (word, "", "")


@pytest.mark.parametrize(
    ("column", "typed", "word"),
    [
        ("furniture_type", "Credenza", "sideboard"), ("furniture_type", "Welsh dresser", "hutch"),
        ("furniture_type", "chest-on-chest", "highboy"),
        ("furniture_type", "end tables", "side table"),
        ("furniture_type", "CHESTS OF DRAWERS", "chest of drawers"),
        ("furniture_type", "coffee_table", "coffee table"),
        ("furniture_type", "hope chest", "trunk"), ("furniture_type", "vanities", "vanity"),
        ("furniture_type", "benches", "bench"),
        ("wood", "Honduran mahogany", "mahogany"), ("wood", "Philippine mahogany", "lauan"),
        ("wood", "Khaya", "african mahogany"),
        ("wood", "tiger oak", "oak"), ("wood", "English oak", "white oak"), ("wood", "bird's eye maple", "maple"),
        ("wood", "butternut", "butternut"),
        ("wood", "tulip poplar", "poplar"), ("wood", "barn wood", "unknown"), ("wood", "mahoganey", "mahogany"),
        ("wood", "teek", "teak"),
        ("construction", "veener", "veneer"), ("construction", "pressboard", "particle board"),
        ("finish", "French polish", "shellac"),
        ("finish", "cerused", "limed"), ("finish", "Chalk Paint", "chalk-type paint"),
        ("style", "victorian", "Victorian"),
    ],
)  # fmt: skip
def test_another_word_or_a_listed_misspelling_is_put_right_and_says_so(
    column: str, typed: str, word: str
) -> None:
    found = look_up(column, typed)
    assert found.value == word
    assert found.why or typed == word


# "map" and "reclaimed oak" score 90 with a fuzzy partial match; neither may become a wood.
@pytest.mark.parametrize(
    ("column", "typed", "near"),
    [
        ("wood", "map", ""), ("wood", "reclaimed oak", ""), ("wood", "walnuts", "walnut"),
        ("furniture_type", "dressers set", "dresser"), ("furniture_type", "nightstan", "nightstand"),
        ("finish", "shelack", "shellac"),
    ],
)  # fmt: skip
def test_a_likeness_is_only_suggested(column: str, typed: str, near: str) -> None:
    found = look_up(column, typed)
    assert (found.value, found.suggestion) == (typed, near)


@pytest.mark.parametrize(
    ("column", "word"), [(c, w) for c, some in TWO_MEANINGS.items() for w in some]
)
def test_a_word_of_two_meanings_stays_until_the_person_decides(column: str, word: str) -> None:
    found = look_up(column, word.title())
    assert found.value == word and "can mean" in found.question
    first = TWO_MEANINGS[column][word][0]
    assert look_up(column, word.title(), {word: first}).value == first


def test_wood_cells_that_name_a_colour_or_a_construction() -> None:
    assert look_up("wood", "cherry finish").value is None
    assert "colour" in look_up("wood", "walnut stain").question
    assert look_up("wood", "MDF").construction == "mdf" and look_up("wood", "MDF").value is None
    found = look_up("wood", "solid wallnut")
    assert (found.value, found.construction) == ("walnut", "solid")


def test_the_persons_words_come_first() -> None:
    own = {"credenza": "bar", "Settle": "pew"}
    assert look_up("furniture_type", "Credenza", own).value == "bar"
    assert look_up("furniture_type", "settle", own).value == "pew"
    assert look_up("furniture_type", "PEW", own).value == "pew"


@pytest.mark.parametrize(
    ("typed", "kind", "count"),
    [
        ("pair of nightstands", "nightstands", 2), ("a pair of chairs", "chairs", 2),
        ("set of 4 chairs", "chairs", 4), ("chairs x4", "chairs", 4),
        ("4 chairs", "chairs", 4), ("four chairs", "chairs", 4), ("chairs (set of 6)", "chairs", 6),
        ("nightstands, pair", "nightstands", 2),
        ("nightstand (pair)", "nightstand", 2), ("2 x stools", "stools", 2),
        ("set of chairs", "set of chairs", None), ("1950 dresser", "1950 dresser", None),
        ("a desk", "a desk", None),
    ],
)  # fmt: skip
def test_a_count_in_the_type(typed: str, kind: str, count: float | None) -> None:
    assert split_count(typed) == (kind, count)


def test_counts_years_and_grades() -> None:
    counts = read_counts(["2", "pair", "set of 4", "x2", "2x", "3 pcs", "a few", "2.5"])
    assert [c.value for c in counts] == [2, 2, 4, 2, 2, 3, None, None]
    typed = ["1965", "1960s", "1960's", "c. 1920", "1920?", "1900s", "60s", "old", "1965-70"]
    assert [c.value for c in read_years(typed)] == [
        1965,
        1965,
        1965,
        1920,
        1920,
        None,
        None,
        None,
        None,
    ]
    assert [c.value for c in read_grades(["4", "4.5", "4/5", "3 of 5", "A", "4/10"])] == [
        4,
        4.5,
        4,
        3,
        None,
        None,
    ]


@pytest.mark.parametrize(
    ("typed", "column", "unit"),
    [
        ("Sold for", "sale_price", ""), ("price", "sale_price", ""), ("GOT", "sale_price", ""),
        ("Price (asking)", "asking_price", ""), ("asking price $", "asking_price", ""),
        ("Paid", "buy_price", ""), ("Supplies", "materials_cost", ""), ("Hrs.", "hours", ""),
        ("hours (min)", "hours", "minutes"), ("width cm", "width_in", "cm"),
        ("W (in)", "width_in", "in"), ("Height in mm", "height_in", "mm"), ("Where sold?", "channel", ""),
        ("Item #", "piece", ""), ("Dims (WxDxH)", "size", ""), ("size cm", "size", "cm"),
        ("Price EUR", "sale_price", ""), ("Profit", None, ""), ("", None, ""), ("Date", None, ""), ("450", None, ""),
    ],
)  # fmt: skip
def test_headings_in_a_persons_words(typed: str, column: str | None, unit: str) -> None:
    found = match_heading(typed)
    assert (found.column if found else None) == column
    if found:
        assert found.unit == unit


def test_the_order_of_sides_in_a_heading() -> None:
    orders = {h: match_heading(h) for h in ("HxWxD", "Size LxWxH", "Dims (D x W x H)")}
    assert {h: f.order for h, f in orders.items() if f} == {
        "HxWxD": ("height_in", "width_in", "depth_in"),
        "Size LxWxH": ("width_in", "depth_in", "height_in"),
        "Dims (D x W x H)": ("depth_in", "width_in", "height_in"),
    }


def test_the_heading_line_is_the_first_with_the_most_headings() -> None:
    rows = [
        ["My type of furniture"],
        [],
        ["type", "notes"],
        ["Type", "Price", "Wood"],
        ["desk", "300", "oak"],
        ["Type", "Price", "Wood"],
    ]
    assert header_row(rows) == 3
    assert header_row([["desk", "oak", "300"]]) is None
