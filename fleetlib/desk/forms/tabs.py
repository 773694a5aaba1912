"""All forms of the weekly page side by side as tabs, sized for a thumb, with their mistakes told to readers aloud."""

from __future__ import annotations

import asyncio
import contextlib
import os
from collections.abc import Callable
from importlib.resources import files
from typing import Any

from fleetlib.base.kit import SHOP_FOLDER
from fleetlib.desk.forms.costs import cost_form
from fleetlib.desk.forms.layout import ShopFront, last_used
from fleetlib.desk.forms.life import after_sale_form, bought_form, line_form, story_form, timer_form
from fleetlib.desk.forms.logging import sale_form, work_form
from fleetlib.desk.forms.pricing import QUICK, find_form, price_form
from fleetlib.desk.forms.ready import as_filled_in, ready
from fleetlib.desk.forms.regroup import regroup_form

# One line a tab: what it says, and what makes its forms.
TABS: tuple[tuple[str, tuple[Callable[[ShopFront], Any], ...]], ...] = (
    ("Price", (price_form,)),
    ("Work", (work_form, timer_form, cost_form)),
    ("Sale", (sale_form, after_sale_form)),
    ("Find", (find_form,)),
    ("Bought", (bought_form, regroup_form)),
    ("A line", (line_form,)),
    ("Story", (story_form,)),
)

BETWEEN_S = 0.1


def week_forms(shop: ShopFront) -> Any:
    """The forms of the week as tabs, in the order of TABS: the first one at once.

    While it appears, what a price needs is made ready; the others are made when one of them is first turned to.
    """
    import ipywidgets as widgets

    tabs = widgets.Tab(
        [widgets.VBox([widgets.HTML("One moment ...")]) for _ in TABS],
        titles=[title for title, _ in TABS],
    )
    tabs.add_class("fleet-tabs")
    unmade = dict(enumerate(TABS))

    def make_one(which: int) -> None:
        _, forms = unmade.pop(which)
        tabs.children[which].children = [make(shop) for make in forms]

    def others() -> None:
        """One form more, then whatever else waits, then the next: no press waits for all of them."""
        if unmade:
            make_one(min(unmade))
            asyncio.get_running_loop().call_later(BETWEEN_S, others)

    def turned(change: Any) -> None:
        if change["new"] in unmade:
            make_one(change["new"])
        with contextlib.suppress(RuntimeError):  # not in a notebook
            asyncio.get_running_loop().call_later(BETWEEN_S, others)

    # The others wait for a first turn, by which the browser is there: a form that is made while it connects, it misses.
    for which in range(
        1 if SHOP_FOLDER in os.environ else len(TABS)
    ):  # a notebook run by hand has time
        make_one(which)
    tabs.observe(turned, names="selected_index")
    held = ready(shop)
    held.ahead = True
    held.soon(as_filled_in(shop.piece(name)) for name in last_used(shop, QUICK))
    return widgets.VBox([widgets.HTML(f"<style>{_text('forms.css')}</style>"), _script(), tabs])


def _script() -> Any:
    """The few lines that mark a refused field as such and put the cursor there; a widget cannot by itself."""
    import ipywidgets as widgets

    shown = {"application/javascript": _text("forms.js"), "text/plain": ""}
    output = {"output_type": "display_data", "data": shown, "metadata": {}}
    return widgets.Output(outputs=(output,), layout={"display": "block", "height": "0"})


def _text(name: str) -> str:
    return files("fleetlib.desk.templates").joinpath(name).read_text(encoding="utf-8")
