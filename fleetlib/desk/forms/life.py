"""The notebook forms for a piece's whole life: a line, a piece bought, after a sale, its story, a timer."""

from __future__ import annotations

from datetime import date, datetime
from functools import partial
from typing import Any

from fleetlib.base.errors import BadQuestion, FleetError
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
)
from fleetlib.desk.forms.logging import STEPS, hands_on
from fleetlib.desk.logging_lines import inbox, log_entry, misread, next_name, understood
from fleetlib.desk.timer import drop_timer, running, start_timer, stop_timer
from fleetlib.records.log.cells import with_details
from fleetlib.records.log.grammar import Entry, Supply
from fleetlib.records.parsing.numbers import shown
from fleetlib.records.piece import Piece
from fleetlib.records.schema.columns import COLUMN
from fleetlib.week.piece import story

_ASKED = (
    "furniture_type", "width_in", "depth_in", "height_in", "wood", "construction", "style", "year_made",
    "condition", "route", "gut_price", "bought_lot", "notes",
)  # fmt: skip


# What a find is; the hours and materials it would take are a guess, and no work done.
_DESCRIBES = (
    "furniture_type", "wood", "construction", "finish", "style", "pieces_in_lot", "width_in", "depth_in", "height_in",
    "year_made", "grade", "condition", "route", "bought_lot", "gut_price", "notes",
)  # fmt: skip
_AFTER = (
    ("it came back: money given back, blank for the whole price", "returned"),
    ("part of the price given back, it stays sold", "refund"),
    ("hours of touching up", "touch_up"),
    (
        "the buyer backed out after all: what you kept of their money, blank for nothing",
        "backed_out",
    ),
)


def line_form(shop: ShopFront) -> Any:
    """One line in the trade's words: shown as understood, then logged; the lines of inbox.txt likewise."""
    line = fields.typed("line", "What happened", hint="sold A-113 for 420 at the market yesterday")
    said = answer_place("saved")
    waiting: list[Entry | Supply] = []

    def show(entry: Entry | Supply, more: str = "") -> None:
        waiting[:] = [entry]
        money = shop.records.settings.currency
        said.value = sentence(f"{more}Understood: {entry.said(money)}. Log it?")

    def read() -> None:
        waiting.clear()
        show(understood(shop.records, line.need("Write a line.")))

    def log() -> None:
        if not waiting:
            raise BadQuestion("Read a line first, so that you see how it was understood.")
        refuse_demo(shop)
        entry = waiting[0]
        log_entry(shop.records, entry)
        waiting.clear()
        line.control.value = ""
        logged(shop, said, f"Logged: {entry.said(shop.records.settings.currency)}.")

    def next_of_inbox() -> None:
        waiting.clear()
        lines = inbox(shop.records)
        ready = [x for x in lines if x.entry is not None]
        before = ready[0].line if ready else None  # a later one may be about what this one tells
        not_read = " ".join(
            f'inbox.txt line {x.line}, "{x.text}", was not understood: {x.why}'
            for x in lines
            if x.entry is None and (before is None or x.line < before)
        )
        if ready and ready[0].entry is not None:
            show(ready[0].entry, f"{not_read} " if not_read else "")
        else:
            said.value = sentence(not_read or "inbox.txt holds no line that is not logged.")

    look = fields.button("read", "Read it", lambda: guarded(read, said))
    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    phone = fields.button("inbox", "Next line of inbox.txt", lambda: guarded(next_of_inbox, said))
    return form_box("Log a line", [line], [look, go, phone], [said])


def bought_form(shop: ShopFront) -> Any:
    """A piece bought: its name, what was paid, the day, and any cell of the record that is known by now."""
    currency = shop.records.settings.currency
    name = fields.typed("piece", "Its name or number", hint="A-113")
    paid = fields.money("buy_price", "What you paid", currency)
    day = fields.day("day", "Day", shop.records.as_of)
    cells = {
        c: fields.typed(c, c.replace("_", " ").capitalize(), hint=COLUMN[c].example)
        for c in _ASKED
        if c in COLUMN
    }
    said = answer_place("saved")
    name.control.value = next_name(shop.records)

    def log() -> None:
        typed = {c: str(v) for c, one in cells.items() if (v := one.read())}
        wrong = misread(shop.records, typed)

        def known(column: str) -> None:
            if column in wrong:
                cells[column].refuse(
                    f"It {wrong[column]}. Write it like this: {COLUMN[column].example}."
                )

        called, spent, _, on, *_ = together(
            lambda: free_name(shop, name),
            lambda: paid.need("Write what you paid; 0 when it was free."),
            lambda: cells["furniture_type"].need("Write what it is."),
            lambda: day.need("Write the day."),
            *(partial(known, column) for column in cells),
        )
        refuse_demo(shop)
        log_entry(shop.records, Entry(on, called, "bought", spent, with_details(typed)))
        for one in (name, paid, *cells.values()):
            one.control.value = ""
        if logged(shop, said, f"Logged: {called} bought."):
            name.control.value = next_name(shop.records)

    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    return form_box("A piece bought", [name, paid, *cells.values(), day], [go], [said])


