"""How far to trust the prices: what each past sale was estimated at, against what it brought."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from fleetlib.trust.accuracy import AccuracyStudy

_ENOUGH = (
    15  # sales priced from what came before; with fewer, those priced from all the others are shown
)


def draw_accuracy(result: AccuracyStudy) -> Picture:
    """Each past sale: its estimate along the bottom, its 80% range as a bar, the price it really brought.

    A dot fell inside its range, a cross outside; on the diagonal the estimate was right to the dollar.
    """
    import seaborn as sns

    sales = _judged(result)
    inside = sales["sale_price"].between(sales["low_80"], sales["high_80"])
    points = sales.assign(where=np.where(inside, "inside its range", "outside"))
    figure, (axes,) = style.new_picture(5.2)
    axes.vlines(
        points["estimate"],
        points["low_80"],
        points["high_80"],
        color=style.SKY,
        alpha=0.45,
        linewidth=3.2,
        zorder=1,
        label="80% range",
    )
    reach = points[["low_80", "high_80", "sale_price", "estimate"]].to_numpy(float)
    low, high = 0.93 * float(reach.min()), 1.07 * float(reach.max())
    axes.plot([low, high], [low, high], color=style.SOFT, linestyle="--", linewidth=1.1, zorder=2)
    sns.scatterplot(
        data=points,
        x="estimate",
        y="sale_price",
        hue="where",
        style="where",
        hue_order=["inside its range", "outside"],
        palette={"inside its range": style.BLUE, "outside": style.RED},
        markers={"inside its range": "o", "outside": "X"},
        size="where",
        sizes={"inside its range": 36, "outside": 62},
        zorder=3,
        ax=axes,
    )
    for axis, set_scale in ((axes.xaxis, axes.set_xscale), (axes.yaxis, axes.set_yscale)):
        set_scale("log")
        style.log_money_scale(axis, result.currency)
    own = points["estimate"].to_numpy(float)
    axes.set_xlim(0.9 * own.min(), 1.12 * own.max())
    axes.set_ylim(low, high)
    style.across(axes, "estimate: the mid price, without knowing the sale")
    axes.set_ylabel("really sold for")
    style.finding(figure, _finding_of_accuracy(result))
    style.key(figure, axes)
    off = points[~inside]
    farthest = off.assign(ratio=off["sale_price"] / off["estimate"]).sort_values("ratio")
    ends = [farthest.iloc[k] for k in ((0, -1) if len(farthest) > 1 else range(len(farthest)))]
    money = partial(format_money, currency=result.currency)
    figure.alt = (
        f"{_finding_of_accuracy(result)}. Sale price against estimate for {len(points)} sales, each with its 80% "
        f"range as a bar; estimates run from {money(own.min())} to {money(own.max())}, sale prices from "
        f"{money(points['sale_price'].min())} to {money(points['sale_price'].max())}; {len(off)} fell outside"
        + "".join(
            f"; {row['piece']} was estimated at {money(row['estimate'])} and sold for {money(row['sale_price'])}"
            for row in ends
        )
        + "."
    )
    return figure


def _judged(result: AccuracyStudy) -> pd.DataFrame:
    """Sales priced by what was known before them, where there are enough; else priced from all the others."""
    return result.backtest if len(result.backtest) >= _ENOUGH else result.sales


def _finding_of_accuracy(result: AccuracyStudy) -> str:
    sales = _judged(result)
    inside = int(sales["sale_price"].between(sales["low_80"], sales["high_80"]).sum())
    how = "what came before it" if len(result.backtest) >= _ENOUGH else "all the others"
    return (
        f"{inside} of {len(sales)} sales ({style.percent(inside / len(sales))}) fell inside their 80% range, each "
        f"priced from {how}"
    )


DRAWS = {"AccuracyStudy": draw_accuracy}
