"""Money, sizes and hours as people type them; what could be two things is refused."""

from __future__ import annotations

import re

import pytest

from fleetlib.records.parsing import amounts, once, phrases, sizes
from fleetlib.records.parsing.amounts import read_hours, read_money, read_sizes
from fleetlib.records.parsing.numbers import number_shape
from fleetlib.records.parsing.phrases import phrase_of


def money(*texts: str, currency: str = "USD") -> list[float | str | None]:
    return [c.value for c in read_money(texts, currency=currency)]


# The first five are what a general-purpose currency parser got wrong without a word.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("-$5", -5), ("(5.00)", -5), ("$45-60", None), ("$1k", 1000), ("2 x 45", 90),
        ("$-5", -5), ("50-", -50), ("-(5)", None), ("$1,150", 1150), ("1,234,567.89", 1234567.89),
        ("1.234.567,89", 1234567.89),
        ("1'250.50", 1250.5), ("12,34,567.89", 1234567.89), ("1,15", 1.15), ("1,1500", 1.15), ("1,23,45", None),
        ("12,34", 12.34), ("$1,2345.00", None), ("0,5", 0.5), (".50", 0.5), ("12.", 12), ("007", 7), ("1 2", None),
        ("free", 0), ("Free!", 0), ("325 obo", 325), ("325 (OBO)", 325), ("$1,200 firm", 1200), ("~300", 300),
        ("about $300", 300),
        ("USD 300", 300), ("300 USD", 300), ("US$300", 300), ("300 dollars", 300), ("€300", None),
        ("300 EUR", None), ("C$300", None),
        ("300 or 350", None), ("300/350", None), ("$300 each", None), ("3OO", None), ("three hundred", 300),
        ("1e3", None),
        ("nan", None), ("inf", None), ("n/a", None), ("?", None), ("", None), ("80+35", None), ("80 35", None),
        ("325,000", 325000), ("300 350", None), ("1\u00a0250", 1250),
        ("33.3333", 33.33), ("1.5", 1.5), ("$ 45", 45), ("45 $", 45), ("45,-", 45), ("45.--", 45), ("½", None),
        ("١٢", None),
    ],
)  # fmt: skip
def test_money_is_read_strictly(text: str, value: float | None) -> None:
    assert money(text) == [value]


def test_a_lone_amount_of_three_places_is_thousands_because_money_has_no_third_place() -> None:
    assert money("1,150", "1.150") == [1150, 1150]
    assert money("1,150", currency="KWD") == [None]  # three places: ISO 4217
    assert money("1,150", "2,300,000.5", currency="KWD") == [1150, 2300000.5]


def test_one_settled_amount_settles_the_mark_for_its_whole_column() -> None:
    assert money("1,150", "12.50") == [1150, 12.5]
    assert money("1.150", "12,50") == [1150, 12.5]
    assert money("1,150", "12,50") == [None, 12.5]
    assert money("1.150", "12.50") == [None, 12.5]
    why = read_money(["1,150", "12,50"])[0].why
    assert why == "could be 1.15 or 1150: elsewhere in this column the comma is the decimal mark"


def test_one_slip_among_many_does_not_unsettle_a_column() -> None:
    many = [f"{n}.50" for n in range(20)]
    assert money("1,15", "1,150", *many)[:2] == [None, 1150]
    assert money("1,15", "1,150", *many[:8])[:2] == [1.15, None]
    assert (
        read_money(["1,15", *many])[0].why
        == "uses the comma as the decimal mark, unlike the rest of the column"
    )


def test_the_signs_of_the_shops_own_currency_are_read_and_no_other() -> None:
    assert money("€1.250,00", "1.250,00 EUR", "1 250,00 €", "$5", currency="EUR") == [
        1250,
        1250,
        1250,
        None,
    ]
    assert money("£5", "5 GBP", currency="GBP") == [5, 5]
    assert money("$5", "C$5", "CAD 5", "US$5", currency="CAD") == [5, 5, 5, None]
    assert money("100 kr", "100 SEK", currency="SEK") == [100, 100]


@pytest.mark.parametrize(
    ("text", "shape"),
    [
        ("1.234", "point3"), ("1,234", "comma3"), ("0.234", "point"), ("1234.567", "point"), ("12", "whole"),
        ("1,234,567", "whole"), ("1.2.3", "bad"), ("1,2.3", "bad"),
    ],
)  # fmt: skip
def test_the_shape_of_a_number(text: str, shape: str) -> None:
    assert number_shape(text)[0] == shape


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("60", 60), ('60"', 60), ("60 in", 60), ("60''", 60), ("5'", 60), ("5'6\"", 66), ("5' 6", 66),
        ("5 ft 6 in", 66), ("5ft", 60),
        ("5′6″", 66), ("5’6”", 66), ("30 1/2", 30.5), ("30-1/2", 30.5), ("30½", 30.5), ("½", 0.5), ("1/8", 0.12),
        ("20⅜\"", 20.38), ("1½'", 18),
        ("152.4 cm", 60), ("152,4cm", 60), ("1524 mm", 60), ("1.524 m", 60), ("20.5", 20.5), ("20,5", 20.5),
        ("12-14", None), ("about right", None), ("60 x 18", None), ("6'13'", None), ("1/0", None), ("", None),
        ("?", None),
    ],
)  # fmt: skip
def test_sizes_in_inches(text: str, inches: float | None) -> None:
    assert read_sizes([text])[0].value == inches


