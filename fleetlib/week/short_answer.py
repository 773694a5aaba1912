"""The answer to "what do I ask?" in three lines: the ask and its dates, why, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said, percent
from fleetlib.care.caution_sheet import Caution
from fleetlib.plan.markdown_plan import MarkdownPlan
from fleetlib.price.estimate import PriceEstimate

# What can kill or maim in the shop or the buyer's home stands before what can cost money: our own order, no source.
_GRAVEST = ("tip over", "lead", "rag", "stripper", "glass", "dust", "recalled")
STANDING = 3


def what_to_ask(plan: MarkdownPlan) -> str:
    """The ask, the dated markdowns and the lowest offer today, as one would say them."""
    c, table = plan.currency, plan.table
    lowest = f"Lowest offer today {format_money(float(table['lowest_offer'].iloc[0]), c)}."
    if plan.take_salvage_now:
        return f"Let it go now for about {format_money(plan.salvage, c)}."
    first = format_money(float(table["asking_price"].iloc[0]), c)
    later = [
        f"to {format_money(float(ask), c)} on {_short_day(pd.Timestamp(day), plan)}"
        for day, ask in zip(
            table["from_date"].iloc[1:], table["asking_price"].iloc[1:], strict=True
        )
    ]
    down = f" Come down {', '.join(later)}." if later else " No markdown is planned."
    return f"Ask {first}.{down} {lowest}"


def why(plan: MarkdownPlan, estimate: PriceEstimate | None) -> str:
    """One line on where the ask comes from."""
    if estimate is None:
        return "It rests on your own price: there are too few sales on record to learn from."
    best = estimate.comparables
    nearest = f", your {best['piece'].iloc[0]} counting most" if len(best) else ""
    c = plan.currency
    return (
        f"Half of such pieces of yours sell above {format_money(estimate.mid, c)}{nearest}; "
        f"this plan is expected to leave {format_money(plan.expected_net, c)} in hand."
    )


def how_sure(plan: MarkdownPlan, estimate: PriceEstimate | None) -> str:
    """One line on how far to trust it: the range of the price and the chance sold with its own range."""
    said = []
    c = plan.currency
    if estimate is not None:
        said.append(
            f"{estimate.level * 10:g} times out of 10 it sells between {format_money(estimate.low, c)} "
            f"and {format_money(estimate.high, c)}"
        )
    if not plan.take_salvage_now:
        last = plan.table.iloc[-1]
        said.append(
            f"sold by {_short_day(pd.Timestamp(plan.ends_on), plan)}: {percent(last['chance_sold'])}, "
            f"perhaps {percent(last['chance_low'])} to {percent(last['chance_high'])}"
        )
    return "; ".join(said) + "." if said else ""


def still_unsold(plan: MarkdownPlan, estimate: PriceEstimate | None) -> str:
    """What a range above even the lowest offer leaves out of a piece long unsold: that it is; "" elsewhere."""
    listed = plan.piece.listed_on
    if estimate is None or listed is None or plan.ask_now is None:
        return ""
    days = (plan.as_of - listed).days
    if plan.lowest_now >= estimate.low or days <= 2 * estimate.days_listed:
        return ""
    return (
        f"That range is for a piece that sells as yours usually do; this one has stayed {days} days unsold, which its "
        "plan and its lowest offer count and the range does not."
    )


def standing_cautions(cautions: Sequence[Caution]) -> tuple[list[Caution], list[Caution]]:
    """The three gravest of a piece's cautions, and the others in their order; together all of them."""
    first: list[Caution] = []
    for word in _GRAVEST:
        met = [c for c in cautions if c not in first and word in f"{c.title} {c.line}".casefold()]
        first += met[:1]
    first = [*first, *(c for c in cautions if c not in first)][:STANDING]
    return first, [c for c in cautions if c not in first]


def _short_day(day: pd.Timestamp, plan: MarkdownPlan) -> str:
    """`11 Dec`, with the year where it is not the year of the plan."""
    return day_said(day, year=day.year != plan.as_of.year)
