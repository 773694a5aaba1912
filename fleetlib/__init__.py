"""fleetlib: asking prices, markdown plans and pay per hour from a refinisher's own past sales.

    import fleetlib as fl
    shop = fl.open_shop("my-shop")         # a folder that holds flips.csv or flips.xlsx
    shop.advise(shop.piece("A-113"))       # one piece on one page

The words used everywhere:

flip            one piece, from buying it to selling it
asking price    what the listing says;  sale price: what the buyer paid, without tax and delivery
gut price       what you would ask on instinct, written down before seeing any advice
markdown        a planned lower asking price;  lowest offer: the least worth taking that week
floor           the least any buyer may pay: below it the salvage value is better
on hand         listed or still in work;  days listed: from the first listing to the sale
set aside       a row of the records that could not be used, kept with its line and the reason
chance sold     how often such a piece of yours would be sold by then
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # what editors and type checkers see; loaded when first used (below)
    from fleetlib.base import errors as errors
    from fleetlib.base.settings import Settings as Settings
    from fleetlib.base.settings import read_settings as read_settings
    from fleetlib.care.caution_sheet import (
        all_cautions as all_cautions,
    )
    from fleetlib.care.caution_sheet import (
        caution_sheet as caution_sheet,
    )
    from fleetlib.desk.forms.logging import sale_form as sale_form
    from fleetlib.desk.forms.logging import work_form as work_form
    from fleetlib.desk.forms.pricing import find_form as find_form
    from fleetlib.desk.forms.pricing import price_form as price_form
    from fleetlib.desk.forms.questions import question_form as question_form
    from fleetlib.desk.forms.tabs import week_forms as week_forms
    from fleetlib.desk.pages import save_page as save_page
    from fleetlib.desk.pictures import picture as picture
    from fleetlib.desk.pictures import picture_alt as picture_alt
    from fleetlib.desk.start import start_shop as start_shop
    from fleetlib.plan.calendar import save_calendar as save_calendar
    from fleetlib.plan.markdowns import lowest_for_two as lowest_for_two
    from fleetlib.plan.solver.path import plan_markdowns as plan_markdowns
    from fleetlib.price.regression.ordinary import ordinary_regression as ordinary_regression
    from fleetlib.price.regression.regressor import HedonicRegressor as HedonicRegressor
    from fleetlib.records.cleaning.clean import read_flips as read_flips
    from fleetlib.records.piece import Piece as Piece
    from fleetlib.records.report import check_report as check_report
    from fleetlib.selling.fit import fit_selling_time as fit_selling_time
    from fleetlib.selling.kaplan_meier import days_to_sell as days_to_sell
    from fleetlib.shop import Shop as Shop
    from fleetlib.shop import open_shop as open_shop
    from fleetlib.shown.any_table import show as show
    from fleetlib.trust.benchmarks import benchmark as benchmark
    from fleetlib.week.listing_text import listing_text as listing_text
    from fleetlib.week.tag import price_tag as price_tag

# Where each public name lives; loaded when first used, so that `import fleetlib` is quick.
_PLACES = {
    "Piece": "records.piece",
    "read_flips": "records.cleaning.clean",
    "Settings": "base.settings",
    "read_settings": "base.settings",
    "open_shop": "shop",
    "Shop": "shop",
    "HedonicRegressor": "price.regression.regressor",
    "ordinary_regression": "price.regression.ordinary",
    "fit_selling_time": "selling.fit",
    "days_to_sell": "selling.kaplan_meier",
    "plan_markdowns": "plan.solver.path",
    "picture": "desk.pictures",
    "picture_alt": "desk.pictures",
    "save_page": "desk.pages",
    "save_calendar": "plan.calendar",
    "price_tag": "week.tag",
    "listing_text": "week.listing_text",
    "caution_sheet": "care.caution_sheet",
    "all_cautions": "care.caution_sheet",
    "lowest_for_two": "plan.markdowns",
    "start_shop": "desk.start",
    "check_report": "records.report",
    "show": "shown.any_table",
    "benchmark": "trust.benchmarks",
    "price_form": "desk.forms.pricing",
    "work_form": "desk.forms.logging",
    "sale_form": "desk.forms.logging",
    "find_form": "desk.forms.pricing",
    "question_form": "desk.forms.questions",
    "week_forms": "desk.forms.tabs",
}

__all__ = sorted([*_PLACES, "errors"])


def __getattr__(name: str) -> Any:
    if name in _PLACES:
        return getattr(import_module(f"fleetlib.{_PLACES[name]}"), name)
    if name == "errors":
        return import_module("fleetlib.base.errors")
    raise AttributeError(f"fleetlib has no {name!r}; it has {', '.join(__all__)}")


def __dir__() -> list[str]:
    return list(__all__)
