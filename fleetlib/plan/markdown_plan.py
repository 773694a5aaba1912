"""MarkdownPlan: what to ask for one piece and when, as numbers, as plain text and as HTML."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said, percent
from fleetlib.plan.offers import OfferAnswer
from fleetlib.records.piece import Piece
from fleetlib.shown.sheet import Facts, Notes, Said, Sheet, Shown, Table


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class MarkdownPlan(Shown):
    """What to ask for one piece, from which day, and which offer to take. Money in `currency`.

    table         one row per asking price: from_date, asking_price, chance_sold (by the end of that row),
                  chance_low, chance_high (8 times out of 10 between these), lowest_offer (at its start, rounded)
    weekly        the same week by week: week, from_date, by_date, asking_price, chance_sold (by by_date),
                  chance_low, chance_high, lowest_offer
    floor         the least asking price: (max(salvage, least_cash) + selling cost)/(1 - fee share)
    expected_net  money in hand: price paid less fees, selling cost and holding cost, or the salvage value. What
                  the piece has cost so far is not in it
    expected_days days on the market from as_of until it sells or goes for salvage
    salvage       what it brings if it does not sell; ends_on is the day it is let go for that
    ask_now       the ask in force before this plan, None for a piece not listed yet; markdowns_made how many
                  times it has come down already
    lowest_now    the lowest offer worth taking today, not rounded
    offer         the answer to an offer on the table, or None
    least_cash_cost  what the owner's least cash costs in expected net
    standing      how the ask stands to the best of its kind ever asked and sold, and why it is above that: one line
    alternatives, what_ifs  see plan/comparisons.py; empty where not asked for. `otherwise` works the second out
                  when it is first looked at: it takes longer than the plan itself
    """

    piece: Piece
    as_of: date
    currency: str
    table: pd.DataFrame
    weekly: pd.DataFrame
    floor: float
    expected_net: float
    expected_days: float
    salvage: float
    ends_on: date
    ask_now: float | None
    markdowns_made: int
    lowest_now: float
    usual_price: float
    first_price_at_cap: bool
    take_salvage_now: bool
    offer: OfferAnswer | None
    least_cash_cost: float
    alternatives: pd.DataFrame
    otherwise: Callable[[], pd.DataFrame]
    notes: tuple[str, ...] = ()
    standing: str = ""

    @property
    def what_ifs(self) -> pd.DataFrame:
        """What the plan would be if something it rests on were otherwise; see plan/comparisons.py."""
        return self.otherwise()

    def sheet(self) -> Sheet:
        """The answer to an offer first, then the dated asks, what they bring, and what stands beside them."""
        verdict, notes = _verdict(self)
        return Sheet(
            f"Markdown plan for {self.piece.name}, as of {day_said(self.as_of)}",
            (
                Notes(verdict),
                Table(shown_steps(self), "What to ask, from which day"),
                Said((self.standing,) if self.standing else ()),
                Facts(tuple(_facts(self))),
                Table(shown_alternatives(self), "Beside what you might do instead"),
                Table(shown_what_ifs(self), "If it were otherwise"),
                Notes(notes),
            ),
        )


def _verdict(plan: MarkdownPlan) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The answer to an offer, which comes first, and the other notes."""
    if plan.offer is None:
        return (), plan.notes
    return plan.notes[:1], plan.notes[1:]


def shown_steps(plan: MarkdownPlan) -> pd.DataFrame:
    """The dated asking prices as printed."""
    t = plan.table
    ends = [*t["from_date"].iloc[1:], pd.Timestamp(plan.ends_on)]
    money = [
        [format_money(v, plan.currency) for v in t[c]] for c in ("asking_price", "lowest_offer")
    ]
    return pd.DataFrame(
        {
            "from": [day_text(d) for d in t["from_date"]],
            "ask": money[0],
            "lowest offer": [f"about {m}" for m in money[1]],
            "until": [day_said(d) for d in ends],
            "sold by then": [percent(v) for v in t["chance_sold"]],
            "8 times in 10": [
                f"{100 * a:.0f}-{100 * b:.0f}%"
                for a, b in zip(t["chance_low"], t["chance_high"], strict=True)
            ],
        }
    )


def shown_alternatives(plan: MarkdownPlan) -> pd.DataFrame:
    """The alternatives as printed; empty where they were not asked for."""
    if plan.alternatives.empty:
        return plan.alternatives
    t, c = plan.alternatives, plan.currency
    return pd.DataFrame(
        {
            "instead": t["what"],
            "asks": [
                _asks(a, b, c) for a, b in zip(t["first_price"], t["last_price"], strict=True)
            ],
            "sold": [percent(v) for v in t["chance_sold"]],
            "days": [f"{v:.0f}" for v in t["expected_days"]],
            "net": [format_money(v, c) for v in t["expected_net"]],
            "plan gains": ["" if k == 0 else format_money(v, c) for k, v in enumerate(t["gain"])],
            "better in": ["" if k == 0 else percent(v) for k, v in enumerate(t["better_in"])],
        }
    )


def shown_what_ifs(plan: MarkdownPlan) -> pd.DataFrame:
    """The what-ifs as printed; empty where they were not asked for."""
    t, c = plan.what_ifs, plan.currency
    if t.empty:
        return t
    return pd.DataFrame(
        {
            "if": t["what_if"],
            "asks": [
                _asks(a, b, c) for a, b in zip(t["first_price"], t["last_price"], strict=True)
            ],
            "days": [f"{v:.0f}" for v in t["expected_days"]],
            "net": [format_money(v, c) for v in t["expected_net"]],
            "this plan loses": [format_money(v, c) for v in t["cost_of_this_plan"]],
        }
    )


def day_text(day: pd.Timestamp) -> str:
    """A day as `Fri 30 Oct 2026`."""
    return day_said(day, weekday=True)


def _facts(plan: MarkdownPlan) -> list[tuple[str, str]]:
    c = plan.currency
    facts = [
        ("Expected in hand", f"{format_money(plan.expected_net, c)} after fees and holding cost"),
        ("Expected to take", f"{plan.expected_days:.0f} days from today"),
        ("Floor", f"never ask less than {format_money(plan.floor, c)}"),
    ]
    if not plan.take_salvage_now:
        facts.append(
            (
                "If still unsold",
                f"on {day_text(pd.Timestamp(plan.ends_on))} let it go for salvage, about "
                f"{format_money(plan.salvage, c)}",
            )
        )
    return facts


def _asks(first: float, last: float, currency: str) -> str:
    if first != first:
        return "salvage now"
    if first == last:
        return format_money(first, currency)
    return f"{format_money(first, currency)} to {format_money(last, currency)}"
