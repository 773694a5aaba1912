"""What an hour earns, kind by kind, as dots with their ranges."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from fleetlib.money import format_money
from fleetlib.views import charts_style as style
from fleetlib.views.charts_style import Picture

if TYPE_CHECKING:
    import pandas as pd

    from fleetlib.advice.earnings import EarningsTable

_MOST_ROWS = 16
_LARGEST_DOT = 330.0  # in square points, for the group with the most hours


def draw_earnings(result: EarningsTable) -> Picture:
    """One row a group, the best first: the dot is the pay an hour, its area the hours, the bar the range.

    A filled dot has pieces enough to say something; a ring has too few. A bar that ends in an arrow goes on
    beyond the picture. The dashed line is the whole shop.
    """
    table = result.table.head(_MOST_ROWS).reset_index(drop=True)
    names = [str(n) for n in result.shown().iloc[:_MOST_ROWS, 0]]
    currency, n = result.currency, len(table)
    figure, (axes,) = style.new_picture(1.75 + 0.42 * n)
    style.bare_scale(axes)
    rows = np.arange(n)
    pay = table["per_hour"].to_numpy(float)
    low, high = table["low"].to_numpy(float), table["high"].to_numpy(float)
    left, right = _span(pay, low, high, result.shop.value)
    enough = [str(s) == "" for s in table["says"]]

    for row in rows:
        if not math.isfinite(pay[row]):
            continue
        ends = np.clip([low[row], high[row]], left, right)
        if np.isfinite(ends).all():
            axes.plot(ends, [row, row], color=style.BLUE, linewidth=2.2, zorder=2)
        for end, limit, shape in ((low[row], left, "<"), (high[row], right, ">")):
            if (end < left) if shape == "<" else (end > right):
                axes.plot([limit], [row], shape, color=style.BLUE, markersize=7, zorder=3)
    hours = table["hours"].to_numpy(float)
    sizes = _LARGEST_DOT * hours / max(float(np.nanmax(hours)), 1e-9)
    for filled, label in (
        (True, "pay an hour; the larger, the more hours"),
        (False, "too few to say"),
    ):
        these = np.array([e == filled for e in enough]) & np.isfinite(pay)
        if these.any():
            axes.scatter(
                pay[these],
                rows[these],
                s=np.maximum(sizes[these], 22),
                facecolor=style.BLUE if filled else "white",
                edgecolor="white" if filled else style.BLUE,
                linewidth=1.0 if filled else 1.6,
                zorder=4,
                label=label,
            )
    shop = result.shop.value
    axes.axvline(shop, color=style.RED, linestyle="--", linewidth=1.4, zorder=1)
    axes.annotate(
        f"whole shop {format_money(shop, currency)}",
        (shop, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(4, 3),
        textcoords="offset points",
        color=style.INK,
        fontsize=9,
        va="bottom",
    )
    axes.set_yticks(rows, [f"{name}" for name in names])
    axes.set_ylim(n - 0.4, -0.6)
    axes.set_xlim(left, right + 0.02 * (right - left))
    for row in rows:
        axes.annotate(
            format_money(pay[row], currency),
            (1.0, row),
            xycoords=("axes fraction", "data"),
            xytext=(40, 0),
            textcoords="offset points",
            fontsize=9.5,
            fontweight="bold",
            color=style.INK,
            va="center",
            ha="right",
        )
        axes.annotate(
            _beside(table.iloc[row]),
            (1.0, row),
            xycoords=("axes fraction", "data"),
            xytext=(48, 0),
            textcoords="offset points",
            fontsize=9,
            color=style.INK,
            va="center",
        )
    style.money_scale(axes.xaxis, currency)
    axes.set_xlabel(
        f"profit per hands-on hour, unsold pieces counted; bars: {result.level * 10:g} times out of 10"
    )
    style.finding(figure, _finding(result, names))
    style.key(figure, axes)
    figure.alt = _words(result, names)
    return figure


def _span(pay: np.ndarray, low: np.ndarray, high: np.ndarray, shop: float) -> tuple[float, float]:
    """The money shown: all dots, and the bars as far as they are not far longer than the dots spread."""
    dots = np.append(pay[np.isfinite(pay)], [shop, 0.0])
    reach = max(float(np.ptp(dots)), 1.0)
    ends = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)], dots])
    left = max(float(ends.min()), float(dots.min()) - 0.8 * reach)
    right = min(float(ends.max()), float(dots.max()) + 0.8 * reach)
    return left - 0.03 * reach, right + 0.03 * reach


def _beside(row: pd.Series) -> str:
    pieces, unsold = int(row["pieces"]), int(row["unsold"])
    text = f"{pieces} piece{'' if pieces == 1 else 's'}"
    return f"{text}, {unsold} unsold" if unsold else text


def _finding(result: EarningsTable, names: list[str]) -> str:
    table = result.table
    best = table.iloc[0]
    shop = format_money(result.shop.value, result.currency)
    if len(table) == 1:
        return f"An hour of your hands brings {shop}"
    if str(best["says"]) != "" or not math.isfinite(float(best["per_hour"])):
        return f"Too few pieces of each kind to rank them; the whole shop earns {shop} an hour"
    said = f"Most an hour: {names[0]}, {format_money(best['per_hour'], result.currency)} (whole shop {shop})"
    chance = float(best["chance_best"])
    if math.isfinite(chance) and chance < 0.9:
        said += f"; a {style.percent(chance)} chance that it is really the best"
    return said


def _words(result: EarningsTable, names: list[str]) -> str:
    currency = result.currency
    parts = [f"{_finding(result, names)}. Profit per hands-on hour, best first:"]
    for name, (_, row) in zip(names, result.table.iterrows(), strict=False):
        pay = format_money(row["per_hour"], currency)
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
