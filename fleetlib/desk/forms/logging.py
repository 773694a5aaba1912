"""The notebook forms for logging: work done, and what happened to a piece.

What is logged is appended to events.csv in the shop's folder and can be undone by one more line; the
person's own file is never rewritten.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from fleetlib.base.errors import BadQuestion
from fleetlib.base.money import format_money
from fleetlib.desk.forms import fields
from fleetlib.desk.forms.fields import Doubts, Field, together
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
    sentence,
    working,
)
from fleetlib.records.log.append import Entry, append_event, append_events, undo_last
from fleetlib.records.log.cells import with_details
from fleetlib.records.parsing.numbers import shown

STEPS = (
    ("clean", "clean"),
    ("repair", "repair"),
    ("sand or strip", "sand"),
    ("finish", "finish"),
    ("photograph and sell", "sell"),
)
OWN_FIRST = "Write what you would ask on instinct, before the price you were advised."
WORKING_DAY_H = 8  # common practice, no source
QUICK_MINUTES = (15, 30, 45, 60, 90, 120)
HAPPENED = (
    ("sold", "sold"),
    ("put on the market", "listed"),
    ("new asking price", "asking_price"),
    ("an offer", "offer"),
    ("an offer refused", "offer_refused"),
    ("an offer answered with a price", "offer_countered"),
    ("an offer accepted", "offer_accepted"),
    ("someone asked about it", "enquiry"),
    ("a deposit taken", "deposit"),
    ("the buyer backed out before the sale", "backed_out"),
    ("work is finished", "finished"),
    ("photographed", "photographed"),
    ("off the market for a while", "off_market"),
    ("back on the market", "back_on_market"),
    ("kept for yourself", "kept"),
    ("given away", "given_away"),
    ("scrapped", "scrapped"),
)
NEEDS_MONEY = {
    "sold": "Write what the buyer paid, without tax and delivery.",
    "listed": "Write the first asking price.",
    "asking_price": "Write the new asking price.",
    "offer": "Write what was offered.",
    "offer_countered": "Write the price you answered with.",
    "deposit": "Write what was taken to hold it.",
}


def work_form(shop: ShopFront) -> Any:
    """Log work on a piece: the piece, the step, the minutes, materials; undo the last entry."""
    currency = shop.records.settings.currency
    piece = piece_list(shop, "piece", "Piece", "in work", "listed")
    step = fields.choice("step", "Step", STEPS)
    minutes = fields.hours("minutes", "Minutes, hands on", minutes=True)
    materials = fields.money("materials", "Materials used", currency, example=12)
    day = fields.day("day", "Day", shop.records.as_of)
    said, doubts = answer_place("saved"), Doubts()

    def time() -> float | None:
        if minutes.read() is None and str(materials.control.value).strip():
            return None
        return hands_on(minutes, doubts, "Write the minutes, or the materials below.")

    def log() -> None:
        name, worked, spent, on = together(
            lambda: piece.need(NO_PIECE), time, materials.read, lambda: day.need("Write the day.")
        )
        _not_ahead(shop, day, on, doubts)
        refuse_demo(shop)
        known_as = shop.records.logged_as(name)
        note = str(step.control.value)
        entries, done = [], []
        if worked is not None:
            entries.append(Entry(on=on, piece=known_as, event="hours", amount=worked, note=note))
            done.append(f"{worked * 60:.0f} minutes ({step.control.label})")
        if spent is not None:
            entries.append(Entry(on=on, piece=known_as, event="cost", amount=spent, note=note))
            done.append(format_money(spent, currency, cents=True))
        append_events(shop.records.folder, entries)  # both by one write, or neither
        doubts.over()
        minutes.control.value = materials.control.value = piece.control.value = ""
        logged(shop, said, f"Logged for {name}: {' and '.join(done)}.")

    quick = [
        fields.button(
            f"m{m}", f"{m} min", _setter(minutes, str(m)), small=True, tip=f"fill in {m} minutes"
        )
        for m in QUICK_MINUTES
    ]
    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    back = fields.button(
        "undo", "Undo the last entry", lambda: guarded(lambda: _undo(shop, said), said)
    )
    return form_box(
        "Log work", [piece, step, minutes], [*quick], [], [materials, day], [go, back], [said]
    )


def hands_on(minutes: Field, doubts: Doubts, missing: str = "Write the minutes.") -> float:
    """The hours in a field of minutes; none and 0 are refused, more than a working day is questioned."""
    worked = float(minutes.need(missing))
    if worked == 0:
        minutes.refuse("0 minutes is nothing to log. Write the minutes, or empty the field.")
    if worked > WORKING_DAY_H:
        doubts.ask(
            minutes, f"That is {worked:.3g} hours, more than a working day of {WORKING_DAY_H}."
        )
    return worked


def sale_form(shop: ShopFront) -> Any:  # noqa: C901 - what the buttons do stands inside the form
    """Log what happened to a piece: sold, a markdown, an offer, an enquiry; an offer is answered at once."""
    currency = shop.records.settings.currency
    piece = piece_list(shop, "piece", "Piece", "listed", "in work")
    what = fields.choice("what", "What happened", HAPPENED, blank=CHOOSE)
    own = fields.money("own", "Your own price first", currency, example=450)
    amount = fields.money("amount", "Amount", currency, example=300)
    of_sale = {
        "channel": fields.typed("channel", "Where", hint="market"),
        "selling_fees": fields.money("fees", "Selling fees", currency, example=21),
        "delivery_charged": fields.money("delivery", "Delivery charged", currency, example=40),
    }
    note = fields.typed("note", "Note", hint="cash, met at the gate")
    day = fields.day("day", "Day", shop.records.as_of)
    said, answer, doubts = answer_place("saved"), answer_place(), Doubts()

    def money() -> float | None:
        asked = NEEDS_MONEY.get(what.control.value)
        paid = amount.read() if asked is None else amount.need(asked)
        return None if paid is None else float(paid)

    def fit_fields(_: Any = None) -> None:
        """Only the fields that what happened has."""
        own.box.layout.display = "" if what.control.value == "listed" else "none"
        for one in of_sale.values():
            one.box.layout.display = "" if what.control.value == "sold" else "none"

    def cells() -> dict[str, str]:
        """What the entry says beside its amount, as cells of the record."""
        if what.control.value == "sold":
            return {k: shown(v) for k, v in _read(of_sale).items() if v is not None}
        if what.control.value == "listed":
            named = piece.control.value
            known = named and shop.piece(named).gut_price is not None
            idea = own.read() if known else own.need(OWN_FIRST)
            return {} if idea is None else {"gut_price": shown(float(idea))}
        return {}

    def log() -> None:
        answer.value = ""
        name, event, said_beside, paid, on = together(
            lambda: piece.need(NO_PIECE),
            lambda: what.need("Choose what happened."),
            cells,
            money,
            lambda: day.need("Write the day."),
        )
        happened = what.control.label
        _not_ahead(shop, day, on, doubts)
        refuse_demo(shop)
        append_event(
            shop.records.folder,
            on=on,
            piece=shop.records.logged_as(name),
            event=event,
            amount=paid,
            note=with_details(said_beside, note.read() or ""),
        )
        doubts.over()
        for one in (own, amount, *of_sale.values(), note, what, piece):
            one.control.value = ""
        working(
            answer
        )  # said with "Logged", so that nobody fills in the next entry under the renewed lists
        if not logged(shop, said, f"Logged for {name}: {happened}."):
            answer.value = ""
            return
        asked = shop.records.questions
        odd = asked.loc[asked["piece"].eq(name) & asked["column"].eq("sale_price"), "question"]
        if event == "sold" and len(odd):
            said.value = sentence(f"Logged for {name}: {happened}. {odd.iloc[-1]}")
        if event in ("listed", "offer", "enquiry", "asking_price"):
            guarded(lambda: plan(name, paid if event == "offer" else None), answer)
        else:
            answer.value = ""

    def plan(name: str, offer: float | None) -> None:
        working(answer)
        answer.value = shop.plan(shop.piece(name), offer=offer)._repr_html_()

    def undo() -> None:
        answer.value = ""
        _undo(shop, said)
        piece.control.value = ""

    what.control.observe(fit_fields, names="value")
    fit_fields()
    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    back = fields.button("undo", "Undo the last entry", lambda: guarded(undo, said))
    return form_box(
        "Log a sale, a markdown or an offer",
        [piece, what, own, amount, *of_sale.values(), note, day],
        [go, back],
        [said, answer],
    )


def _read(several: dict[str, Field]) -> dict[str, Any]:
    return dict(zip(several, together(*(f.read for f in several.values())), strict=True))


def _not_ahead(shop: ShopFront, day: Field, on: date, doubts: Doubts) -> None:
    if on > max(shop.records.as_of, date.today()):
        doubts.ask(day, f"{on} is still ahead.")


def _undo(shop: ShopFront, said: Any) -> None:
    refuse_demo(shop)
    known = shop.records.logged
    last = known.loc[known["line"].idxmax()].to_dict() if len(known) else None
    try:  # the last that this page knows of, whatever another window has logged meanwhile
        undone = undo_last(shop.records.folder, entry=last)
    except BadQuestion as refusal:  # taken back in another window: show how it stands now
        logged(shop, said, str(refusal))
        return
    logged(shop, said, f"Undone: {undone}.")


def _setter(one: Field, text: str) -> Callable[[], None]:
    def fill() -> None:
        one.control.value = text

    return fill
