"""Money to keep aside for taxes: a planning figure from the owner's own rate, never a tax bill.

It is the owner's share times the profit of the year up to the end of the period, less the same up to its start,
and nothing below 0: so a quarter with a loss makes the next one's figure smaller, within a year. Profit here is
that of the pieces sold less supplies and less what scrapped pieces had cost; what was kept or given away is
no loss of the shop. A loss of an earlier year is not carried over here. No tax rate, no method and no amount
due is worked out here. Dates are given only for the United States and only for years listed with
their source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from types import MappingProxyType

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.books.accounts import Accounts, accounts
from fleetlib.records.folder import Records
from fleetlib.records.schema.columns import SCRAPPED
from fleetlib.shown.sheet import Facts, Notes, Said, Sheet, Shown

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


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Reserve(Shown):
    """What to keep aside from the profit made between `start` and `end` (both included).

    `amount` = `share` x (what is above 0 of `before` + `profit`, less what is above 0 of `before`), never below 0, in
    the shop's currency. `before` is the profit of the year up to `start`; `made_of` says in words what
    `profit` is made of. `due` lists the US dates of the tax years
    the period touches; empty outside US dollars and for years not listed.
    """

    start: date
    end: date
    profit: float
    before: float
    share: float
    amount: float
    currency: str
    due: tuple[DueDates, ...]
    notes: tuple[str, ...]
    made_of: str = ""

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
            return f"Nothing to keep aside from these dates: they brought {made}, no profit.{self._less()}"
        if not self.amount:
            return (
                f"Nothing to keep aside from these dates: {made} profit does not yet make up for the "
                f"{format_money(-self.before, self.currency)} lost earlier in the year."
            )
        own = f"your own {self.share:.0%} of {made} profit"
        if self.before < 0:
            own += f" less {format_money(-self.before, self.currency)} lost earlier in the year"
        return f"Keep about {money} aside for taxes: {own}, tax year {self._years()}."

    def sentences(self) -> tuple[str, ...]:
        """The figure, what it is made of, and what it is not."""
        return tuple(s for s in (self.sentence(), self.made_of, *self.notes) if s)

    def _less(self) -> str:
        """What of the year's earlier figures this loss makes needless."""
        needless = self.share * min(max(self.before, 0.0), -self.profit)
        if round(needless) <= 0:
            return ""
        money = format_money(needless, self.currency)
        return (
            f" By the same rule {money} of what you kept aside earlier in the year is not needed."
        )

    def _years(self) -> str:
        years = sorted({self.start.year, self.end.year})
        return " and ".join(str(y) for y in years)

    def sheet(self) -> Sheet:
        """The figure, the dates it is due where they are known, and what it is not."""
        due = tuple((f"US dates, tax year {d.tax_year}", dates_text(d)) for d in self.due)
        said = tuple(s for s in (self.made_of, *self.notes) if s)
        return Sheet("", (Said((self.sentence(),)), Facts(due), Notes(said)))


def counted_profit(books: Accounts) -> tuple[float, str]:
    """What a period brought after supplies and scrapped pieces, money, and the words for what it is made of."""
    profit, supplies = books.value("profit"), books.value("supplies for all pieces")
    scrapped = books.stock.way(SCRAPPED)
    said = [
        f"{format_money(amount, books.currency)} {words}"
        for amount, words in (
            (supplies, "for supplies and tools"),
            (scrapped, "for scrapped pieces"),
        )
        if amount
    ]
    made_of = ""
    if said:
        sold = format_money(profit, books.currency)
        made_of = f"Profit here is {sold} from the pieces sold less {' and '.join(said)}."
    return round(profit - supplies - scrapped, 2), made_of


def reserve_for(records: Records, *, start: date, end: date) -> Reserve:
    """The planning figure for `start` to `end`, with the year up to `start` beside it, from the records."""
    profit, made_of = counted_profit(accounts(records, start=start, end=end))
    new_year, before = date(start.year, 1, 1), 0.0
    if start > new_year:
        earlier = accounts(records, start=new_year, end=start - timedelta(days=1))
        before, _ = counted_profit(earlier)
    settings = records.settings
    made = reserve(
        profit,
        share=settings.reserve_share,
        start=start,
        end=end,
        currency=settings.currency,
        before=before,
    )
    return replace(made, made_of=made_of)


def reserve(
    profit: float,
    *,
    share: float,
    start: date,
    end: date,
    currency: str = "USD",
    before: float = 0.0,
) -> Reserve:
    """The planning figure for the profit of a period; `share` is the owner's own, 0 to 1.

    `before` is the profit of the same year up to `start`, below 0 for a loss.

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
        before=before,
        share=share,
        amount=round(max(0.0, share * (max(0.0, before + profit) - max(0.0, before))), 2),
        currency=currency,
        due=due,
        notes=tuple(notes),
    )


def dates_text(due: DueDates) -> str:
    """`15 Apr 2026, 15 Jun 2026, 15 Sep 2026, 15 Jan 2027`."""
    return ", ".join(day_said(d) for d in due.days)
