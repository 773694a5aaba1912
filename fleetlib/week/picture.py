"""The whole advice on one piece: its price strip above its plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fleetlib.plan.picture import (
    NAMED,
    ROOM,
    draw_chances,
    draw_plan,
    draw_steps,
    finding_of_plan,
    plan_heights,
    words_of_plan,
)
from fleetlib.price.picture import draw_strip, strip_height, words_of_estimate
from fleetlib.shown import chart_style as style
from fleetlib.shown.chart_style import Picture

if TYPE_CHECKING:
    from fleetlib.week.advice import Advice


def draw_advice(result: Advice) -> Picture:
    """The price strip above the plan, one under the other; without an estimate only the plan."""
    plan = result.plan
    if result.estimate is None or plan.take_salvage_now or plan.table.empty:
        return draw_plan(plan)
    asked = float(plan.table["asking_price"].iloc[0])
    heights = (strip_height(result.estimate), *plan_heights())
    figure, (strip, top, bottom) = style.new_picture(sum(heights) + ROOM, rows=3, heights=heights)
    draw_strip(strip, result.estimate, asking_price=asked)
    draw_steps(top, plan)
    draw_chances(bottom, plan)
    style.key(figure, strip, more=top, without=NAMED)
    style.finding(figure, finding_of_plan(plan))
    estimate = words_of_estimate(result.estimate, asking_price=asked)
    figure.alt = f"{estimate} Below it the plan. {words_of_plan(plan)}"
    return figure


DRAWS = {"Advice": draw_advice}
