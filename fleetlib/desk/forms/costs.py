"""The notebook form for money spent: on one piece, on supplies for all of them, on a tool."""

from __future__ import annotations

from typing import Any

from fleetlib.desk.forms import fields
from fleetlib.desk.forms.fields import together
from fleetlib.desk.forms.layout import (
    CHOOSE,
    NO_PIECE,
    ShopFront,
    answer_place,
    form_box,
    guarded,
    logged,
    piece_list,
    refuse_demo,
)
from fleetlib.desk.logging_lines import log_entry
from fleetlib.records.log.grammar import Entry, Supply

_WHAT = (
    ("a cost of one piece", "cost"),
    ("supplies for all pieces", "supplies"),
    ("a tool", "tool"),
)
_SHARED = (("the hours worked on each", "hours"), ("each piece alike", "pieces"))


def cost_form(shop: ShopFront) -> Any:
    """Money spent: a cost goes to its piece, supplies and tools to supplies.csv (a tool is shared by none)."""
    currency = shop.records.settings.currency
    what = fields.choice("spent", "What was it?", _WHAT, blank=CHOOSE)
    piece = piece_list(shop, "piece", "Piece", "in work", "listed", "sold")
    amount = fields.money("amount", "What it cost", currency, example=25.4)
    item = fields.typed("item", "For what", hint="sandpaper")
    shared = fields.choice("shared", "Shared among the pieces by", _SHARED)
    day = fields.day("day", "Day", shop.records.as_of)
    said = answer_place("saved")

    def fit_fields(_: Any = None) -> None:
        piece.box.layout.display = "" if what.control.value == "cost" else "none"
        shared.box.layout.display = "" if what.control.value == "supplies" else "none"

    def log() -> None:
        kind, name, cost, words, on = together(
            lambda: what.need("Choose what it was."),
            lambda: piece.need(NO_PIECE) if what.control.value == "cost" else None,
            lambda: amount.need("Write what it cost."),
            lambda: item.need("Write what it was for."),
            lambda: day.need("Write the day."),
        )
        refuse_demo(shop)
        by = "none" if kind == "tool" else shared.control.value
        entry = (
            Entry(on, name, "cost", cost, words)
            if kind == "cost"
            else Supply(on, words, float(cost), by)
        )
        log_entry(shop.records, entry)
        amount.control.value = item.control.value = ""
        piece.control.value = what.control.value = ""
        logged(shop, said, f"Logged: {entry.said(currency)}.")

    what.control.observe(fit_fields, names="value")
    fit_fields()
    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    return form_box(
        "Costs, supplies and tools", [what, piece, amount, item, shared, day], [go], [said]
    )
