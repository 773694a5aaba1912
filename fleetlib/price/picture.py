"""One piece's price: the range as a strip, the comparable sales on it, the asking price and the owner's idea."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from textwrap import wrap
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.records.piece import Piece, with_what
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from fleetlib.price.estimate import PriceEstimate


def most_comparables() -> int:
    """How many comparable sales a strip shows; as many as the page's table where it is narrow."""
    return 4 if style.is_narrow() else 6


def draw_estimate(result: PriceEstimate) -> Picture:
    """The range as a strip with the mid on it; under it the comparable sales, each on its own line.

    A ring is what the comparable sold for, the filled dot the same sale adjusted to this piece. The owner's
    idea and the asking price on record stand above the strip.
    """
    figure, (axes,) = style.new_picture(strip_height(result) + 0.95)
    draw_strip(axes, result)
    style.finding(figure, _finding(result))
    style.key(figure, axes, columns=4)
    figure.alt = words_of_estimate(result)
    return figure


def strip_height(result: PriceEstimate) -> float:
    """Inches the strip and its comparable sales need."""
    return 1.4 + (0.27 if style.is_narrow() else 0.36) * min(
        len(result.comparables), most_comparables()
    )


def draw_strip(axes: Axes, result: PriceEstimate, *, asking_price: float | None = None) -> None:
    """The strip itself on plain `axes`."""
    money = _money(result)
    near = result.comparables.head(most_comparables())
    rows = np.arange(1, len(near) + 1)
    style.bare_scale(axes)
    axes.axvspan(result.low, result.high, color=style.SKY, alpha=0.14, linewidth=0, zorder=0)
    axes.plot(
        [result.mid] * 2,
        [0, len(near) + 0.6],
        color=style.BLUE,
        linewidth=1,
        linestyle=":",
        zorder=1,
    )
    axes.barh(
        0,
        result.high - result.low,
        left=result.low,
        height=0.5,
        color=style.SKY,
        edgecolor=style.BLUE,
        linewidth=1.2,
        zorder=2,
        label=f"{_in_ten(result.level)} times out of 10",
    )
    axes.plot([result.mid] * 2, [-0.25, 0.25], color=style.BLUE, linewidth=3.2, zorder=3)
    for value, ends in ((result.low, "right"), (result.high, "left")):
        axes.annotate(
            money(value),
            (value, 0),
            xytext=(-5 if ends == "right" else 5, 0),
            textcoords="offset points",
            annotation_clip=False,
            ha=ends,
            va="center",
            fontsize=9.5,
            color=style.INK,
        )
    paid, adjusted = near["sale_price"].to_numpy(float), near["adjusted_price"].to_numpy(float)
    axes.hlines(rows, paid, adjusted, color=style.SOFT, linewidth=1.2, zorder=2)
    axes.scatter(
        paid,
        rows,
        s=34,
        facecolor="white",
        edgecolor=style.SOFT,
        linewidth=1.4,
        zorder=3,
        label="sold for" if len(near) else None,
    )
    axes.scatter(
        adjusted,
        rows,
        s=44,
        color=style.INK,
        zorder=4,
        label="adjusted to this piece" if len(near) else None,
    )
    wide = 20 if style.is_narrow() else 30
    named = [_two_lines(row, wide) for _, row in near.iterrows()]
    axes.set_yticks([0, *rows], ["this piece", *named], linespacing=0.95)
    axes.get_yticklabels()[0].set_fontweight("bold")
    longest = max(len(line) for name in ("this piece ", *named) for line in name.split("\n"))
    _marks_above(axes, result, asking_price, np.r_[paid, adjusted], 0.5 + 0.078 * longest)
    axes.set_ylim(len(near) + 0.6, -1.75)
    style.money_scale(axes.xaxis, result.currency)


