"""Typed dates: the order is the whole column's, and what could be two days is asked about."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleetlib.records.parsing.dates import read_dates

AS_OF = date(2026, 9, 30)


def days(*texts: str, day_first: bool | None = None) -> list[float | str | None]:
    return [c.value for c in read_dates(texts, day_first=day_first, as_of=AS_OF).cells]


# "12", "May" and "Mar 4" are read as dates by general-purpose parsers, one of them in the year 1.
@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("12", None), ("May", None), ("Mar 4", None), ("4 March", None), ("March 2026", None), ("2026", None),
        ("soon", None),
        ("2026-03-04", "2026-03-04"), ("2026/3/4", "2026-03-04"), ("2026.03.04", "2026-03-04"),
        ("20260304", "2026-03-04"),
        ("2026-03-04 14:30", "2026-03-04"), ("2026-03-04T00:00:00Z", "2026-03-04"), ("3/25/26 0:00", "2026-03-25"),
        ("4 Mar 2026", "2026-03-04"), ("4-Mar-26", "2026-03-04"), ("Mar 4, 2026", "2026-03-04"),
        ("March 4th, 2026", "2026-03-04"),
        ("4th of March 2026", "2026-03-04"), ("4. March 2026", "2026-03-04"), ("Sept 9 2025", "2025-09-09"),
        ("Wed, 4 Mar 2026", "2026-03-04"),
        ("Mar 4 '26", "2026-03-04"), ("3/25/'26", "2026-03-25"), ("25.12.2025", "2025-12-25"),
        ("12-25-2025", "2025-12-25"),
        ("31/02/26", None), ("13/13/26", None), ("2026-02-29", None), ("2024-02-29", "2024-02-29"),
        ("2026-13-01", None), ("0/5/26", None),
        ("46085", "2026-03-04"), ("46085.5", "2026-03-04"), ("1234", None), ("99999", None), ("1776-07-04", None),
        ("5/25/99", "1999-05-25"),
        ("3/25/36", "2036-03-25"), ("3/25/37", None), ("", None), ("tbd", None), ("2026-3-4-5", None),
        ("3/25/2026 or 26", None),
    ],
)  # fmt: skip
def test_one_date_alone(text: str, day: str | None) -> None:
    assert days(text) == [day]


def test_one_date_settles_its_column_and_only_its_column() -> None:
    assert days("03/04/26", "03/25/26") == ["2026-03-04", "2026-03-25"]
    assert days("03/04/26", "25/03/26") == ["2026-04-03", "2026-03-25"]
    assert days("03/04/26") == [None]
    assert days("04/04/26") == ["2026-04-04"]


def test_an_impossible_date_settles_nothing() -> None:
    assert days("03/04/26", "31/04/26") == [None, None]


def test_a_column_of_both_orders_is_settled_by_the_mark_or_not_at_all() -> None:
    slashes, points = ("03/04/26", "12/25/25"), ("03.04.26", "25.12.25")
    assert days(*slashes, *points) == ["2026-03-04", "2025-12-25", "2026-04-03", "2025-12-25"]
    assert days("03/04/26", "12/25/25", "25/12/25") == [None, "2025-12-25", "2025-12-25"]


def test_one_slip_among_many_does_not_unsettle_a_column() -> None:
    many = [f"3/{day}/26" for day in range(13, 31)]
    found = read_dates(["03/04/26", "25/12/25", *many], as_of=AS_OF)
    assert [c.value for c in found.cells[:3]] == ["2026-03-04", "2025-12-25", "2026-03-13"]
    assert (found.order, found.odd, found.asked) == ("month first", ("25/12/25",), ())
    assert days("03/04/26", "25/12/25", *many[:8])[0] is None


def test_the_persons_order_holds_and_what_it_makes_impossible_is_said() -> None:
    found = read_dates(["03/04/26", "03/25/26"], day_first=True, as_of=AS_OF)
    assert [c.value for c in found.cells] == ["2026-04-03", None]
    assert found.contrary == ("03/25/26",)
    assert days("03/04/26", day_first=False) == ["2026-03-04"]


def test_why_says_both_days() -> None:
    found = read_dates(["03/04/26"], as_of=AS_OF)
    assert found.cells[0].why == "could be 2026-03-04 or 2026-04-03"
    assert found.asked == ("03/04/26",)


@given(
    st.dates(date(1950, 1, 1), date(2036, 12, 31)),
    st.sampled_from(["%Y-%m-%d", "%d %B %Y", "%b %d, %Y", "%Y%m%d"]),
)
def test_a_day_written_out_reads_back(day: date, form: str) -> None:
    assert days(day.strftime(form)) == [day.isoformat()]


@given(st.lists(st.dates(date(2000, 1, 1), date(2026, 9, 30)), min_size=1), st.booleans())
def test_a_column_is_never_read_in_the_wrong_order(column: list[date], day_first: bool) -> None:
    form = "%d/%m/%Y" if day_first else "%m/%d/%Y"
    found = days(*[d.strftime(form) for d in column])
    assert all(f in (None, d.isoformat()) for f, d in zip(found, column, strict=True))
    if any(d.day > 12 for d in column):
        assert None not in found
