"""What the textbook regression leaves unexplained, sale by sale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from fleetlib.price.regression.ordinary import OrdinaryRegression


def draw_regression(result: OrdinaryRegression) -> Picture:
    """Residuals against fitted values: a good fit is a level cloud without a bend or a funnel."""
    import seaborn as sns

    sd = result.residual_sd
    points = pd.DataFrame({"fitted": result.fitted, "residual": result.residuals})
    points["where"] = np.where(
        np.abs(result.residuals) > 2 * sd, "further than 2 sd", "within 2 sd"
    )
    figure, (axes,) = style.new_picture(4.2)
    for height, dash in ((0.0, "-"), (2 * sd, "--"), (-2 * sd, "--")):
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
    style.across(axes, "fitted value")
    axes.set_ylabel("residual: actual less fitted")
    style.finding(figure, _finding_of_residuals(result))
    style.key(figure, axes)
    figure.alt = (
        f"{_finding_of_residuals(result)}. Dots of residual against fitted value: fitted values run from "
        f"{result.fitted.min():.3g} to {result.fitted.max():.3g}, residuals from {result.residuals.min():.3g} to "
        f"{result.residuals.max():.3g}; dashed lines at plus and minus {2 * sd:.3g}, two standard deviations (sd)."
    )
    return figure


def _finding_of_residuals(result: OrdinaryRegression) -> str:
    far = int(np.sum(np.abs(result.residuals) > 2 * result.residual_sd))
    return (
        f"{far} of {result.sales} sales lie further than 2 sd from the fitted value; about "
        f"{0.05 * result.sales:.0f} would by chance alone"
    )


DRAWS = {"OrdinaryRegression": draw_regression}
