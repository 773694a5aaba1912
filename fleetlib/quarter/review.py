"""The quarterly review: the books, what sits, what paid, what was planned, and what to do next."""

from __future__ import annotations

from datetime import date, timedelta

import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.quarters import Quarter, quarter_of, read_quarter
from fleetlib.books.tax_reserve import reserve_for
from fleetlib.fits import Fits
from fleetlib.pay.earnings import EarningsTable, earnings
from fleetlib.pay.groups import grouping
from fleetlib.quarter.ageing import ageing
from fleetlib.quarter.hindsight import hindsight
from fleetlib.quarter.lines import QuarterLines, first_day, quarter_lines
from fleetlib.quarter.next_steps import next_steps
from fleetlib.quarter.quarter_review import QuarterReview
from fleetlib.quarter.types import pay_by_type, price_drift
from fleetlib.quarter.which_quarter import last_whole_quarter, quarter_to_review
from fleetlib.trust.borrowing import quarters_ways


def review(fits: Fits, quarter: str = "", *, by: str = "furniture_type") -> QuarterReview:
    """Look back on a quarter such as "2026-Q3"; left out, the last whole one in which something sold. `by` groups its
    tables of pay and prices.

    Raises BadQuestion for what is no quarter, one not begun yet or before the first record, or a column that
    does not group.
    """
    records, as_of = fits.records, fits.as_of
    asked = read_quarter(quarter) if quarter else quarter_to_review(records.flips, as_of)
    (by,) = grouping((by,), records.flips)
    if asked.start > as_of:
        raise BadQuestion(
            f"{asked} begins on {asked.start}, after {as_of}, the day of the answer. Ask for "
            f"{quarter_of(as_of)} or an earlier one."
        )
    begun = first_day(records.flips)
    if begun is not None and asked.end < begun:
        raise BadQuestion(
            f"{asked} ends on {asked.end}, before your first record, {begun}. Ask for "
            f"{quarter_of(begun)} or a later one."
        )
    until = min(asked.end, as_of)
    lines = quarter_lines(records, asked)
    books = lines.accounts[0]
    sits = ageing(fits)
    long_past = asked.end < last_whole_quarter(as_of).start
    past = hindsight(fits, start=asked.start, end=until)
    here = records.flips["sold_on"].between(pd.Timestamp(asked.start), pd.Timestamp(until))
    return QuarterReview(
        quarter=asked,
        as_of=as_of,
        running=books.running,
        currency=fits.settings.currency,
        lines=lines,
        ageing=sits.iloc[:0] if long_past else sits,
        by_type=pay_by_type(records.flips, start=asked.start, end=until, by=by),
        year_pay=_year_pay(fits, until, by),
        drift=price_drift(fits, asked, by=by),
        ways=quarters_ways(records.flips, asked, borrow=fits.settings.borrow),
        past=past,
        reserve=reserve_for(records, start=asked.start, end=asked.end),
        next_steps=next_steps(fits, ageing=sits, past=past, sold=records.flips[here]),
        notes=_notes(lines, asked, as_of),
        by=by,
        long_past=long_past,
    )


def _year_pay(fits: Fits, until: date, by: str) -> EarningsTable | None:
    try:
        return earnings(fits, by=(by,), start=until - timedelta(days=364), end=until)
    except BadQuestion:
        return None


def _notes(lines: QuarterLines, asked: Quarter, as_of: date) -> tuple[str, ...]:
    notes = []
    books, previous, year_before = lines.accounts
    if books.running:
        gone, whole = (as_of - asked.start).days + 1, (asked.end - asked.start).days + 1
        notes.append(
            f"{asked} is still running: {gone} of its {whole} days are in, beside whole quarters before it."
        )
    if not books.value("sold"):
        notes.append(
            f"Nothing sold in {asked}, so there is no profit and no pay per hour to speak of."
        )
    if previous is None and year_before is None:
        notes.append(
            f"{asked} is the first quarter on record: there is nothing before it to hold it against."
        )
    elif year_before is None:
        notes.append(f"Nothing was on record yet in {asked.year_before()}.")
    elif previous is None:
        notes.append(f"Nothing was on record in {asked.previous()}.")
    return (*notes, *books.notes)
