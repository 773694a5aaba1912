"""What the textbook regression leaves unexplained, sale by sale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import change
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from fleetlib.price.regression.ordinary import OrdinaryRegression


def draw_regression(result: OrdinaryRegression) -> Picture:
    """Residuals against fitted values: a good fit is a level cloud without a bend or a funnel.

    A regression of logarithms of money is drawn in money and per cent of the fitted amount, and each sale
    further than two standard deviations off says both.
    """
    import seaborn as sns

    sd, logs = result.residual_sd, result.of_logs
    fitted, residual = _as_read(result.fitted, result.residuals, logs=logs)
    far = np.abs(result.residuals) > 2 * sd
    points = pd.DataFrame({"fitted": fitted, "residual": residual})
    points["where"] = np.where(far, "further than 2 sd", "within 2 sd")
    figure, (axes,) = style.new_picture(4.2)
    ends = 100 * np.expm1([2 * sd, -2 * sd]) if logs else np.array([2 * sd, -2 * sd])
    for height, dash in ((0.0, "-"), (ends[0], "--"), (ends[1], "--")):
        axes.axhline(height, color=style.SOFT, linestyle=dash, linewidth=1.1, zorder=1)
    sns.scatterplot(
        data=points,
        x="fitted",
        y="residual",
        hue="where",
        style="where",
        palette={"within 2 sd": style.BLUE, "further than 2 sd": style.RED},
        markers={"within 2 sd": "o", "further than 2 sd": "X"},
        s=42,
        ax=axes,
    )
    if logs:
        _in_money(axes, fitted[far], residual[far], result.currency)
    style.across(axes, "fitted sale price" if logs else "fitted value")
    axes.set_ylabel("sold above or below it" if logs else "residual: actual less fitted")
    style.finding(figure, _finding_of_residuals(result))
    style.key(figure, axes)
    unit = "%" if logs else ""
    figure.alt = (
        f"{_finding_of_residuals(result)}. Dots of residual against fitted value: fitted values run from "
        f"{fitted.min():,.3g} to {fitted.max():,.3g}, residuals from {residual.min():.3g}{unit} to "
        f"{residual.max():.3g}{unit}; dashed lines at {ends[0]:+.3g}{unit} and {ends[1]:+.3g}{unit}, two standard "
        "deviations (sd)."
    )
    return figure


def _as_read(
    fitted: np.ndarray, residuals: np.ndarray, *, logs: bool
) -> tuple[np.ndarray, np.ndarray]:
    """Of logarithms the amount and the per cent above it: exp(f) and 100 (exp(e) - 1)."""
    return (np.exp(fitted), 100 * np.expm1(residuals)) if logs else (fitted, residuals)


def _in_money(axes: Axes, fitted: np.ndarray, off: np.ndarray, currency: str) -> None:
    """A scale of amounts, and beside each sale far off by how much and by how many per cent."""
    axes.set_xscale("log")
    style.log_money_scale(axes.xaxis, currency)
    axes.yaxis.set_major_formatter(lambda v, _: f"{v:+.0f}%" if v else "0%")
    for amount, share in zip(fitted, off, strict=True):
        money = amount * share / 100
        said = format_money(abs(money), currency) if currency else f"{abs(money):,.0f}"
        axes.annotate(
            f"{'+' if money > 0 else '-'}{said} ({change(share)})",
            (amount, share),
            xytext=(7, 0),
            textcoords="offset points",
            va="center",
            fontsize=9,
            color=style.INK,
        )


def _finding_of_residuals(result: OrdinaryRegression) -> str:
    far = int(np.sum(np.abs(result.residuals) > 2 * result.residual_sd))
    return (
        f"{far} of {result.sales} sales lie further than 2 sd from the fitted value; about "
        f"{0.05 * result.sales:.0f} would by chance alone"
    )


DRAWS = {"OrdinaryRegression": draw_regression}
