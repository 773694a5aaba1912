"""The picture of any result, and the words that say the same.

fl.picture(shop.estimate(piece))      # shows itself in a notebook, with its text for screen readers
fl.picture_alt(shop.plan(piece))      # only the words
"""

from __future__ import annotations

from importlib import import_module

from fleetlib.base.errors import BadQuestion
from fleetlib.shown.chart_style import Picture

# Result -> the module and function that draws it. By name, so that asking for one picture
# loads what that picture needs and nothing else.
_DRAWN_BY = {
    "PriceEstimate": ("price.picture", "draw_estimate"),
    "MarkdownPlan": ("plan.picture", "draw_plan"),
    "Advice": ("week.picture", "draw_advice"),
    "EarningsTable": ("pay.picture", "draw_earnings"),
    "AccuracyStudy": ("trust.picture", "draw_accuracy"),
    "BuyAdvice": ("buying.picture", "draw_buy"),
    "BestBuys": ("buying.picture", "draw_best_buys"),
    "WorkOrder": ("pay.picture_work", "draw_work_order"),
    "PriceFit": ("price.picture_effects", "draw_price_fit"),
    "HedonicSummary": ("price.picture_effects", "draw_effects"),
    "QuarterReview": ("quarter.picture", "draw_review"),
    "FinishChoice": ("finish.picture", "draw_finishes"),
    "SellingTimeFit": ("selling.picture", "draw_selling"),
    "DaysToSell": ("selling.picture", "draw_days_to_sell"),
    "OrdinaryRegression": ("trust.picture", "draw_regression"),
}


def picture(result: object) -> Picture:
    """The picture of `result`: a matplotlib Figure that also carries its `title` and `alt` text.

    Raises BadQuestion for something that has no picture, naming what has.
    """
    kind = type(result)
    if kind.__name__ not in _DRAWN_BY or not kind.__module__.startswith("fleetlib."):
        raise BadQuestion(
            f"There is no picture of a {kind.__name__}. There is one of each of these: {', '.join(_DRAWN_BY)}."
        )
    module, function = _DRAWN_BY[kind.__name__]
    drawn = getattr(import_module(f"fleetlib.{module}"), function)(result)
    assert isinstance(drawn, Picture)
    return drawn


def picture_alt(result: object) -> str:
    """What the picture of `result` shows, in words with the same numbers."""
    return picture(result).alt


def picture_png(result: object) -> bytes:
    """The picture of `result` as a PNG image."""
    return picture(result).png()
