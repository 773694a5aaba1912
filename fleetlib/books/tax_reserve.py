"""Money to keep aside for taxes: a planning figure from the owner's own rate, never a tax bill.

It is the owner's share times the profit of the period, and nothing below 0. No tax rate, no method and no
amount due is worked out here. Dates are given only for the United States and only for years listed with
their source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.shown.markup import facts_html, notes_html, text_notes, wrap

WORDING = (
    "Estimates from your own records, for planning only. Not tax advice. Rules, rates and dates change by year and "
    "place; check with a licensed tax professional."
)
NOT_TAX_PERIODS = (
    "A calendar quarter is not a US estimated-tax period: those run January to March, April to May, June to August "
    "and September to December."
)

_READ = "IRS, Form 1040-ES for 2026"
_WORKED_OUT = "the 15th, moved past weekends and legal holidays (26 USC 7503); compare with Form 1040-ES of that year"


@dataclass(frozen=True, slots=True)
class DueDates:
    """The four US estimated-tax dates of one tax year, with where they are from."""

    tax_year: int
    days: tuple[date, date, date, date]
    source: str


_YEARS = (
    DueDates(2022, (date(2022, 4, 18), date(2022, 6, 15), date(2022, 9, 15), date(2023, 1, 17)), _WORKED_OUT),
    DueDates(2023, (date(2023, 4, 18), date(2023, 6, 15), date(2023, 9, 15), date(2024, 1, 16)), _WORKED_OUT),
    DueDates(2024, (date(2024, 4, 15), date(2024, 6, 17), date(2024, 9, 16), date(2025, 1, 15)), _WORKED_OUT),
    DueDates(2025, (date(2025, 4, 15), date(2025, 6, 16), date(2025, 9, 15), date(2026, 1, 15)), _WORKED_OUT),
    DueDates(2026, (date(2026, 4, 15), date(2026, 6, 15), date(2026, 9, 15), date(2027, 1, 15)), _READ),
)  # fmt: skip
DUE_DATES = MappingProxyType({y.tax_year: y for y in _YEARS})


@dataclass(frozen=True, eq=False, slots=True)
class Reserve:
    """What to keep aside from the profit made between `start` and `end` (both included).

    `amount` = max(0, `share` x `profit`), in the shop's currency. `due` lists the US dates of the tax years
    the period touches; empty outside US dollars and for years not listed.
    """

    start: date
    end: date
    profit: float
    share: float
    amount: float
    currency: str
    due: tuple[DueDates, ...]
    notes: tuple[str, ...]

    def sentence(self) -> str:
        """The figure in words."""
        money = format_money(self.amount, self.currency)
        made = format_money(self.profit, self.currency)
        if self.share == 0:
            return (
                "No figure to keep aside for taxes: your settings name no share. Set reserve_share, such as 0.25, once "
                "you have asked a professional."
            )
        if self.profit <= 0:
            return f"Nothing to keep aside from these dates: they brought {made}, no profit."
        own = f"your own {self.share:.0%} of {made} profit, tax year {self._years()}"
        return f"Keep about {money} aside for taxes: {own}."

    def _years(self) -> str:
        years = sorted({self.start.year, self.end.year})
        return " and ".join(str(y) for y in years)

    def __str__(self) -> str:
        return text_notes([self.sentence(), *self.notes])

    def _repr_html_(self) -> str:
        facts: list[tuple[str, object]] = [("To keep aside", self.sentence())]
        facts += [(f"US dates, tax year {d.tax_year}", dates_text(d)) for d in self.due]
        return wrap(facts_html(facts), notes_html(self.notes))


def reserve(
    profit: float, *, share: float, start: date, end: date, currency: str = "USD"
) -> Reserve:
    """The planning figure for the profit of a period; `share` is the owner's own, 0 to 1.

    >>> reserve(2000.0, share=0.25, start=date(2026, 7, 1), end=date(2026, 9, 30)).amount
    500.0
    """
    years = range(start.year, end.year + 1) if currency == "USD" else range(0)
    due = tuple(DUE_DATES[y] for y in years if y in DUE_DATES)
    notes = (
        [NOT_TAX_PERIODS]
        if currency == "USD"
        else ["Tax periods and dates differ from country to country."]
    )
    notes += [f"Tax year {d.tax_year}, US dates: {dates_text(d)}. Source: {d.source}." for d in due]
    missing = [y for y in years if y not in DUE_DATES]
    if missing:
        listed = ", ".join(str(y) for y in missing)
        notes.append(f"No US dates are listed here for {listed}: look them up for that year.")
    notes.append(WORDING)
    return Reserve(
        start=start,
        end=end,
        profit=profit,
        share=share,
        amount=round(max(0.0, profit * share), 2),
        currency=currency,
        due=due,
        notes=tuple(notes),
    )


def dates_text(due: DueDates) -> str:
    """`15 Apr 2026, 15 Jun 2026, 15 Sep 2026, 15 Jan 2027`."""
    return ", ".join(day_said(d) for d in due.days)
