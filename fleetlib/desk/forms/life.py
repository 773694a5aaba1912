"""The notebook forms for a piece's whole life: one line, a piece bought, a piece's story, a timer."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from typing import Any

from fleetlib.base.errors import BadQuestion
from fleetlib.desk.forms import fields
from fleetlib.desk.forms.layout import (
    ShopFront,
    answer_place,
    form_box,
    guarded,
    on_hand,
    refuse_demo,
    sentence,
)
from fleetlib.desk.forms.logging import STEPS
from fleetlib.desk.logging_lines import inbox, log_entry, understood
from fleetlib.desk.timer import drop_timer, running, start_timer, stop_timer
from fleetlib.records.columns import COLUMN
from fleetlib.records.log.grammar import Entry
from fleetlib.records.log.life import with_details
from fleetlib.records.piece import Piece
from fleetlib.week.piece import story

_ASKED = (
    "furniture_type", "width_in", "depth_in", "height_in", "wood", "construction", "style", "year_made",
    "condition", "route", "gut_price", "bought_lot", "notes",
)  # fmt: skip


def line_form(shop: ShopFront) -> Any:
    """One line in the trade's words: shown as understood, then logged; the lines of inbox.txt likewise."""
    line = fields.typed("line", "What happened", hint="sold A-113 for 420 at the market yesterday")
    said = answer_place("saved")
    waiting: list[Entry] = []

    def show(entry: Entry, more: str = "") -> None:
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
        entry = waiting.pop()
        log_entry(shop.records, entry)
        shop.reread()
        line.control.value = ""
        said.value = sentence(f"Logged: {entry.said(shop.records.settings.currency)}.")

    def next_of_inbox() -> None:
        waiting.clear()
        lines = inbox(shop.records)
        ready = [x for x in lines if x.entry is not None]
        not_read = " ".join(
            f'inbox.txt line {x.line}, "{x.text}", was not understood: {x.why}'
            for x in lines
            if x.entry is None
        )
        if ready and ready[0].entry is not None:
            show(ready[0].entry, f"{not_read} " if not_read else "")
        else:
            said.value = sentence(not_read or "inbox.txt holds no line that is not logged.")

    look = fields.button("read", "Read it", lambda: guarded(read, said))
    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    phone = fields.button("inbox", "Next line of inbox.txt", lambda: guarded(next_of_inbox, said))
    return form_box("Log a line", [line], [look, go, phone], [said])


def bought_form(shop: ShopFront, found: Piece | None = None) -> Any:
    """A piece bought; `found` fills in what a find was weighed up with."""
    currency = shop.records.settings.currency
    name = fields.typed("piece", "Its name or number", hint="A-113")
    paid = fields.money("buy_price", "What you paid", currency)
    day = fields.day("day", "Day", shop.records.as_of)
    cells = {
        c: fields.typed(c, c.replace("_", " "), hint=COLUMN[c].example)
        for c in _ASKED
        if c in COLUMN
    }
    for column, one in cells.items():
        known = getattr(found, column, None)
        if known is not None:
            one.control.value = f"{known:g}" if isinstance(known, float) else str(known)
    if found is not None and found.buy_price is not None:
        paid.control.value = f"{found.buy_price:g}"
    said = answer_place("saved")

    def log() -> None:
        called = name.need("Give it a name or number.")
        spent = paid.need("Write what you paid; 0 when it was free.")
        cells["furniture_type"].need("Write what it is.")
        refuse_demo(shop)
        if shop.records.flips["piece"].astype("str").str.casefold().eq(called.casefold()).any():
            name.refuse(f"There is a piece called {called} already.")
        typed = {c: one.read() or "" for c, one in cells.items()}
        on = day.need("Write the day.")
        log_entry(shop.records, Entry(on, called, "bought", spent, with_details(typed)))
        shop.reread()
        for one in (name, paid, *cells.values()):
            one.control.value = ""
        said.value = sentence(f"Logged: {called} bought.")

    go = fields.button("log", "Log it", lambda: guarded(log, said), main=True)
    return form_box("A piece bought", [name, paid, *cells.values(), day], [go], [said])


def story_form(shop: ShopFront) -> Any:
    """Everything known of one piece, in the order of the days."""
    statuses = ("listed", "in work", "sold", "withdrawn")
    piece = fields.choice("piece", "Piece", on_hand(shop, *statuses))
    answer = answer_place()

    def tell() -> None:
        answer.value = story(shop.records, piece.need("There is no piece on record."))._repr_html_()

    go = fields.button("tell", "Show its story", lambda: guarded(tell, answer), main=True)
    return form_box("One piece, one story", [piece], [go], [answer])


def timer_form(shop: ShopFront) -> Any:
    """Start and stop the timer of a piece; it runs on while the page is closed."""
    piece = fields.choice("piece", "Piece", on_hand(shop, "in work", "listed"))
    step = fields.choice("step", "Step", STEPS)
    said = answer_place("saved")

    def now_running() -> str:
        on = [f"{r.piece} ({r.step}) since {r.since:%H:%M}" for r in running(shop.records)]
        return f"Running: {', '.join(on)}." if on else "No timer runs."

    def run(action: str) -> None:
        refuse_demo(shop)
        name, now = piece.need("There is no piece on hand."), datetime.now()
        done = ""
        if action == "start":
            start_timer(shop.records, name, step.control.value, now=now)
        elif action == "stop":
            minutes = 60 * stop_timer(shop.records, name, now=now)
            done = f"Logged for {name}: {minutes:.0f} minutes. "
        else:
            drop_timer(shop.records, name, now=now)
        shop.reread()
        said.value = sentence(done + now_running())

    said.value = sentence(now_running())
    buttons = [
        fields.button(key, label, partial(guarded, partial(run, key), said), main=not i)
        for i, (key, label) in enumerate(
            (("start", "Start"), ("stop", "Stop and log it"), ("drop", "Stop, log nothing"))
        )
    ]
    return form_box("Timer", [piece, step], buttons, [said])
