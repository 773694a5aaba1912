"""What to work on next, as dots with their ranges."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from fleetlib.base.money import format_money
from fleetlib.shown import chart_rows as rows
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from fleetlib.pay.work_order import WorkOrder

_MOST_ROWS = 16


def draw_work_order(result: WorkOrder) -> Picture:
    """One row an unfinished piece, the best next first: what each hour still to go brings, with its range.

    With a full room it is what its place brings a week, which then sets the order.
    """
    table = result.table.head(_MOST_ROWS).reset_index(drop=True)
    figure, (axes,) = style.new_picture(1.75 + 0.42 * max(len(table), 1))
    style.bare_scale(axes)
    money = _money(result.currency)
    pay = table[result.rate].to_numpy(float)
    left = table["days_left" if result.full else "hours_left"].to_numpy(float)
    if np.isfinite(pay).any():
        low, high = table["low"].to_numpy(float), table["high"].to_numpy(float)
        ends = rows.span(pay, low, high, *([] if result.full else [result.target]), 0.0)
        rows.draw_ranges(axes, low, high, ends=ends)
        rows.draw_dots(
            axes,
            pay,
            size=np.nan_to_num(left),
            filled=np.ones(len(pay), bool),
            says=(
                "its place brings a week; the larger, the longer it stays"
                if result.full
                else "an hour still to go brings; the larger, the more hours left",
                "",
            ),
        )
        axes.set_xlim(ends)
        if not result.full:
            rows.mark_line(axes, result.target, f"your target {money(result.target)}")
        style.money_scale(axes.xaxis, result.currency)
        style.key(figure, axes)
    rows.name_rows(
        axes,
        [f"{row['piece']}, {_plain(row['furniture_type'])}" for _, row in table.iterrows()],
        figures=[money(v) for v in pay],
        beside=[
            (f"{v:.0f} days" if result.full else f"{v:.1f} h left") if math.isfinite(v) else ""
            for v in left
        ],
    )
    each = "week its place is taken" if result.full else "hour still to go"
    style.across(axes, f"for each {each}; bars: 8 times out of 10")
    style.finding(figure, _finding_of_work(result))
    figure.alt = _words_of_work(result)
    return figure


def _finding_of_work(result: WorkOrder) -> str:
    if result.table.empty:
        return "No unfinished work is on record"
    first = result.table.iloc[0]
    said = f"Next: {first['piece']}, {_plain(first['furniture_type'])}"
    if not math.isfinite(float(first[result.rate])):
        return said
    money = _money(result.currency)
    each = "the room is full and its place" if result.full else "each hour still to go"
    a_week = " a week" if result.full else ""
    return f"{said}; {each} brings about {money(first[result.rate])}{a_week}"


def _words_of_work(result: WorkOrder) -> str:
    money = _money(result.currency)
    each = "each place brings a week" if result.full else "each hour still to go brings"
    parts = [f"{_finding_of_work(result)}. What {each}, best first:"]
    for _, row in result.table.head(_MOST_ROWS).iterrows():
        text = f"{row['piece']}, {_plain(row['furniture_type'])}, {money(row[result.rate])}"
        if math.isfinite(float(row["low"])):
            text += f" (8 times out of 10 between {money(row['low'])} and {money(row['high'])})"
        if math.isfinite(float(row["hours_left"])):
            text += f", {float(row['hours_left']):.1f} hours left"
        parts.append(f"{text};")
    return " ".join(parts).rstrip(";") + "."


def _plain(word: object) -> str:
    return str(word).replace("_", " ")


def _money(currency: str) -> Callable[[float], str]:
    return partial(format_money, currency=currency)


DRAWS = {"WorkOrder": draw_work_order}
