"""A markdown plan's dates as a calendar file (iCalendar, RFC 5545) for any calendar program."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.saving import write_whole
from fleetlib.plan.markdowns import MarkdownPlan

_FIRST_DAY = date(
    2020, 1, 1
)  # plans are numbered by days since then, so that a later one replaces an earlier


def save_calendar(plan: MarkdownPlan, path: str | Path) -> Path:
    """Write the plan's markdowns to `path` as all-day events, and the day it goes for salvage as a to-do.

    Importing the file twice, or a later plan of the same piece, changes the events instead of doubling
    them. A later plan with fewer markdowns, or after one made early, leaves old ones behind: delete those. A piece
    without a name is told from others by all that is known of it.
    Returns the path. Raises CannotSave.
    """
    return write_whole(path, calendar_bytes(plan))


def calendar_bytes(plan: MarkdownPlan) -> bytes:
    """The calendar file's content; the same plan gives the same bytes."""
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//fleetlib//markdown plan//EN")
    calendar.add("version", "2.0")
    for number, day, before, ask, lowest in _markdowns(plan):
        event = icalendar.Event()
        _sign(event, plan, f"markdown {number}")
        event.add("dtstart", day)
        event.add("dtend", day + timedelta(days=1))
        event.add("transp", "TRANSPARENT")
        new, old, least = (format_money(v, plan.currency) for v in (ask, before, lowest))
        event.add("summary", f"{plan.piece.name}: ask {new} (was {old})")
        event.add(
            "description",
            f"New asking price {new}, down from {old}.\nLowest offer worth taking from this day: about {least}.\n"
            f"Planned on {plan.as_of:%Y-%m-%d}, if it is still unsold. An offer or a sale changes the plan: make it "
            "again.",
        )
        calendar.add_component(event)
    calendar.add_component(_ending(plan, icalendar.Todo()))
    content: bytes = calendar.to_ical()
    return content


def _markdowns(plan: MarkdownPlan) -> list[tuple[int, date, float, float, float]]:
    """Number, day, ask before, new ask and lowest offer of each markdown ahead."""
    made = []
    before, number = plan.ask_now, plan.markdowns_made
    days = [day.date() for day in pd.to_datetime(plan.table["from_date"])]
    asks, lowest = plan.table["asking_price"].tolist(), plan.table["lowest_offer"].tolist()
    for day, ask, least in zip(days, asks, lowest, strict=True):
        if before is not None and ask < before and not plan.take_salvage_now:
            number += 1
            made.append((number, day, before, ask, least))
        before = ask
    return made


def _ending(plan: MarkdownPlan, todo: Any) -> Any:
    _sign(todo, plan, "salvage")
    salvage = format_money(plan.salvage, plan.currency)
    todo.add("due", plan.ends_on)
    todo.add(
        "summary", f"{plan.piece.name}: if still unsold, let it go for salvage, about {salvage}"
    )
    return todo


def _sign(component: Any, plan: MarkdownPlan, step: str) -> None:
    """Identity and time stamps: from the piece, the step and the plan's day, so never twice and never by clock."""
    when = datetime(plan.as_of.year, plan.as_of.month, plan.as_of.day, tzinfo=UTC)
    component.add("uid", _identity(plan, step))
    component.add("dtstamp", when)
    component.add("last-modified", when)
    made = min(
        plan.markdowns_made, 9
    )  # a second plan of one day, after a markdown, is the later one
    component.add("sequence", 10 * max((plan.as_of - _FIRST_DAY).days, 0) + made)


def _identity(plan: MarkdownPlan, step: str) -> str:
    text = f"fleetlib {plan.piece.piece or repr(plan.piece)} {step}"
    return str(uuid5(NAMESPACE_OID, text))
