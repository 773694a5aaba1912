"""What to pay for a find, and which finds to take."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from fleetlib.base.money import format_money
from fleetlib.price.picture import about
from fleetlib.shown import chart_rows as rows
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from fleetlib.buying.best_buys import BestBuys
    from fleetlib.buying.what_to_pay import BuyAdvice

_MOST_ROWS = 16


def draw_buy(result: BuyAdvice) -> Picture:
    """One row for the find as expected and one for each thing that may turn out otherwise.

    The dot is the highest price that still pays the target, the ring the price that comes out even; the
    dashed line is the price asked.
    """
    moves = result.moves
    figure, (axes,) = style.new_picture(1.75 + 0.42 * len(moves))
    style.bare_scale(axes)
    highest, even = moves["highest_price"].to_numpy(float), moves["even_price"].to_numpy(float)
    money = _money(result.currency)
    asked = result.piece.buy_price
    _pairs(axes, highest, even, says=("pay at most", "comes out even"), dashed=even < highest)
    known = [*highest, *even, 0.0, *([float(asked)] if asked is not None else [])]
    axes.set_xlim(*_around(known))
    axes.axvline(0, color=style.SOFT, linewidth=1.0, zorder=1)
    rows.name_rows(
        axes,
        [str(c) for c in moves["change"]],
        figures=[money(max(v, 0.0)) for v in highest],
        beside=[f"even at {money(max(v, 0.0))}" for v in even],
    )
    if asked is not None:
        rows.mark_line(axes, float(asked), f"asked {money(float(asked))}")
    style.money_scale(axes.xaxis, result.currency)
    style.across(axes, f"buy price; the dot still pays {money(result.target)} an hour")
    style.finding(figure, _finding_of_buy(result))
    style.key(figure, axes)
    figure.alt = _words_of_buy(result)
    return figure


def draw_best_buys(result: BestBuys) -> Picture:
    """One row a find, those to buy first: the tick is what is asked, the dot the most worth paying."""
    table = result.table.head(_MOST_ROWS)
    figure, (axes,) = style.new_picture(1.75 + 0.42 * len(table))
    style.bare_scale(axes)
    most, asked = table["highest_price"].to_numpy(float), table["asked"].to_numpy(float)
    _pairs(axes, most, asked, says=("pay at most", "asked"), dashed=most < asked)
    axes.set_xlim(*_around([*most, *asked, 0.0]))
    rows.name_rows(
        axes,
        [_find(row) for _, row in table.iterrows()],
        figures=["BUY" if b else "" for b in table["buy"]],
        beside=[_of_find(row, result.currency) for _, row in table.iterrows()],
        bold=list(table["buy"]),
    )
    style.money_scale(axes.xaxis, result.currency)
    style.across(axes, "buy price")
    style.finding(figure, _finding_of_buys(result))
    style.key(figure, axes)
    figure.alt = _words_of_buys(result)
    return figure


def _pairs(
    axes: Axes, dots: np.ndarray, rings: np.ndarray, *, says: tuple[str, str], dashed: np.ndarray
) -> None:
    """A dot and a ring (a tick for what is asked) a row, joined by a line; grey and dashed the wrong way round."""
    for row, (a, b) in enumerate(zip(dots, rings, strict=True)):
        axes.plot(
            [a, b],
            [row, row],
            color=style.SOFT if dashed[row] else style.BLUE,
            linestyle="--" if dashed[row] else "-",
            linewidth=1.8,
            zorder=2,
        )
    at = np.arange(len(dots))
    axes.scatter(dots, at, s=64, color=style.BLUE, edgecolor="white", zorder=4, label=says[0])
    if says[1] == "asked":  # in both pictures what is asked is a red upright line
        axes.scatter(
            rings, at, s=170, marker="|", color=style.RED, linewidth=2.6, zorder=3, label=says[1]
        )
        return
    axes.scatter(
        rings,
        at,
        s=52,
        facecolor="white",
        edgecolor=style.INK,
        linewidth=1.5,
        zorder=3,
        label=says[1],
    )


def _of_find(row: pd.Series, currency: str) -> str:
    """What an hour in it brings, and why it is left where it is."""
    pay = format_money(float(row["per_hour"]), currency)
    parts = [f"{pay} an hour" if math.isfinite(row["per_hour"]) else ""]
    if not row["buy"]:
        parts.append(str(row["why"]).partition(":")[0])
    return ", ".join(p for p in parts if p)


def _around(values: list[float]) -> tuple[float, float]:
    known = np.array([v for v in values if math.isfinite(v)])
    reach = max(float(np.ptp(known)), 1.0)
    return float(known.min()) - 0.04 * reach, float(known.max()) + 0.06 * reach


def _finding_of_buy(result: BuyAdvice) -> str:
    money = _money(result.currency)
    name = about(result.piece)
    if result.even_price <= 0:
        return f"{name}: not even for free; it brings less than its materials and other costs"
    if result.highest_price <= 0:
        return f"{name}: even for free its hours pay under {money(result.target)} each"
    return f"{name}: pay at most {money(result.highest_price)}, and each hour still brings {money(result.target)}"


def _words_of_buy(result: BuyAdvice) -> str:
    money = _money(result.currency)
    parts = [
        f"{_finding_of_buy(result)}; it comes out even at {money(max(result.even_price, 0.0))}. Rows with the price "
        "to pay at most and the price that comes out even:"
    ]
    parts += [
        f"{row['change']}, {money(max(row['highest_price'], 0.0))} and {money(max(row['even_price'], 0.0))};"
        for _, row in result.moves.iterrows()
    ]
    if result.piece.buy_price is not None:
        first = result.table.iloc[0]
        parts.append(
            f"asked is {money(float(result.piece.buy_price))}, at which the chance of a loss is "
            f"{style.percent(float(first['chance_of_loss']))};"
        )
    return " ".join(parts).rstrip(";") + "."


def _finding_of_buys(result: BestBuys) -> str:
    money = _money(result.currency)
    bought = result.table[result.table["buy"]]
    if bought.empty:
        return "Buy none of these: none pays its hours at the price asked"
    profit, hours = float(bought["claimed"].sum()), float(bought["hours"].sum())
    named = style.listed([str(f) for f in bought["find"]])
    return f"Buy {named}: expected profit {money(profit)} for {hours:.0f} hours"


def _words_of_buys(result: BestBuys) -> str:
    money = _money(result.currency)
    parts = [
        f"{_finding_of_buys(result)}. Each find with the price asked and the most worth paying:"
    ]
    for _, row in result.table.head(_MOST_ROWS).iterrows():
        choice = "buy" if row["buy"] else "leave"
        parts.append(
            f"{_find(row)}, asked {money(row['asked'])}, at most {money(max(row['highest_price'], 0.0))}, {choice};"
        )
    return " ".join(parts).rstrip(";") + "."


def _find(row: pd.Series) -> str:
    return f"{row['find']}, {_plain(row['furniture_type'])}"


def _plain(word: object) -> str:
    return str(word).replace("_", " ")


def _money(currency: str) -> Callable[[float], str]:
    return partial(format_money, currency=currency)


DRAWS = {"BuyAdvice": draw_buy, "BestBuys": draw_best_buys}
