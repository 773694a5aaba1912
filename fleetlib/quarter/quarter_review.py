"""A quarter looked back on: what it holds, as plain text for a terminal and as HTML for a notebook."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.quarters import Quarter
from fleetlib.books.accounts import Accounts
from fleetlib.books.inventory import StockAccount
from fleetlib.books.tax_reserve import Reserve
from fleetlib.pay.earnings import EarningsTable
from fleetlib.quarter import ageing
from fleetlib.quarter import types as quarter_types
from fleetlib.quarter.hindsight import Hindsight
from fleetlib.quarter.lines import QuarterLines
from fleetlib.quarter.next_steps import NextStep
from fleetlib.shown.markup import fill, notes_html, table_html, text_notes, text_table, wrap


@dataclass(frozen=True, eq=False, slots=True)
class QuarterReview:
    """One quarter looked back on, as of `as_of`; `running` when it is not over yet.

    table: line, unit, this, previous, year_before. `pieces(line)` are the pieces behind a line. books: the
    quarter's accounts with the stock account. ageing: today's listed pieces (quarter/ageing.py). by_type:
    what sold earned per hour (type, sold, takings, profit, hours, per_hour, says); year_pay: the same for
    all that came to market in the year up to its end, unsold pieces counted (None where nothing did). drift:
    prices against earlier sales (type, sales, drift, low, high, says). past: saved advice graded. reserve: the planning
    figure for taxes. next_steps: what to do, worth most first. `by`: the column by_type, year_pay and drift are
    grouped by. Money in `currency`.
    """

    quarter: Quarter
    as_of: date
    running: bool
    currency: str
    lines: QuarterLines = field(repr=False)
    ageing: pd.DataFrame = field(repr=False)
    by_type: pd.DataFrame = field(repr=False)
    year_pay: EarningsTable | None = field(repr=False)
    drift: pd.DataFrame = field(repr=False)
    past: Hindsight = field(repr=False)
    reserve: Reserve = field(repr=False)
    next_steps: tuple[NextStep, ...] = field(repr=False)
    notes: tuple[str, ...] = ()
    by: str = "furniture_type"

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

    def __str__(self) -> str:
        return review_text(self)

    def _repr_html_(self) -> str:
        return review_html(self)


def title(review: QuarterReview) -> str:
    """`2026-Q3: 1 July to 30 September 2026`, and whether it is still running."""
    q = review.quarter
    still = f", still running on {review.as_of}" if review.running else ""
    return f"{q}: {q.start} to {q.end}{still}"


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


def review_text(review: QuarterReview) -> str:
    """The review in at most 80 columns."""
    c, stock = review.currency, review.books.stock
    parts = [title(review), text_notes(review.notes), text_table(review.lines.shown())]
    parts += ["Worth doing next", text_notes(steps_text(review)) or _NO_STEPS]
    parts += ["Stock at cost", text_table(stock_shown(stock, c))]
    parts += [fill(stock_sentence(stock, c))]
    if len(stock.explained):
        parts.append(text_table(explained_shown(stock, c)))
    if len(review.ageing):
        parts += [f"What sits on {review.as_of}", text_table(ageing.shown(review.ageing, c))]
    if len(review.by_type):
        parts += [
            "What earned most per hour, of what sold",
            text_table(quarter_types.pay_shown(review.by_type, c, heading=review.heading)),
        ]
    if len(review.drift):
        parts += [
            "Sale prices against earlier sales",
            text_table(quarter_types.drift_shown(review.drift, heading=review.heading)),
        ]
    parts += ["What the plans said, and what happened", str(review.past)]
    parts += ["Money to keep aside", str(review.reserve)]
    return "\n\n".join(p for p in parts if p)


def review_html(review: QuarterReview) -> str:
    """The review as one block of HTML."""
    c, stock = review.currency, review.books.stock
    parts = [notes_html(review.notes), table_html(review.lines.shown(), caption=title(review))]
    parts += ["<h4>Worth doing next</h4>", notes_html(steps_text(review) or [_NO_STEPS])]
    parts += [
        table_html(stock_shown(stock, c), caption="Stock at cost"),
        notes_html([stock_sentence(stock, c)]),
    ]
    if len(stock.explained):
        parts.append(table_html(explained_shown(stock, c)))
    if len(review.ageing):
        parts.append(
            table_html(ageing.shown(review.ageing, c), caption=f"What sits on {review.as_of}")
        )
    if len(review.by_type):
        parts.append(
            table_html(
                quarter_types.pay_shown(review.by_type, c, heading=review.heading),
                caption="What earned most per hour, of what sold",
            )
        )
    if review.year_pay is not None:
        parts.append(table_html(review.year_pay.shown(), caption=YEAR_PAY))
    if len(review.drift):
        parts.append(
            table_html(
                quarter_types.drift_shown(review.drift, heading=review.heading),
                caption="Sale prices against earlier sales",
            )
        )
    head = f"Review of {review.quarter}"
    return wrap(*parts, heading=head) + review.past._repr_html_() + review.reserve._repr_html_()


YEAR_PAY = "The same over a year: all that came to market, unsold pieces counted"
_NO_STEPS = "Nothing on record points to anything yet."
