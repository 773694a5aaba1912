"""One quarter beside the one before and the same one last year, line by line, with the pieces behind each."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.quarters import Quarter
from fleetlib.books.accounts import Accounts, accounts, value_text
from fleetlib.records.folder import Records
from fleetlib.selling.kaplan_meier import days_to_sell

PAID_SHARE, DAYS = "sale price / last asking price", "days to sell, median"
WHICH = ("this", "previous", "year_before")


@dataclass(frozen=True, eq=False, slots=True)
class QuarterLines:
    """`table`: line, unit, this, previous, year_before (NaN where nothing was on record yet).

    `accounts` are the three periods' accounts in the same order; None for one before the first record.
    """

    table: pd.DataFrame = field(repr=False)
    accounts: tuple[Accounts, Accounts | None, Accounts | None] = field(repr=False)
    names: tuple[str, str, str]
    not_reached: tuple[bool, bool, bool]
    currency: str

    def pieces(self, line: str, which: str = "this") -> pd.DataFrame:
        """The pieces behind one line of one of the periods "this", "previous" and "year_before"."""
        if which not in WHICH:
            raise BadQuestion(f'There is no period "{which}". The periods are: {", ".join(WHICH)}.')
        books = self.accounts[WHICH.index(which)]
        if line in (PAID_SHARE, DAYS):
            line = "sold"
        known = [b for b in self.accounts if b is not None and line in set(b.table["line"])]
        if books is None or (known and books not in known):  # a line that only another period has
            return (known or [self.accounts[0]])[0].pieces(line).iloc[:0]
        return books.pieces(line)

    def shown(self) -> pd.DataFrame:
        """The table as printed."""
        made = pd.DataFrame({"line": self.table["line"]})
        for k, which in enumerate(WHICH):
            made[self.names[k]] = [
                self._text(line, value, unit, k)
                for line, value, unit in zip(
                    self.table["line"], self.table[which], self.table["unit"], strict=True
                )
            ]
        return made

    def _text(self, line: str, value: float, unit: str, k: int) -> str:
        if line == DAYS and self.not_reached[k]:
            return "not reached"
        if unit == "share":
            return "-" if value != value else f"{value:.0%}"
        if unit == "days":
            return "-" if value != value else f"{value:.0f} days"
        return value_text(value, unit, self.currency)


def quarter_lines(records: Records, quarter: Quarter) -> QuarterLines:
    """The lines of `quarter`, of the quarter before it and of the same quarter last year."""
    first = first_day(records.flips)
    periods = (quarter, quarter.previous(), quarter.year_before())
    books = [
        accounts(records, start=q.start, end=q.end)
        if q == quarter or (first is not None and q.end >= first)
        else None
        for q in periods
    ]
    this = books[0]
    assert this is not None
    table = _all_lines([made.table for made in books if made is not None])
    reached = []
    for which, made in zip(WHICH, books, strict=True):
        values: dict[str, float] = {}
        if made is not None:
            values = dict(zip(made.table["line"], made.table["value"], strict=True))
        absent = (
            float("nan") if made is None else 0.0
        )  # no returns in a quarter are returns of nothing
        table[which] = [float(values.get(line, absent)) for line in table["line"]]
    extra = {PAID_SHARE: ["share"], DAYS: ["days"]}
    for q, made in zip(periods, books, strict=True):
        if made is None:
            extra[PAID_SHARE].append(float("nan"))  # type: ignore[arg-type]
            extra[DAYS].append(float("nan"))  # type: ignore[arg-type]
            reached.append(False)
            continue
        median, missed = _days(records.listings, min(q.end, records.as_of))
        extra[PAID_SHARE].append(_paid_share(records.listings, q.start, min(q.end, records.as_of)))  # type: ignore[arg-type]
        extra[DAYS].append(median)  # type: ignore[arg-type]
        reached.append(missed)
    rows = pd.DataFrame(
        [[line, *values] for line, values in extra.items()], columns=["line", "unit", *WHICH]
    )
    return QuarterLines(
        table=pd.concat([table, rows], ignore_index=True),
        accounts=(this, books[1], books[2]),
        names=(str(periods[0]), str(periods[1]), str(periods[2])),
        not_reached=(reached[0], reached[1], reached[2]),
        currency=records.settings.currency,
    )


def _all_lines(tables: list[pd.DataFrame]) -> pd.DataFrame:
    """line and unit of every line that one of the periods has, each after the line it follows there."""
    order: list[str] = []
    units: dict[str, str] = {}
    for made in tables:
        at = 0
        for line, unit in zip(made["line"], made["unit"], strict=True):
            if line not in units:
                units[line] = unit
                order.insert(at, line)
            at = order.index(line) + 1
    return pd.DataFrame({"line": order, "unit": [units[line] for line in order]})


def first_day(flips: pd.DataFrame) -> date | None:
    """The first day anything is known of on record."""
    days = flips[["bought_on", "listed_on", "sold_on", "withdrawn_on"]].min(axis=1).min()
    return None if pd.isna(days) else days.date()


def as_known_on(flips: pd.DataFrame, day: date) -> pd.DataFrame:
    """The listings begun by `day` as they stood then: later sales and withdrawals not known yet."""
    at = pd.Timestamp(day)
    made = flips[flips["listed_on"] <= at].copy()
    for column in ("sold_on", "withdrawn_on"):
        made[column] = made[column].where(made[column] <= at)
    made["sale_price"] = made["sale_price"].where(made["sold_on"].notna())
    until = made["sold_on"].fillna(made["withdrawn_on"]).fillna(at)
    made["days_listed"] = (until - made["listed_on"]).dt.days.astype("float64")
    made["status"] = "listed"
    made.loc[made["withdrawn_on"].notna(), "status"] = "withdrawn"
    made.loc[made["sold_on"].notna(), "status"] = "sold"
    return made


def _days(flips: pd.DataFrame, day: date) -> tuple[float, bool]:
    """Median days to sell of what was listed in the year up to `day`, and whether it was not reached."""
    dated = flips[~(flips["sale_price"].notna() & flips["sold_on"].isna())]
    known = as_known_on(dated, day)
    recent = known[known["listed_on"] > pd.Timestamp(day) - timedelta(days=365)]
    if recent.empty:
        return float("nan"), False
    median = days_to_sell(recent).median
    return (float("nan"), True) if median is None else (float(median), False)


def _paid_share(flips: pd.DataFrame, start: date, end: date) -> float:
    """Sale prices over last asking prices of what sold in the period, as a ratio of totals."""
    asked = flips["last_asking_price"].fillna(flips["asking_price"])
    here = flips["sold_on"].between(pd.Timestamp(start), pd.Timestamp(end))
    both = here & asked.gt(0) & flips["sale_price"].notna()
    if not both.any():
        return float("nan")
    return float(flips.loc[both, "sale_price"].sum() / asked[both].sum())