def free_name(shop: ShopFront, name: Field) -> str:
    """The name in the field, which no piece on record may have."""
    called = str(name.need("Give it a name or number."))
    if shop.records.flips["piece"].astype("str").str.casefold().eq(called.casefold()).any():
        name.refuse(f"There is a piece called {called} already.")
    return called


def find_bought(shop: ShopFront, found: Piece, *, on: date) -> bool:
    """Log the find as bought, under its name and for its buy price, and the plan it was bought on for later grading.

    True where the plan was logged too; where there are too few sales for one, only the purchase is.
    """
    refuse_demo(shop)
    known = {c: shown(v) for c in _DESCRIBES if (v := getattr(found, c)) is not None}
    log_entry(
        shop.records,
        Entry(on, str(found.piece), "bought", found.buy_price, with_details(known)),
    )
    try:
        shop.log_advice(shop.advise(found))
    except FleetError:
        return False
    return True


def after_sale_form(shop: ShopFront) -> Any:
    """What comes after a sale: it came back, part of the price was given back, hours of touching up."""
    currency = shop.records.settings.currency
    piece = piece_list(shop, "piece", "Piece sold", "sold")
    what = fields.choice("after", "What happened", _AFTER, blank=CHOOSE)
    money = fields.money("amount", "Money given back", currency, example=30)
    minutes = fields.hours("minutes", "Minutes, hands on", minutes=True)
    note = fields.typed("note", "Note", hint="a scratch on the way")
    day = fields.day("day", "Day", shop.records.as_of)
    said, doubts = answer_place("saved"), Doubts()

    def fit_fields(_: Any = None) -> None:
        worked = what.control.value == "touch_up"
        minutes.box.layout.display = "" if worked else "none"
        money.box.layout.display = "none" if worked else ""

    def amount() -> float | None:
        match what.control.value:
            case "touch_up":
                return hands_on(minutes, doubts)
            case "refund":
                return float(money.need("Write what was given back."))
            case _:
                back = money.read()
                return None if back is None else float(back)

    def log() -> None:
        name, event, much, on = together(
            lambda: piece.need(NO_PIECE),
            lambda: what.need("Choose what happened."),
            amount,
            lambda: day.need("Write the day."),
        )
        refuse_demo(shop)
        entry = Entry(on, name, event, much, note.read() or "")
        log_entry(shop.records, entry)
        doubts.over()
        for one in (money, minutes, note, piece, what):
            one.control.value = ""
        logged(shop, said, f"Logged: {entry.said(currency)}.")

    what.control.observe(fit_fields, names="value")
    fit_fields()
    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    return form_box("After a sale", [piece, what, money, minutes, note, day], [go], [said])


def story_form(shop: ShopFront) -> Any:
    """Everything known of one piece, in the order of the days."""
    statuses = ("listed", "in work", "sold", "withdrawn")
    piece = piece_list(shop, "piece", "Piece", *statuses)
    answer = answer_place()

    def tell() -> None:
        answer.value = story(shop.records, piece.need(NO_PIECE))._repr_html_()

    go = fields.button("tell", "Show its story", lambda: guarded(tell, answer), main=True)
    return form_box("One piece, one story", [piece], [go], [answer])


def timer_form(shop: ShopFront) -> Any:
    """Start and stop the timer of a piece; it runs on while the page is closed."""
    piece = piece_list(shop, "piece", "Piece", "in work", "listed")
    step = fields.choice("step", "Step", STEPS)
    said = answer_place("saved")

    def now_running() -> str:
        on = [f"{r.piece} ({r.step}) since {r.since:%H:%M}" for r in running(shop.records.logged)]
        return f"Running: {', '.join(on)}." if on else "No timer runs."

    def run(action: str) -> None:
        refuse_demo(shop)
        name, now = piece.need(NO_PIECE), datetime.now()
        done = ""
        if action == "start":
            start_timer(shop.records, name, step.control.value, now=now)
        elif action == "stop":
            minutes = 60 * stop_timer(shop.records, name, now=now)
            done = f"Logged for {name}: {minutes:.0f} minutes. "
        else:
            drop_timer(shop.records, name, now=now)
        if logged(shop, said, done or "Done."):
            said.value = sentence(done + now_running())

    said.value = sentence(now_running())
    buttons = [
        fields.button(key, label, partial(guarded, partial(run, key), said), main=not i)
        for i, (key, label) in enumerate(
            (("start", "Start"), ("stop", "Stop and log it"), ("drop", "Stop, log nothing"))
        )
    ]
    return form_box("Timer", [piece, step], buttons, [said])
