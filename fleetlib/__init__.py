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
from typing import Any

# Where each public name lives; loaded when first used, so that `import fleetlib` is quick.
_PLACES = {
    "Piece": "records.piece",
    "read_flips": "records.cleaning",
    "Settings": "settings",
    "read_settings": "settings",
    "open_shop": "shop",
    "Shop": "shop",
    "HedonicRegressor": "models.hedonic",
    "ordinary_regression": "models.ordinary",
    "fit_selling_time": "models.selling_time",
    "days_to_sell": "models.survival",
    "plan_markdowns": "models.price_path",
    "picture": "views.charts",
    "picture_alt": "views.charts",
    "save_page": "views.pages",
    "save_calendar": "views.calendar",
    "price_tag": "views.tags",
    "caution_sheet": "advice.cautions",
    "all_cautions": "advice.cautions",
    "lowest_for_two": "advice.markdowns",
    "start_shop": "starting",
    "check_report": "records.report",
    "show": "views.tables",
    "benchmark": "views.tables",
    "price_form": "views.forms",
    "work_form": "views.log_forms",
    "sale_form": "views.log_forms",
    "find_form": "views.forms",
}

__all__ = sorted([*_PLACES, "errors"])


def __getattr__(name: str) -> Any:
    if name in _PLACES:
        return getattr(import_module(f"fleetlib.{_PLACES[name]}"), name)
    if name == "errors":
        return import_module("fleetlib.errors")
    raise AttributeError(f"fleetlib has no {name!r}; it has {', '.join(__all__)}")


def __dir__() -> list[str]:
    return list(__all__)
