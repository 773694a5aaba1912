"""The table of currencies, held against ISO 4217 and CLDR as the `babel` library carries them."""

import pytest
from babel.numbers import get_currency_precision, get_currency_symbol

from fleetlib.base.currencies import CURRENCIES, MEANT_BY, currency_named, known_as


# Of the Iraqi dinar ISO 4217 keeps three places; CLDR, like its users, writes none.
@pytest.mark.parametrize("code", [c for c in CURRENCIES if c != "IQD"])
def test_decimal_places_are_those_of_the_standard(code: str) -> None:
    assert known_as(code).places == get_currency_precision(code)


@pytest.mark.parametrize(
    ("code", "place"), [("EUR", "de_DE"), ("GBP", "en_GB"), ("JPY", "en_US"), ("USD", "en_US")]
)
def test_signs_are_those_people_write(code: str, place: str) -> None:
    assert known_as(code).sign == get_currency_symbol(code, place)


def test_a_sign_that_several_share_names_none_of_them() -> None:
    assert {"USD", "CAD"} <= MEANT_BY["$"]
    assert [currency_named(t) for t in ("$", "£", "quid", "sek", "oak")] == [
        "",
        "GBP",
        "GBP",
        "SEK",
        None,
    ]
