"""What an hour earns, kind by kind, as dots with their ranges."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from fleetlib.base.money import format_money
from fleetlib.base.said import count
from fleetlib.pay.groups import UNKNOWN
from fleetlib.shown import chart_rows as rows
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    import pandas as pd

    from fleetlib.pay.earnings import EarningsTable

_MOST_ROWS = 16


def draw_earnings(result: EarningsTable) -> Picture:
    """One row a group, the best first: the dot is the steadied pay an hour, which sets the order, its area the hours,
    the bar the range; a short stroke is the pay before it was steadied. What is not recorded stands apart below.

    A filled dot has pieces enough to say something; a ring has too few. A bar that ends in an arrow goes on
    beyond the picture. The dashed line is the whole shop.
    """
    table = result.table.head(_MOST_ROWS).reset_index(drop=True)
    names = [str(n) for n in result.shown().iloc[:_MOST_ROWS, 0]]
    currency, n = result.currency, len(table)
    figure, (axes,) = style.new_picture(1.75 + 0.42 * n)
    style.bare_scale(axes)
    pay, plain = table["shrunk"].to_numpy(float), table["per_hour"].to_numpy(float)
    low, high = table["low"].to_numpy(float), table["high"].to_numpy(float)
    enough = np.array([str(s) == "" for s in table["says"]])
    ends = rows.span(np.append(pay, plain), low, high, result.shop.value, 0.0)
    rows.draw_ranges(axes, low, high, ends=ends)
    axes.plot(
        plain,
        np.arange(n),
        "|",
        color=style.INK,
        markersize=11,
        markeredgewidth=1.6,
        zorder=4,
        label="before steadying",
    )
    apart = [j for j, name in enumerate(names) if UNKNOWN in name.split(", ")]
    if apart and apart[0] > 0 and apart == list(range(apart[0], n)):
        axes.axhline(apart[0] - 0.5, color=style.SOFT, linewidth=1.0, linestyle=":", zorder=1)
    rows.draw_dots(
        axes,
        pay,
        size=table["hours"].to_numpy(float),
        filled=enough,
        says=("steadied pay an hour; the larger, the more hours", "too few to say"),
    )
    rows.mark_line(
        axes, result.shop.value, f"whole shop {format_money(result.shop.value, currency)}"
    )
    rows.name_rows(
        axes,
        names,
        figures=[format_money(v, currency) for v in pay],
        beside=[_beside(row) for _, row in table.iterrows()],
    )
    axes.set_xlim(ends)
    style.money_scale(axes.xaxis, currency)
    style.across(
        axes,
        f"profit per hands-on hour, unsold pieces counted; bars: {result.level * 10:g} times out of 10, before "
        "steadying",
    )
    style.finding(figure, _finding(result, names))
    style.key(figure, axes)
    figure.alt = _words(result, names)
    return figure


def _beside(row: pd.Series) -> str:
    pieces, unsold = int(row["pieces"]), int(row["unsold"])
    text = count(pieces, "piece")
    return f"{text}, {unsold} unsold" if unsold else text


def _finding(result: EarningsTable, names: list[str]) -> str:
    table = result.table
    best = table.iloc[0]
    shop = format_money(result.shop.value, result.currency)
    if len(table) == 1:
        return f"An hour of your hands brings {shop}"
    if str(best["says"]) != "" or not math.isfinite(float(best["per_hour"])):
        return f"Too few pieces of each kind to rank them; the whole shop earns {shop} an hour"
    said = f"Most an hour: {names[0]}, {format_money(best['shrunk'], result.currency)} steadied (whole shop {shop})"
    chance = float(best["chance_best"])
    if math.isfinite(chance) and chance < 0.9:
        said += f"; a {style.percent(chance)} chance that it is really the best"
    return said


def _words(result: EarningsTable, names: list[str]) -> str:
    currency = result.currency
    parts = [f"{_finding(result, names)}. Profit per hands-on hour, steadied, best first:"]
    for name, (_, row) in zip(names, result.table.iterrows(), strict=False):
        pay = f"{format_money(row['shrunk'], currency)} ({format_money(row['per_hour'], currency)} before steadying)"
        if bool(row["unbounded"]):
            between = "no limits can be given"
        elif math.isfinite(float(row["low"])):
            between = (
                f"{result.level * 10:g} times out of 10 between {format_money(row['low'], currency)} and "
                f"{format_money(row['high'], currency)}"
            )
        else:
            between = str(row["says"]) or "no range"
        parts.append(
            f"{name} {pay}, {between}, {int(row['pieces'])} pieces, {int(row['unsold'])} of them unsold, "
            f"{float(row['hours']):.0f} hours;"
        )
    more = len(result.table) - len(names)
    if more > 0:
        parts.append(f"and {more} more in the table;")
    return " ".join(parts).rstrip(";") + "."


DRAWS = {"EarningsTable": draw_earnings}
