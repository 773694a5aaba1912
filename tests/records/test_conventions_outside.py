"""How other countries write numbers and dates: Unicode CLDR, through the `babel` library."""

from __future__ import annotations

from datetime import date

import pytest
from babel.dates import format_date
from babel.numbers import format_decimal

from fleetlib.records.parsing.amounts import read_money
from fleetlib.records.parsing.dates import read_dates

LOCALES = (
    "en_US", "en_GB", "en_CA", "fr_CA", "de_DE", "fr_FR", "de_CH", "en_IN", "es_ES", "it_IT", "pt_BR", "sv_SE", "nl_NL",
)  # fmt: skip
AMOUNTS = (1234567.89, 1250.0, 80.0, 1234.5, 12.34)
DAYS = (date(2026, 3, 4), date(2026, 3, 25), date(2025, 12, 31), date(2026, 4, 3))
AS_OF = date(2026, 9, 30)


@pytest.mark.parametrize("locale", LOCALES)
def test_a_column_of_amounts_as_a_country_writes_them_is_read(locale: str) -> None:
    texts = [format_decimal(a, locale=locale) for a in AMOUNTS]
    assert [c.value for c in read_money(texts)] == list(AMOUNTS)


@pytest.mark.parametrize("locale", LOCALES)
def test_a_column_of_short_dates_as_a_country_writes_them_is_read(locale: str) -> None:
    texts = [format_date(d, format="short", locale=locale) for d in DAYS]
    found = read_dates(texts, as_of=AS_OF)
    assert [c.value for c in found.cells] == [d.isoformat() for d in DAYS]


@pytest.mark.parametrize("locale", ["en_US", "en_GB", "de_DE", "fr_FR"])
def test_a_date_alone_that_two_countries_read_differently_is_not_guessed(locale: str) -> None:
    text = format_date(date(2026, 3, 4), format="short", locale=locale)
    found = read_dates([text], as_of=AS_OF)
    assert found.cells[0].value is None
    assert (
        found.cells[0].why == "could be 2026-03-04 or 2026-04-03"
        or "2026-04-03 or 2026-03-04" in found.cells[0].why
    )
    assert found.asked == (text,)


def test_excels_day_numbers_in_both_systems() -> None:
    # 45658 is 2025-01-01 counted from 1900; 44196 is the same day counted from 1904, 1,462 days apart
    # (the two date systems as Microsoft documents them).
    assert read_dates(["45658"], as_of=AS_OF).cells[0].value == "2025-01-01"
    assert read_dates(["44196"], as_of=AS_OF, epoch_1904=True).cells[0].value == "2025-01-01"