def test_an_inch_is_exactly_2_54_cm() -> None:
    # International yard and pound agreement of 1959.
    assert [c.value for c in read_sizes(["2.54", "254"], unit="cm")] == [1, 100]
    assert read_sizes(["5"], unit="ft")[0].value == 60


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("9", 9), ("9.5", 9.5), ("9,5", 9.5), ("2 1/2", 2.5), ("2½", 2.5), ("½", 0.5), ("3h 30m", 3.5),
        ("3h30", 3.5), ("3 hours and 20 minutes", 3.3333),
        ("3:30", 3.5), ("14:30", 14.5), ("0:45", 0.75), ("1:30:00", 1.5), ("90 min", 1.5), ("45m", 0.75),
        ("2 hrs", 2), ("2hr", 2), ("1.5h", 1.5),
        ("about 5", 5), ("~5 hrs", 5), ("3-4", None), ("3 or 4", None), ("2 days", None), ("all day", None),
        ("3:75", None), ("", None), ("tbd", None),
    ],
)  # fmt: skip
def test_hours_of_work(text: str, hours: float | None) -> None:
    assert read_hours([text])[0].value == hours


def test_minutes_by_heading() -> None:
    assert [c.value for c in read_hours(["90", "1h", "1:30"], unit="minutes")] == [1.5, 1, 1.5]


def test_three_digits_after_a_mark_are_not_guessed_where_thousands_are_possible() -> None:
    assert [c.value for c in read_hours(["2.400", "0.500"], unit="minutes")] == [None, 0.0083]
    assert read_hours(["2,400 min"])[0].why == "could be thousands of minutes or a decimal"
    assert [c.value for c in read_sizes(["1,524", "1524"], unit="mm")] == [None, 60]
    assert [c.value for c in read_hours(["1.500", "1,250"])] == [
        1.5,
        1.25,
    ]  # no piece takes 1500 hours
    assert [c.value for c in read_sizes(["30.125", "152,400 cm"])] == [30.12, 60]


NUMBERS = [*map(str, range(300)), "007", "0.50", "12.5", "1.234", "20240105", "1" * 14, "99.999"]


@pytest.mark.parametrize("number", NUMBERS)
def test_a_number_alone_is_what_it_would_be_taken_apart_into(number):
    assert phrase_of(number) == phrases._taken_apart(number)
    assert amounts._money_body(number, "USD") == (number, "", False)
    for sign in "$€£":
        assert phrase_of(sign + number) == phrases._taken_apart(sign + number)
        assert phrase_of(f"{sign}{number},000.00") == phrases._taken_apart(f"{sign}{number},000.00")


def test_a_number_alone_is_not_taken_apart_at_all(monkeypatch):
    def refuse(*_: object) -> None:
        raise AssertionError("taken apart")

    once.forget()
    monkeypatch.setattr(phrases, "_taken_apart", refuse)
    assert money("450", "12.50", "007", "$1,200") == [450, 12.5, 7, 1200]
    with pytest.raises(AssertionError, match="taken apart"):
        money("about 450")


def test_a_column_of_sizes_that_is_tried_and_then_read_is_taken_apart_once(monkeypatch):
    once.forget()
    apart: list[str] = []
    pieces = sizes._pieces
    monkeypatch.setattr(sizes, "_pieces", lambda body: apart.append(body) or pieces(body))
    texts = ["36x18x34 in", "about 40 x 20 x 30", "36x18x34 in", "36 x 18 x 34"]
    for unit, order in (("in", "wdh"), ("cm", "wdh"), ("in", "hwd")):
        sides = [sizes._LETTERS[c] for c in order]
        read = sizes.split_sizes(texts, unit=unit, order=sides)
    assert read.sides["height_in"] == [36, 40, 36, 36]
    assert apart == ["36x18x34 in", "about 40 x 20 x 30"]


@pytest.mark.parametrize("text", ["36x18x34", "20 1/2 x 12 x 54", "7.5x 20 x60 3/4", "0 x 1 x 2"])
def test_three_numbers_are_what_they_would_be_taken_apart_into(monkeypatch, text):
    read = sizes._measures.__wrapped__
    alone = read(text)
    monkeypatch.setattr(sizes, "_NUMBERS", re.compile("never"))
    assert alone == read(text)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("36l x 18w x 30", "36 x 18 x 30"),
        ("30 x 36l x 18w", "36 x 18 x 30"),
        ("36l x 18w", "36 x 18 x ?"),
        ("36l x 18w x 30 x 20", ""),
    ],
)
def test_beside_a_length_and_a_width_the_third_measure_is_the_height(text, shown):
    assert sizes.split_sizes([text], unit="in").shown == [shown]
