"""Rows named in words, each with a dot and its range: the common ground of several pictures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from fleetlib.shown import chart_style as style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_NARROW_LETTERS = 58  # of a line over a row in a narrow picture
_LARGEST_DOT = 330.0  # in square points, for the row with the most


def span(
    values: np.ndarray, low: np.ndarray, high: np.ndarray, *also: float
) -> tuple[float, float]:
    """The ends of a scale that shows all dots, and the ranges unless far longer than the dots are apart."""
    dots = np.append(values[np.isfinite(values)], also)
    reach = max(float(np.ptp(dots)), 1.0)
    ends = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)], dots])
    left = max(float(ends.min()), float(dots.min()) - 0.8 * reach)
    right = min(float(ends.max()), float(dots.max()) + 0.8 * reach)
    return left - 0.03 * reach, right + 0.03 * reach


def draw_ranges(
    axes: Axes, low: np.ndarray, high: np.ndarray, *, ends: tuple[float, float]
) -> None:
    """A bar a row from `low` to `high`; an arrow where it goes on beyond the `ends` of the scale."""
    left, right = (ends[0] + 0.012 * np.ptp(ends), ends[1] - 0.012 * np.ptp(ends))
    for row, (a, b) in enumerate(zip(low, high, strict=True)):
        if np.isnan(a) or np.isnan(b):
            continue
        axes.plot(
            np.clip([a, b], left, right), [row, row], color=style.BLUE, linewidth=2.2, zorder=2
        )
        if a < left:
            axes.plot([left], [row], "<", color=style.BLUE, markersize=7, zorder=3)
        if b > right:
            axes.plot([right], [row], ">", color=style.BLUE, markersize=7, zorder=3)


def draw_dots(
    axes: Axes,
    values: np.ndarray,
    *,
    size: np.ndarray | None = None,
    filled: np.ndarray,
    says: tuple[str, str],
) -> None:
    """A dot a row, its area as `size`; filled or a ring, which the key names `says`."""
    rows = np.arange(len(values))
    area = np.full(len(values), 60.0)
    if size is not None:
        area = np.maximum(_LARGEST_DOT * size / max(float(np.nanmax(size)), 1e-9), 22.0)
    for full, label in zip((True, False), says, strict=True):
        these = (filled == full) & np.isfinite(values)
        if these.any():
            axes.scatter(
                values[these],
                rows[these],
                s=area[these],
                facecolor=style.BLUE if full else "white",
                edgecolor="white" if full else style.BLUE,
                linewidth=1.0 if full else 1.6,
                zorder=4,
                label=label,
            )


def name_rows(
    axes: Axes,
    names: Sequence[str],
    *,
    figures: Sequence[str] | None = None,
    beside: Sequence[str] | None = None,
    bold: Sequence[bool] = (),
) -> None:
    """Names to the left, the first row at the top; to the right a bold figure and a few words.

    In a narrow picture all of it stands over the row, so that the row keeps the width. `bold` names are bold.
    """
    axes.set_ylim(len(names) - 0.4, -0.6)
    if style.is_narrow():
        told = [f"{f} {b}".strip() for f, b in zip(figures or names, beside or names, strict=True)]
        _name_above(axes, names, told if figures or beside else [""] * len(names), bold)
        return
    axes.set_yticks(range(len(names)), list(names))
    for label, strong in zip(axes.get_yticklabels(), bold, strict=False):
        label.set_fontweight("bold" if strong else "normal")
    for row in range(len(names)):
        for text, place, side, weight in (
            (figures[row] if figures is not None else "", 44, "right", "bold"),
            (beside[row] if beside is not None else "", 52, "left", "normal"),
        ):
            axes.annotate(
                text,
                (1.0, row),
                xycoords=("axes fraction", "data"),
                xytext=(place, 0),
                textcoords="offset points",
                fontsize=9.5 if weight == "bold" else 9,
                fontweight=weight,
                color=style.INK,
                va="center",
                ha=side,
            )


def _name_above(
    axes: Axes, names: Sequence[str], told: Sequence[str], bold: Sequence[bool]
) -> None:
    axes.set_yticks([])
    axes.set_ylim(len(names) - 0.6, -0.75)
    for row, (name, beside) in enumerate(zip(names, told, strict=True)):
        texts = (style.cut(name, max(_NARROW_LETTERS - len(beside), 8)), beside)
        for text, place, side in zip(texts, (0.0, 1.0), ("left", "right"), strict=True):
            strong = side == "left" and len(bold) > row and bold[row]
            axes.annotate(
                text,
                (place, row),
                xycoords=("axes fraction", "data"),
                xytext=(0, 7),
                textcoords="offset points",
                fontsize=9,
                fontweight="bold" if strong else "normal",
                color=style.INK,
                va="bottom",
                ha=side,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
                zorder=3,
            )


def mark_line(axes: Axes, value: float, text: str) -> None:
    """A dashed line down the whole picture, named above it."""
    axes.axvline(value, color=style.RED, linestyle="--", linewidth=1.4, zorder=1)
    axes.annotate(
        text,
        (value, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(4, 3),
        textcoords="offset points",
        color=style.INK,
        fontsize=9,
        va="bottom",
    )
