"""The picture of any result, and the words that say the same.

fl.picture(shop.estimate(piece))      # shows itself in a notebook, with its text for screen readers
fl.picture_alt(shop.plan(piece))      # only the words
"""

from __future__ import annotations

from importlib import import_module

from fleetlib.errors import BadQuestion
from fleetlib.views.charts_style import Picture

# Result -> the module (charts_...) and function that draws it. By name, so that asking for one picture
# loads what that picture needs and nothing else.
_DRAWN_BY = {
    "PriceEstimate": ("price", "draw_estimate"),
    "MarkdownPlan": ("plan", "draw_plan"),
    "Advice": ("plan", "draw_advice"),
    "EarningsTable": ("earnings", "draw_earnings"),
    "AccuracyStudy": ("trust", "draw_accuracy"),
    "BuyAdvice": ("buying", "draw_buy"),
    "BestBuys": ("buying", "draw_best_buys"),
    "WorkOrder": ("buying", "draw_work_order"),
    "PriceFit": ("effects", "draw_price_fit"),
    "HedonicSummary": ("effects", "draw_effects"),
    "QuarterReview": ("quarter", "draw_review"),
    "FinishChoice": ("finishes", "draw_finishes"),
    "SellingTimeFit": ("selling", "draw_selling"),
    "DaysToSell": ("selling", "draw_days_to_sell"),
    "OrdinaryRegression": ("trust", "draw_regression"),
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
    drawn = getattr(import_module(f"fleetlib.views.charts_{module}"), function)(result)
    assert isinstance(drawn, Picture)
    return drawn


def picture_alt(result: object) -> str:
    """What the picture of `result` shows, in words with the same numbers."""
    return picture(result).alt


def picture_png(result: object) -> bytes:
    """The picture of `result` as a PNG image."""
    return picture(result).png()
