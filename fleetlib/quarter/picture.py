"""A quarter against the one before and the same one last year, and what sits on the market."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import count, day_said
from fleetlib.books.accounts import MONEY, PER_HOUR
from fleetlib.shown import chart_rows as rows
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import SubFigure

    from fleetlib.quarter.review import QuarterReview

# The lines shown as bars, as the review names them, and the words over each little panel.
PANELS = {
    "sold": "pieces sold",
    "takings": "takings",
    "profit": "profit",
    "hours in pieces sold": "hours in them",
    "pay per hour": "pay per hour",
    "days to sell, median": "days to sell",
}
_FACES = ((style.BLUE, ""), ("white", "////"), ("white", ""))
_MOST_ROWS = 18


def draw_review(result: QuarterReview) -> Picture:
    """Six little panels of three bars; under them every listed piece by the days it has been on the market."""
    listed = result.ageing.head(_MOST_ROWS)
    across, bars = (2, 3.5) if style.is_narrow() else (3, 2.35)
    below = 1.15 + (0.42 if style.is_narrow() else 0.3) * max(len(listed), 1)
    if result.long_past:
        below = 0.01  # what is on the market today is not that quarter's
    figure = Picture(
        figsize=(style.width_in(), 0.55 + bars + below), facecolor="white", layout="constrained"
    )
    grid = figure.add_gridspec(2, 1, height_ratios=[bars, below])
    top, bottom = (figure.add_subfigure(grid[k]) for k in range(2))
    for part in (top, bottom):
        part.set_facecolor("white")
    lines = _lines(result)
    for axes, (line, words) in zip(
        top.subplots(6 // across, across).flat, PANELS.items(), strict=True
    ):
        _draw_bars(axes, result, lines[line], words)
    if not result.long_past:
        _draw_ageing(bottom, result, listed)
    style.finding(figure, _finding(result))
    figure.alt = _words(result, listed)
    return figure


def _draw_bars(axes: Axes, result: QuarterReview, row: dict[str, Any], words: str) -> None:
    style.plain(axes)
    axes.grid(visible=False)
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    values = [float(row[c]) for c in ("this", "previous", "year_before")]
    known = [v if math.isfinite(v) else 0.0 for v in values]
    for place, (value, (face, hatch)) in enumerate(zip(known, _FACES, strict=True)):
        axes.barh(
            place,
            value,
            height=0.68,
            facecolor=face,
            edgecolor=style.BLUE if place < 2 else style.SOFT,
            hatch=hatch,
            linewidth=1.2,
        )
        axes.annotate(
            _amount(result, row, place),
            (max(value, 0.0), place),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize=9,
            fontweight="bold" if place == 0 else "normal",
            color=style.INK,
        )
    axes.axvline(0, color=style.SOFT, linewidth=1.0)
    axes.set_yticks(range(3), result.lines.names)
    axes.tick_params(axis="y", length=0, labelsize=9)
    axes.set_xticks([])
    axes.set_ylim(2.6, -0.6)
    largest = max(*known, 0.0)
    axes.set_xlim(min(*known, 0.0) * 1.05, 1.55 * largest if largest > 0 else 1.0)
    axes.set_title(words, loc="left", fontsize=9.5, color=style.INK)


def _draw_ageing(part: SubFigure, result: QuarterReview, listed: pd.DataFrame) -> None:
    axes = part.subplots()
    style.plain(axes)
    style.bare_scale(axes)
    axes.set_title(
        f"On the market on {day_said(pd.Timestamp(result.as_of))}",
        loc="left",
        fontsize=10.5,
        fontweight="bold",
        color=style.INK,
        pad=16,
    )
    money = partial(format_money, currency=result.currency)
    days = listed["days_listed"].to_numpy(float)
    axes.hlines(np.arange(len(days)), 0, days, color=style.PALE, linewidth=2.2, zorder=1)
    kinds = np.array([_kind(row) for _, row in listed.iterrows()], dtype=object)
    for kind, colour, shape in (
        ("hold", style.BLUE, "o"),
        ("come down now", style.RED, "v"),
        ("let it go", style.INK, "X"),
    ):
        these = kinds == kind
        if these.any():
            axes.scatter(
                days[these],
                np.flatnonzero(these),
                marker=shape,
                color=colour,
                s=58,
                zorder=3,
                label=kind,
            )
    rows.name_rows(
        axes,
        [f"{p}, {w}" for p, w in zip(listed["piece"], listed["what"], strict=True)],
        figures=[money(v) for v in listed["asking_price"]],
        beside=[f"take from {money(v)}" for v in listed["lowest_offer"]],
    )
    usual = _usual_days(result)
    longest = float(np.nanmax([*days, usual, 1.0]))
    axes.set_xlim(0, 1.06 * longest)
    if math.isfinite(usual):
        rows.mark_line(axes, usual, f"half are sold in {usual:.0f} days")
    style.across(axes, "days listed")
    if len(listed):
        marks, words = axes.get_legend_handles_labels()
        part.legend(
            marks,
            [f"today's plan: {w}" for w in words],
            loc="outside lower left",
            frameon=False,
            fontsize=9,
            ncols=3,
            labelcolor=style.INK,
        )


def _usual_days(result: QuarterReview) -> float:
    return float(_lines(result)["days to sell, median"]["this"])


def _lines(result: QuarterReview) -> dict[str, dict[str, Any]]:
    """Each line of the review's table by its name."""
    return {
        str(row["line"]): {str(k): v for k, v in row.items()}
        for row in result.table.to_dict("records")
    }


