"""What the one-page advice sheet shows, from an Advice."""

from __future__ import annotations

from typing import Any

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import change, day_said
from fleetlib.plan.comparisons import PATIENT, STEADY
from fleetlib.plan.markdown_plan import day_text, shown_alternatives, shown_steps
from fleetlib.shown.html_blocks import as_sentence, table_html
from fleetlib.week.advice import Advice, title
from fleetlib.week.short_answer import still_unsold
from fleetlib.week.tag import size_text

_MOST_REASONS, _MOST_COMPARABLES, _MOST_NOTES = 6, 4, 6


def advice_parts(advice: Advice) -> dict[str, Any]:
    """The template's values; tables are HTML already escaped."""
    from markupsafe import Markup

    plan, estimate, c = advice.plan, advice.estimate, advice.currency
    ask = float(plan.table["asking_price"].iloc[0])
    answers = [("Ask now", format_money(ask, c))]
    told = []
    if estimate is not None:
        answers += [
            (
                f"{estimate.level * 10:g} times out of 10 it sells between",
                _between(estimate.low, estimate.high, c),
            ),
            ("Half sell above", format_money(estimate.mid, c)),
        ]
    answers += [
        ("Take from today", f"about {format_money(float(plan.table['lowest_offer'].iloc[0]), c)}"),
        ("Expected to take", f"{plan.expected_days:.0f} days"),
        ("Expected in hand", format_money(plan.expected_net, c)),
    ]
    if advice.hourly is not None:
        told.append(advice.hourly.sentence(c))
    if estimate is not None and estimate.idea:
        told.append(estimate.idea)
    if stayed := still_unsold(plan, estimate):
        told.append(stayed)
    steps = shown_steps(plan).drop(columns="until").rename(columns={"8 times in 10": "8 in 10"})
    notes = [*advice.notes, *plan.notes, *(estimate.notes if estimate is not None else ())]
    return {
        "title": title(advice.piece),
        "under": f"As of {day_said(plan.as_of)}. {_size(advice)}".strip(),
        "kind": "advice",
        "ask": advice.short[0],
        "outside": advice.outside,
        "answers": answers,
        "told": told,
        "steps": Markup(table_html(steps)),
        "plan_lines": _plan_lines(advice),
        "reasons": Markup(_reasons(advice)) if estimate is not None else "",
        "start": ""
        if estimate is None
        else f"Starting from your average piece at {format_money(estimate.average_price, c)}.",
        "comparables": Markup(_comparables(advice)) if estimate is not None else "",
        "notes": [as_sentence(n) for n in dict.fromkeys(notes)][:_MOST_NOTES],
        "cautions": advice.cautions,
    }


def _plan_lines(advice: Advice) -> list[str]:
    plan, c = advice.plan, advice.currency
    lines = [f"Floor: never ask less than {format_money(plan.floor, c)}."]
    if not plan.take_salvage_now:
        lines.append(
            f"If still unsold on {day_text(pd.Timestamp(plan.ends_on))}, let it go for about "
            f"{format_money(plan.salvage, c)}."
        )
    if len(plan.alternatives) > 1:
        others = shown_alternatives(plan).iloc[1:]
        own_way = others["instead"].str.startswith((STEADY, PATIENT))
        others = others[~own_way]  # of a few dollars: a page has no room for them
        gains = "; ".join(
            f"{w}: {n}" for w, n in zip(others["instead"], others["net"], strict=True)
        )
        lines.append(f"Expected in hand otherwise: {gains}.")
    return lines


def _reasons(advice: Advice) -> str:
    assert advice.estimate is not None
    rows = advice.estimate.reasons
    top = rows.reindex(rows["effect"].abs().sort_values(ascending=False, kind="stable").index)
    top = top.head(_MOST_REASONS)
    between = [
        "" if low != low else f"{change(low, '')} to {change(high)}"
        for low, high in zip(top["low"], top["high"], strict=True)
    ]
    shown = pd.DataFrame(
        {
            "feature": top["feature"],
            "this piece": top["this_piece"],
            "effect": [change(v) for v in top["effect"]],
            "between": between,
        }
    )
    return table_html(shown)


def _comparables(advice: Advice) -> str:
    assert advice.estimate is not None
    rows, c = advice.estimate.comparables.head(_MOST_COMPARABLES), advice.currency
    shown = pd.DataFrame(
        {
            "piece": rows["piece"],
            "sold on": rows["sold_on"],
            "sold for": [format_money(v, c) for v in rows["sale_price"]],
            "differs": rows["differs"],
            "as this piece": [format_money(v, c) for v in rows["adjusted_price"]],
        }
    )
    return table_html(shown, stacks=True)


def _between(low: float, high: float, currency: str) -> str:
    return f"{format_money(low, currency)} and {format_money(high, currency)}"


def _size(advice: Advice) -> str:
    size = size_text(advice.piece, unit=advice.settings.length_unit)
    return f"{size[:1].upper()}{size[1:]}." if size else ""
