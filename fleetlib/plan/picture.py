"""The markdown plan as steps, with the lowest offers under them and the chance sold below."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.price.picture import about
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from fleetlib.plan.markdowns import MarkdownPlan

_DAY_LABEL_IN = 0.52  # inches that a day such as `30 Sep` takes
_LEFT_IN = 1.1  # inches beside the scale
ROOM = 1.25  # inches for the title, the key and the space between panels
NAMED = ("asking price",)  # where it stands, so not in the key
_CLOSE_IN = 0.55  # inches: two figures nearer than this would run into each other


def plan_heights() -> tuple[float, float]:
    """Inches of the asks and of the chances; less where the picture is narrow, as its page is."""
    return (1.6, 0.95) if style.is_narrow() else (2.5, 1.35)


def draw_plan(result: MarkdownPlan) -> Picture:
    """Asking prices as steps in time, the lowest offer as a dashed line, and the chance sold under both."""
    if result.take_salvage_now or result.table.empty:
        figure, (axes,) = style.new_picture(1.6)
        _draw_salvage(axes, result)
    else:
        figure, (top, bottom) = style.new_picture(
            sum(plan_heights()) + ROOM, rows=2, heights=plan_heights()
        )
        draw_steps(top, result)
        draw_chances(bottom, result)
        style.key(figure, top, without=NAMED)
    style.finding(figure, finding_of_plan(result))
    figure.alt = words_of_plan(result)
    return figure


def draw_steps(axes: Axes, result: MarkdownPlan) -> None:
    """The asks as steps, the lowest offers dashed under them, the salvage value at the end."""
    money = partial(format_money, currency=result.currency)
    steps, weeks, end = result.table, result.weekly, pd.Timestamp(result.ends_on)
    asks = steps["asking_price"].to_numpy(float)
    days = [*steps["from_date"], end]
    axes.stairs(
        asks,
        _numbers(days),
        baseline=None,
        color=style.BLUE,
        linewidth=2.8,
        label="asking price",
        zorder=3,
    )
    axes.stairs(
        weeks["lowest_offer"].to_numpy(float),
        _numbers([*weeks["from_date"], end]),
        baseline=None,
        color=style.RED,
        linewidth=1.6,
        linestyle="--",
        label="lowest offer worth taking",
        zorder=2,
    )
    at = _numbers(days)
    close = _CLOSE_IN / (style.width_in() - _LEFT_IN) * (at[-1] - at[0])
    told = -np.inf  # where the last lowest offer is written
    for k, (ask, offer) in enumerate(zip(asks, steps["lowest_offer"], strict=True)):
        _label(axes, at[k], ask, money(ask) if k else f"ask {money(ask)}", above=True)
        if at[k] - told < close:
            continue  # its neighbour's figure stands there
        told = at[k]
        near_end = k > 0 and at[-1] - at[k] < close
        _label(axes, at[k], float(offer), money(offer), above=False, before=near_end)
    axes.plot(
        _numbers([end]),
        [result.salvage],
        "s",
        color=style.SOFT,
        markersize=7,
        label="salvage value",
        zorder=4,
        clip_on=False,
    )
    if result.offer is not None:
        axes.plot(
            at[:1],
            [result.offer.amount],
            "D",
            color=style.GREEN,
            markersize=8,
            label=f"the offer, {money(result.offer.amount)}",
            zorder=5,
            clip_on=False,
        )
    axes.set_ylim(bottom=0, top=1.16 * float(asks.max()))
    style.money_scale(axes.yaxis, result.currency)
    _days_along(axes, result)
    axes.tick_params(axis="x", labelbottom=False)


def draw_chances(axes: Axes, result: MarkdownPlan) -> None:
    """The chance sold by each day, with its range."""
    weeks, steps = result.weekly, result.table
    days = _numbers([weeks["from_date"].iloc[0], *weeks["by_date"]])
    low, mid, high = (
        np.append(0.0, weeks[c].to_numpy(float))
        for c in ("chance_low", "chance_sold", "chance_high")
    )
    axes.fill_between(days, low, high, color=style.SKY, alpha=0.4, linewidth=0)
    axes.plot(days, mid, color=style.BLUE, linewidth=1.8)
    ends = _numbers([*steps["from_date"].iloc[1:], pd.Timestamp(result.ends_on)])
    shares = steps["chance_sold"].to_numpy(float)
    axes.plot(ends, shares, "o", color=style.BLUE, markersize=6, clip_on=False, zorder=4)
    whole = float(ends[-1] - days[0])
    for i, (day, share) in enumerate(zip(ends, shares, strict=True)):
        if (
            i + 1 < len(ends)
            and ends[i + 1] - day < _CLOSE_IN / (style.width_in() - _LEFT_IN) * whole
        ):
            continue  # the next one's figure stands there
        axes.annotate(
            style.percent(share),
            (day, share),
            xytext=(-4, 5),
            textcoords="offset points",
            annotation_clip=False,
            ha="right",
            fontsize=9.5,
            fontweight="bold",
            color=style.INK,
        )
    axes.set_ylim(0, 1.12)
    axes.set_yticks([0, 0.5, 1.0])
    style.share_scale(axes.yaxis)
    axes.set_ylabel("chance sold", fontsize=9.5)
    _days_along(axes, result)


def _draw_salvage(axes: Axes, result: MarkdownPlan) -> None:
    style.bare_scale(axes)
    axes.plot([result.salvage], [0], "s", color=style.SOFT, markersize=10)
    axes.annotate(
        f"salvage value {format_money(result.salvage, result.currency)}",
        (result.salvage, 0),
        xytext=(12, 0),
        textcoords="offset points",
        va="center",
        fontsize=10,
        color=style.INK,
    )
    axes.set_yticks([])
    axes.set_xlim(0, max(2 * result.salvage, 1.0))
    style.money_scale(axes.xaxis, result.currency)


def _days_along(axes: Axes, result: MarkdownPlan) -> None:
    """Ticks on the days that matter: today, each change, the end."""
    end = pd.Timestamp(result.ends_on)
    days = [*result.table["from_date"], end]
    at = _numbers(days)
    apart = _DAY_LABEL_IN / (style.width_in() - _LEFT_IN) * (at[-1] - at[0])
    # Of two days too near to be both named, the change is named rather than today or the end.
    named = [True] * len(days)
    for k in range(1, len(days)):
        if at[k] - at[k - 1] < apart:
            named[k - 1 if k == 1 else k] = False
    axes.set_xticks(
        at, [day_said(d, year=False) if said else "" for d, said in zip(days, named, strict=True)]
    )
    axes.set_xlim(_numbers([days[0]])[0], _numbers([end])[0])
    axes.grid(axis="x", color="#E6E6E6", linewidth=0.8)


def _label(
    axes: Axes, day: float, amount: float, text: str, *, above: bool, before: bool = False
) -> None:
    axes.annotate(
        text,
        (day, amount),
        xytext=(-4 if before else 7, 4 if above else -11),  # clear of an offer's mark
        textcoords="offset points",
        annotation_clip=False,
        ha="right" if before else "left",
        va="bottom" if above else "top",
        fontsize=10 if above else 9,
        fontweight="bold" if above else "normal",
        color=style.INK,
        zorder=6,
    )


def finding_of_plan(result: MarkdownPlan) -> str:
    """The plan in one sentence, for the title."""
    money = partial(format_money, currency=result.currency)
    if result.take_salvage_now or result.table.empty:
        return f"No asking price is worth waiting for: take the salvage value, about {money(result.salvage)}, now"
    steps = result.table
    first = f"{about(result.piece)}: ask {money(steps['asking_price'].iloc[0])}"
    if result.offer is not None:
        first = f"{about(result.piece)}: {result.offer.short}. Else ask {money(steps['asking_price'].iloc[0])}"
    later = [
        f"{money(ask)} from {day_said(day, year=False)}"
        for day, ask in zip(
            steps["from_date"].iloc[1:], steps["asking_price"].iloc[1:], strict=True
        )
    ]
    told = f"{first}, then {style.listed(later)}" if later else f"{first} and stay there"
    end = pd.Timestamp(result.ends_on)
    share = style.percent(float(steps["chance_sold"].iloc[-1]))
    return f"{told}; {share} sold by {day_said(end, year=False)}"


def words_of_plan(result: MarkdownPlan) -> str:
    """The plan in words, with the numbers of the picture."""
    money = partial(format_money, currency=result.currency)
    if result.take_salvage_now or result.table.empty:
        return (
            f"{finding_of_plan(result)}. One mark on a line of money, at {money(result.salvage)}."
        )
    parts = [f"{finding_of_plan(result)}. Steps in time, each with the lowest offer worth taking:"]
    ends = [*result.table["from_date"].iloc[1:], pd.Timestamp(result.ends_on)]
    for (_, row), end in zip(result.table.iterrows(), ends, strict=True):
        parts.append(
            f"from {day_said(row['from_date'])} ask {money(row['asking_price'])}, take from "
            f"{money(row['lowest_offer'])}, {style.percent(row['chance_sold'])} sold by {day_said(end)} "
            f"(8 times out of 10 between {style.percent(row['chance_low'])} and "
            f"{style.percent(row['chance_high'])});"
        )
    if result.offer is not None:
        parts.append(f"the offer on the table is {money(result.offer.amount)};")
    parts.append(f"unsold after that, salvage at about {money(result.salvage)}.")
    return " ".join(parts)


def _numbers(days: list[pd.Timestamp]) -> np.ndarray:
    """Days as matplotlib's day numbers, so that steps and lines share one scale."""
    from matplotlib.dates import date2num

    return np.asarray(date2num([pd.Timestamp(d).to_pydatetime() for d in days]), float)


DRAWS = {"MarkdownPlan": draw_plan}
