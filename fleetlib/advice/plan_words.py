"""A plan as plain text for a terminal and as HTML for a notebook."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from fleetlib.markup import facts_html, notes_html, table_html, text_notes, text_table, wrap
from fleetlib.money import format_money

if TYPE_CHECKING:
    from fleetlib.advice.markdowns import MarkdownPlan


def plan_text(plan: MarkdownPlan) -> str:
    """The plan in at most 80 columns."""
    parts = [_heading(plan), text_table(shown_steps(plan))]
    parts.append("\n".join(f"{name}: {value}" for name, value in _facts(plan)))
    if len(plan.alternatives):
        parts.append(text_table(shown_alternatives(plan)))
    if len(plan.sensitivity):
        parts.append(text_table(shown_sensitivity(plan)))
    if plan.notes:
        parts.append(text_notes(plan.notes))
    return "\n\n".join(parts)


def plan_html(plan: MarkdownPlan) -> str:
    """The plan as one block of HTML."""
    parts = [
        table_html(shown_steps(plan), caption="What to ask, from which day"),
        facts_html(_facts(plan)),
    ]
    if len(plan.alternatives):
        parts.append(
            table_html(shown_alternatives(plan), caption="Beside what you might do instead")
        )
    if len(plan.sensitivity):
        parts.append(table_html(shown_sensitivity(plan), caption="If it were otherwise"))
    return wrap(*parts, notes_html(plan.notes), heading=_heading(plan))


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
            "take from": [f"about {m}" for m in money[1]],
            "until": [f"{d:%Y-%m-%d}" for d in ends],
            "sold by then": [_share(v) for v in t["chance_sold"]],
            "8 times in 10": [
                f"{100 * a:.0f}-{100 * b:.0f} %"
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
    return f"{100 * value:.0f} %"


def _asks(first: float, last: float, currency: str) -> str:
    if first != first:
        return "salvage now"
    if first == last:
        return format_money(first, currency)
    return f"{format_money(first, currency)} to {format_money(last, currency)}"