def _kind(row: pd.Series) -> str:
    if bool(row["let_go"]):
        return "let it go"
    lower = float(row["plan_price"]) < float(row["asking_price"]) - 0.005
    return "come down now" if lower else "hold"


def _amount(result: QuarterReview, row: dict[str, Any], place: int) -> str:
    """A value as printed beside its bar, short."""
    value = float(row[("this", "previous", "year_before")[place]])
    if not math.isfinite(value):
        return "not reached" if row["unit"] == "days" and result.lines.not_reached[place] else "-"
    unit = str(row["unit"])
    if unit in (MONEY, PER_HOUR):
        return format_money(value, result.currency, cents=unit == PER_HOUR)
    return f"{value:.0f}" if unit in ("pieces", "days") else f"{value:.1f}"


def _finding(result: QuarterReview) -> str:
    profit = _lines(result)["profit"]
    this, before = float(profit["this"]), float(profit["previous"])
    money = partial(format_money, currency=result.currency)
    said = f"{result.lines.names[0]}: profit {money(this)}"
    if math.isfinite(before):
        more = "more" if this >= before else "less"
        said += f", {money(abs(this - before))} {more} than in {result.lines.names[1]}"
    return (
        said if result.long_past else f"{said}; {count(len(result.ageing), 'piece')} on the market"
    )


def _words(result: QuarterReview, listed: pd.DataFrame) -> str:
    lines, names = _lines(result), result.lines.names
    parts = [f"{_finding(result)}. Bars for {style.listed(names)}:"]
    for line, words in PANELS.items():
        row = lines[line]
        parts.append(f"{words} {style.listed([_amount(result, row, k) for k in range(3)])};")
    money = partial(format_money, currency=result.currency)
    if len(listed):
        parts.append("days on the market of what is listed:")
        parts += [
            f"{row['piece']}, {row['what']}, {row['days_listed']:.0f} days, asked {money(row['asking_price'])}, "
            f"{_kind(row)};"
            for _, row in listed.iterrows()
        ]
    usual = _usual_days(result)
    if math.isfinite(usual):
        parts.append(f"half are sold in {usual:.0f} days;")
    return " ".join(parts).rstrip(";") + "."


DRAWS = {"QuarterReview": draw_review}