def _marks_above(
    axes: Axes,
    result: PriceEstimate,
    asking_price: float | None,
    sales: np.ndarray,
    beside: float,
) -> None:
    """The mid, the asking price and the owner's idea, named above the strip without running together.

    `sales` are other prices to show, `beside` the inches that go to the names at the left.
    """
    money = _money(result)
    marks = [(result.mid, f"mid {money(result.mid)}", style.BLUE, "")]
    asked = asking_now(result) if asking_price is None else asking_price
    idea = result.piece.gut_price
    if asked and idea and money(asked) == money(idea):
        marks.append((float(asked), f"asking, and your idea {money(asked)}", style.RED, "v"))
    else:
        if asked:
            marks.append((float(asked), f"asking {money(asked)}", style.RED, "v"))
        if idea:
            marks.append((float(idea), f"your idea {money(idea)}", style.GREEN, "D"))
    reach = [result.low, result.high, *sales, *(m[0] for m in marks)]
    low, high = float(np.nanmin(reach)), float(np.nanmax(reach))
    edge = 0.1 * (high - low)
    left, right = max(0.0, low - edge), high + edge
    # The low end's figure stands left of the strip, inside the picture: about half an inch.
    left = min(left, max(0.0, result.low - 0.55 * (right - left) / (style.width_in() - beside)))
    axes.set_xlim(left, right)
    letter = 0.0825 * (right - left) / (style.width_in() - beside)  # the width of one, bold
    if letter * sum(len(m[1]) + 1 for m in marks) > right - left:
        marks = [
            (at, "\n".join(text.rsplit(" ", 1)), colour, shape) for at, text, colour, shape in marks
        ]
    widths = [letter * (max(map(len, m[1].split("\n"))) + 1) for m in marks]
    places = style.spread_out([m[0] for m in marks], widths, within=(left, right))
    for (value, text, colour, shape), place in zip(marks, places, strict=True):
        if shape:
            axes.plot([value], [-0.5], shape, color=colour, markersize=8, zorder=5, clip_on=False)
        to = (value, -0.62 if shape else -0.27)
        style.leading(axes, text, (place, -1.35), to, colour=colour)


def words_of_estimate(result: PriceEstimate, *, asking_price: float | None = None) -> str:
    """The strip in words, with the same numbers."""
    money = _money(result)
    parts = [
        f"{_finding(result)}. A strip of prices from {money(result.low)} to {money(result.high)} with a mark "
        f"at the mid, {money(result.mid)}."
    ]
    asked = asking_now(result) if asking_price is None else asking_price
    if asked:
        parts.append(f"Asking price {money(asked)}.")
    if result.piece.gut_price:
        parts.append(f"Your own idea {money(result.piece.gut_price)}.")
    near = result.comparables.head(most_comparables())
    if len(near):
        each = [
            f"{_comparable(row)}, sold for {money(row['sale_price'])}, adjusted to this piece "
            f"{money(row['adjusted_price'])}"
            for _, row in near.iterrows()
        ]
        parts.append(f"Under it the sales that count most: {'; '.join(each)}.")
    return " ".join(parts)


def asking_now(result: PriceEstimate) -> float | None:
    """The asking price on record, the last one where it has come down."""
    piece = result.piece
    return piece.last_asking_price or piece.asking_price


def _finding(result: PriceEstimate) -> str:
    money = _money(result)
    return (
        f"{about(result.piece)}: {_in_ten(result.level)} times out of 10 it sells between "
        f"{money(result.low)} and {money(result.high)}"
    )


def about(piece: Piece) -> str:
    """A piece in a few words: `A-113, oak sideboard`."""
    return with_what(piece.piece, piece.what) if piece.piece else f"This {piece.what}"


def _comparable(row: pd.Series) -> str:
    return (
        f"{row['piece']}, {day_said(row['sold_on']).partition(' ')[2]}"
        if pd.notna(row["sold_on"])
        else str(row["piece"])
    )


def _two_lines(row: pd.Series, letters: int) -> str:
    """The comparable sale in two lines of so many letters: without the month of sale where that finds no room."""
    lines = wrap(_comparable(row), letters)
    return "\n".join(lines if len(lines) < 3 else wrap(str(row["piece"]), letters)[:2])


def _money(result: PriceEstimate) -> Callable[[float], str]:
    return partial(format_money, currency=result.currency)


def _in_ten(level: float) -> str:
    return f"{10 * level:g}"


DRAWS = {"PriceEstimate": draw_estimate}
