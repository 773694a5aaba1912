"""MarkdownPlan: what to ask for one piece and when, as numbers, as plain text and as HTML."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.plan.offers import OfferAnswer
from fleetlib.records.piece import Piece
from fleetlib.shown.markup import (
    facts_html,
    fill,
    notes_html,
    table_html,
    text_notes,
    text_table,
    wrap,
)


@dataclass(frozen=True, eq=False, slots=True)
class MarkdownPlan:
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
    alternatives, sensitivity  see plan/comparisons.py; empty where not asked for
    """

    piece: Piece
    as_of: date
    currency: str
    table: pd.DataFrame = field(repr=False)
    weekly: pd.DataFrame = field(repr=False)
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
    offer: OfferAnswer | None = field(repr=False)
    least_cash_cost: float
    alternatives: pd.DataFrame = field(repr=False)
    sensitivity: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...] = field(repr=False, default=())

    def __str__(self) -> str:
        return plan_text(self)

    def _repr_html_(self) -> str:
        return plan_html(self)


def plan_text(plan: MarkdownPlan) -> str:
    """The plan as text."""
    verdict, notes = _verdict(plan)
    parts = [
        _heading(plan),
        *([text_notes(verdict)] if verdict else []),
        text_table(shown_steps(plan)),
    ]
    parts.append("\n".join(fill(f"{name}: {value}") for name, value in _facts(plan)))
    if len(plan.alternatives):
        parts.append(text_table(shown_alternatives(plan)))
    if len(plan.sensitivity):
        parts.append(text_table(shown_sensitivity(plan)))
    if notes:
        parts.append(text_notes(notes))
    return "\n\n".join(parts)


def plan_html(plan: MarkdownPlan) -> str:
    """The plan as one block of HTML."""
    verdict, notes = _verdict(plan)
    parts = [
        *([notes_html(verdict)] if verdict else []),
        table_html(shown_steps(plan), caption="What to ask, from which day"),
        facts_html(_facts(plan)),
    ]
    if len(plan.alternatives):
        parts.append(
            table_html(shown_alternatives(plan), caption="Beside what you might do instead")
        )
    if len(plan.sensitivity):
        parts.append(table_html(shown_sensitivity(plan), caption="If it were otherwise"))
    return wrap(*parts, notes_html(notes), heading=_heading(plan))


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
            "until": [f"{d:%Y-%m-%d}" for d in ends],
            "sold by then": [_share(v) for v in t["chance_sold"]],
            "8 times in 10": [
                f"{100 * a:.0f}-{100 * b:.0f}%"
                for a, b in zip(t["chance_low"], t["chance_high"], strict=True)
            ],
        }
    )


def shown_alternatives(plan: MarkdownPlan) -> pd.DataFrame:
    """The alternatives as printed."""
    t, c = plan.alternatives, plan.currency
    return pd.DataFrame(
        {
            "instead": t["what"],
            "asks": [
                _asks(a, b, c) for a, b in zip(t["first_price"], t["last_price"], strict=True)
            ],
            "sold": [_share(v) for v in t["chance_sold"]],
            "days": [f"{v:.0f}" for v in t["expected_days"]],
            "net": [format_money(v, c) for v in t["expected_net"]],
            "plan gains": ["" if k == 0 else format_money(v, c) for k, v in enumerate(t["gain"])],
        }
    )


def shown_sensitivity(plan: MarkdownPlan) -> pd.DataFrame:
    """The what-ifs as printed."""
    t, c = plan.sensitivity, plan.currency
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
    """A day as `Fri 2026-10-30`, whatever the machine's language."""
    names = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    return f"{names[day.weekday()]} {day:%Y-%m-%d}"


def _heading(plan: MarkdownPlan) -> str:
    return f"Markdown plan for {plan.piece.name}, as of {plan.as_of:%Y-%m-%d}"


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


def _share(value: float) -> str:
    return f"{100 * value:.0f}%"


def _asks(first: float, last: float, currency: str) -> str:
    if first != first:
        return "salvage now"
    if first == last:
        return format_money(first, currency)
    return f"{format_money(first, currency)} to {format_money(last, currency)}"
