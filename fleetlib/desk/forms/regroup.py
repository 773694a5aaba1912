"""The notebook form for a pair sold apart and for pieces made a set."""

from __future__ import annotations

from typing import Any

from fleetlib.desk.forms import fields
from fleetlib.desk.forms.fields import Field, together
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
from fleetlib.desk.logging_lines import log_entry, understood

_WHAT = (("it was split into several", "split"), ("it was joined with others", "joined"))


def regroup_form(shop: ShopFront) -> Any:
    """A piece split into several, or joined with others: what was spent goes with it, every cent on its day."""
    currency = shop.records.settings.currency
    piece = piece_list(shop, "piece", "Piece", "in work", "listed")
    what = fields.choice("group", "What happened", _WHAT, blank=CHOOSE)
    names = fields.typed("names", "Names of the new pieces", hint="A-113a, A-113b")
    shares = fields.typed("shares", "Shares of the cost, blank for equal ones", hint="60, 40")
    called = fields.typed("as", "Name of the set", hint="A-120")
    day = fields.day("day", "Day", shop.records.as_of)
    said = answer_place("saved")

    def fit_fields(_: Any = None) -> None:
        split = what.control.value != "joined"
        shares.box.layout.display = "" if split else "none"
        called.box.layout.display = "none" if split else ""
        names.control.description = (
            "Names of the new pieces" if split else "Names of the other pieces"
        )

    def log() -> None:
        name, kind, others, on = together(
            lambda: piece.need(NO_PIECE),
            lambda: what.need("Choose what happened."),
            lambda: names.need("Write the names, with a comma between."),
            lambda: day.need("Write the day."),
        )
        line = (
            f"split {_quoted(name)} into {_quoted(others)} {_by(shares)} on {on}"
            if kind == "split"
            else f"joined {_quoted(name)} {_quoted(others)} as "
            f"{_quoted(called.need('Write the name of the set.'))} on {on}"
        )
        entry = understood(shop.records, line)
        refuse_demo(shop)
        log_entry(shop.records, entry)
        for one in (names, shares, called):
            one.control.value = ""
        piece.control.value = what.control.value = ""
        logged(shop, said, f"Logged: {entry.said(currency)}.")

    what.control.observe(fit_fields, names="value")
    fit_fields()
    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    return form_box(
        "A pair split, pieces made a set", [piece, what, names, shares, called, day], [go], [said]
    )


def _quoted(names: str) -> str:
    """Names with commas between, as a line has them."""
    return " ".join(f'"{n.strip()}"' for n in names.replace('"', "").split(",") if n.strip())


def _by(shares: Field) -> str:
    typed = str(shares.control.value).replace(",", " ").split()
    return f"by {' '.join(typed)}" if typed else ""
