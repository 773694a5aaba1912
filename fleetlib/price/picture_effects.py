"""What each kind, wood, finish and measure does to the price, in per cent with its range."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from fleetlib.base.said import change
from fleetlib.price.features import WORDS
from fleetlib.shown import chart_rows as rows
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from fleetlib.price.fit import PriceFit
    from fleetlib.price.regression.summary import HedonicSummary

_MOST_ROWS = 40


class _Line(NamedTuple):
    """One line of the picture: a heading, or an effect with the place of its row in the table."""

    words: str
    row: int | None


def draw_price_fit(result: PriceFit) -> Picture:
    """The effects of a shop's price model."""
    return draw_effects(result.regressor.summary())


def draw_effects(result: HedonicSummary) -> Picture:
    """One row a level or step, under its feature: the dot is the effect, the bar its range.

    Filled: the range leaves nothing out of doubt that it moves the price; a ring: it may be nothing. The
    small square is the same effect in the textbook regression.
    """
    table = _chosen(result)
    lines = _lines(table)
    figure, (axes,) = style.new_picture(1.5 + 0.235 * len(lines))
    style.bare_scale(axes)
    places = np.array([k for k, line in enumerate(lines) if line.row is not None])
    effect, low, high = (table[c].to_numpy(float) for c in ("effect", "low", "high"))
    ends = rows.span(effect, low, high, 0.0)
    sure = _sure(table)
    axes.axvline(0, color=style.SOFT, linewidth=1.2, zorder=1)
    axes.hlines(
        places, np.clip(low, *ends), np.clip(high, *ends), color=style.BLUE, linewidth=1.8, zorder=2
    )
    for full, label in ((True, "moves the price"), (False, "may be nothing")):
        these = sure == full
        if these.any():
            axes.scatter(
                effect[these],
                places[these],
                s=44,
                facecolor=style.BLUE if full else "white",
                edgecolor=style.BLUE,
                linewidth=1.5,
                zorder=4,
                label=label,
            )
    ordinary = table["ordinary"].to_numpy(float)
    if np.isfinite(ordinary).any():
        shown = np.where((ordinary >= ends[0]) & (ordinary <= ends[1]), ordinary, np.nan)
        axes.scatter(
            shown,
            places + 0.3,
            s=13,
            marker="s",
            color=style.RED,
            zorder=3,
            label="textbook regression",
        )
    _name_lines(axes, lines)
    axes.set_xlim(ends)
    axes.xaxis.set_major_formatter(lambda v, _: f"{v:+.0f}%" if v else "0%")
    style.across(
        axes,
        f"change of the price against your average piece; bars: {result.level * 20:g} times out of 20",
    )
    style.finding(figure, _finding(result))
    style.key(figure, axes)
    figure.alt = _words(result, table)
    return figure


def _chosen(result: HedonicSummary) -> pd.DataFrame:
    """The table's rows, without the smallest effects where there are too many to read."""
    table = result.table
    if len(table) > _MOST_ROWS:
        largest = np.log1p(table["effect"] / 100).abs().nlargest(_MOST_ROWS).index
        table = table.loc[sorted(largest)]
    return table.reset_index(drop=True)


def _lines(table: pd.DataFrame) -> list[_Line]:
    """Headings and effects from top to bottom; a feature of one row needs no heading of its own."""
    lines: list[_Line] = []
    for feature, part in table.groupby("feature", sort=False):
        words = WORDS.get(str(feature), str(feature).replace("_", " "))
        if len(part) > 1:
            lines.append(_Line(words, None))
        for place, setting, sales in zip(part.index, part["setting"], part["sales"], strict=True):
            said = f"{setting} ({sales:.0f})" if len(part) > 1 else f"{words}, {setting}"
            lines.append(_Line(said, int(place)))
    return lines


def _name_lines(axes: Axes, lines: list[_Line]) -> None:
    axes.set_yticks(range(len(lines)), [line.words for line in lines])
    axes.set_ylim(len(lines) - 0.3, -0.7)
    for label, line in zip(axes.get_yticklabels(), lines, strict=True):
        label.set_fontweight("bold" if line.row is None else "normal")
        label.set_fontsize(9.5)


def _sure(table: pd.DataFrame) -> np.ndarray:
    """Where the range leaves 0 out."""
    return ((table["low"] > 0) | (table["high"] < 0)).to_numpy(bool)


def _finding(result: HedonicSummary) -> str:
    table = result.table[_sure(result.table)]
    if table.empty:
        return "No single feature moves the price beyond doubt yet"
    order = np.log1p(table["effect"] / 100).abs().sort_values(ascending=False, kind="stable").index
    top = [f"{_named(table.loc[i])} ({change(table.loc[i, 'effect'])})" for i in order[:3]]
    return f"What moves your prices most: {style.listed(top)}"


def _named(row: pd.Series) -> str:
    words = WORDS.get(str(row["feature"]), str(row["feature"]).replace("_", " "))
    return (
        f"{words}, {row['setting']}"
        if str(row["setting"]).startswith("each ")
        else str(row["setting"])
    )


def _words(result: HedonicSummary, table: pd.DataFrame) -> str:
    parts = [
        f"{_finding(result)}. Change of the price against the average piece, each with its range "
        f"({result.level * 20:g} times out of 20):"
    ]
    for row, sure in zip(table.to_dict("records"), _sure(table), strict=True):
        doubt = "" if sure else ", may be nothing"
        parts.append(
            f"{_named(pd.Series(row))} {change(row['effect'])} ({change(row['low'])} to {change(row['high'])}{doubt});"
        )
    return " ".join(parts).rstrip(";") + "."


DRAWS = {"PriceFit": draw_price_fit, "HedonicSummary": draw_effects}
