"""A quarter looked back on: what it holds, as plain text for a terminal and as HTML for a notebook."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.quarters import Quarter
from fleetlib.base.said import day_said
from fleetlib.books.accounts import Accounts
from fleetlib.books.inventory import StockAccount
from fleetlib.books.tax_reserve import Reserve
from fleetlib.pay.earnings import EarningsTable
from fleetlib.quarter import ageing
from fleetlib.quarter import types as quarter_types
from fleetlib.quarter.hindsight import Hindsight
from fleetlib.quarter.lines import QuarterLines
from fleetlib.quarter.next_steps import NextStep
from fleetlib.shown.sheet import Notes, Said, Sheet, Shown, Table
from fleetlib.trust.borrowing import quarter_sentence


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class QuarterReview(Shown):
    """One quarter looked back on, as of `as_of`; `running` when it is not over yet.

    table: line, unit, this, previous, year_before. `pieces(line)` are the pieces behind a line. books: the
    quarter's accounts with the stock account. ageing: today's listed pieces (quarter/ageing.py). by_type:
    what sold earned per hour (type, sold, takings, profit, hours, per_hour, says); year_pay: the same for
    all that came to market in the year up to its end, unsold pieces counted (None where nothing did). drift:
    prices against earlier sales (type, sales, drift, low, high, says). ways: while sales are few, how their
    prices did with and without borrowing (`trust/borrowing.py`). past: saved advice graded. reserve: the planning
    figure for taxes. next_steps: what to do, worth most first. `by`: the column by_type, year_pay and drift are
    grouped by. `long_past`: quarters have ended since, so today's listed pieces are none of its and `ageing` is empty.
    Money in `currency`.
    """

    quarter: Quarter
    as_of: date
    running: bool
    currency: str
    lines: QuarterLines
    ageing: pd.DataFrame
    by_type: pd.DataFrame
    year_pay: EarningsTable | None
    drift: pd.DataFrame
    ways: pd.DataFrame
    past: Hindsight
    reserve: Reserve
    next_steps: tuple[NextStep, ...]
    notes: tuple[str, ...] = ()
    by: str = "furniture_type"
    long_past: bool = False

    @property
    def heading(self) -> str:
        """The heading of what the pay and the prices are grouped by."""
        return self.by.replace("furniture_type", "type").replace("_", " ")

    @property
    def table(self) -> pd.DataFrame:
        """The lines of the quarter beside the previous one and the same one last year."""
        return self.lines.table

    @property
    def books(self) -> Accounts:
        """The quarter's accounts."""
        return self.lines.accounts[0]

    def pieces(self, line: str, which: str = "this") -> pd.DataFrame:
        """The pieces behind one line, of "this", the "previous" or the "year_before" quarter."""
        return self.lines.pieces(line, which)

    def sheet(self) -> Sheet:
        """The quarter beside others, what to do next, the stock, what sits, what paid, and the advice graded."""
        c, stock = self.currency, self.books.stock
        year = [] if self.year_pay is None else [Table(self.year_pay.shown(), YEAR_PAY)]
        return Sheet(
            title(self),
            (
                Notes(self.notes),
                Table(self.lines.shown()),
                Notes(tuple(steps_text(self)) or (_NO_STEPS,), "Worth doing next"),
                Table(stock_shown(stock, c), "Stock at cost"),
                Said((stock_sentence(stock, c),)),
                Table(explained_shown(stock, c)),
                Table(ageing.shown(self.ageing, c), f"What sits on {day_said(self.as_of)}"),
                Table(
                    quarter_types.pay_shown(self.by_type, c, heading=self.heading),
                    "What earned most per hour, of what sold",
                ),
                *year,
                Table(
                    quarter_types.drift_shown(self.drift, heading=self.heading),
                    "Sale prices against earlier sales",
                ),
                Said(quarter_sentence(self.ways)),
                self.past.sheet(),
                Notes(self.reserve.sentences(), "Money to keep aside"),
            ),
        )


def title(review: QuarterReview) -> str:
    """`2026-Q3: 1 July to 30 September 2026`, and whether it is still running."""
    q = review.quarter
    still = f", still running on {day_said(review.as_of)}" if review.running else ""
    return f"{q}: {day_said(q.start)} to {day_said(q.end)}{still}"


def steps_text(review: QuarterReview) -> list[str]:
    """What to do next, one sentence each."""
    return [str(step) for step in review.next_steps]


def stock_shown(stock: StockAccount, currency: str) -> pd.DataFrame:
    """The stock account as printed."""
    return pd.DataFrame(
        {
            "line": stock.table["line"],
            "at cost": [format_money(v, currency, cents=True) for v in stock.table["amount"]],
            "pieces": stock.table["pieces"],
        }
    )


def stock_sentence(stock: StockAccount, currency: str) -> str:
    """Whether the stock adds up, in words."""
    rule = "Opening + bought + materials + other costs - closing - withdrawn"
    if stock.reconciled:
        return f"{rule} is the cost of the pieces sold, to the cent."
    off = format_money(float(stock.explained["amount"].sum()), currency, cents=True)
    return f"{rule} differs from the cost of the pieces sold by {off}; the pieces it comes from are listed."


def explained_shown(stock: StockAccount, currency: str) -> pd.DataFrame:
    """Why the two sides of the stock account differ, as printed."""
    return pd.DataFrame(
        {
            "piece": stock.explained["piece"],
            "why": stock.explained["why"],
            "amount": [format_money(v, currency, cents=True) for v in stock.explained["amount"]],
        }
    )


YEAR_PAY = "The same over a year: all that came to market, unsold pieces counted"
_NO_STEPS = "Nothing on record points to anything yet."
