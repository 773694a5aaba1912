"""A markdown plan's dates as a calendar file (iCalendar, RFC 5545) for any calendar program."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import pandas as pd

from fleetlib.base.money import format_money
from fleetlib.base.said import day_said
from fleetlib.base.saving import write_whole
from fleetlib.base.unseen import without_unseen
from fleetlib.plan.markdowns import MarkdownPlan
from fleetlib.records.piece import with_what

_FIRST_DAY = date(
    2020, 1, 1
)  # plans are numbered by days since then, so that a later one replaces an earlier

_OURS = b"-//fleetlib//markdown plan//EN"  # stands at the start of every calendar of ours


def save_calendar(plan: MarkdownPlan, path: str | Path) -> Path:
    """Write the plan's markdowns to `path` and the day it goes for salvage as all-day events.

    Importing the file twice, or a later plan of the same piece, changes the events instead of doubling
    them. A later plan with fewer markdowns, or after one made early, leaves old ones behind: delete those. A piece
    without a name is told from others by all that is known of it.
    Returns the path. Raises CannotSave, also where a file is there that is no calendar of ours.
    """
    return write_whole(path, calendar_bytes(plan), over=(_OURS,))


def save_shop_calendar(plans: Iterable[MarkdownPlan], path: str | Path) -> Path:
    """Write the dated steps of all `plans` to one file, as `save_calendar` does for one. Returns the path."""
    return write_whole(path, calendar_bytes(*plans), over=(_OURS,))


def calendar_bytes(*plans: MarkdownPlan) -> bytes:
    """The calendar file's content; the same plans give the same bytes."""
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("prodid", _OURS.decode())
    calendar.add("version", "2.0")
    for plan in plans:
        for component in _steps(plan):
            calendar.add_component(component)
    content: bytes = calendar.to_ical()
    return content


def _steps(plan: MarkdownPlan) -> Iterator[Any]:
    """The markdowns ahead and the day of salvage, as events with a reminder the evening before."""
    import icalendar

    for number, day, before, ask, lowest in _markdowns(plan):
        event = icalendar.Event()
        _sign(event, plan, f"markdown {number}")
        _all_day(event, day)
        new, old, least = (format_money(v, plan.currency) for v in (ask, before, lowest))
        event.add("summary", f"{_title(plan)}: ask {new} (was {old})")
        event.add(
            "description",
            f"New asking price {new}, down from {old}.\nLowest offer worth taking from this day: about {least}.\n"
            f"Planned on {day_said(plan.as_of)}, if it is still unsold. An offer or a sale changes the plan: make it "
            "again.",
        )
        yield _reminded(event)
    yield _reminded(_ending(plan, icalendar.Event()))


def _title(plan: MarkdownPlan) -> str:
    """The piece's name and kind, so that the entry can be read without the records."""
    return without_unseen(with_what(plan.piece.piece, plan.piece.what))


def _all_day(event: Any, day: date) -> None:
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("transp", "TRANSPARENT")


def _reminded(event: Any) -> Any:
    """The event with a reminder at six in the evening before its day."""
    import icalendar

    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", str(event["summary"]))
    alarm.add("trigger", timedelta(hours=-6))
    event.add_component(alarm)
    return event


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


def _ending(plan: MarkdownPlan, event: Any) -> Any:
    """The day the piece is let go: an event too, since many calendars show no to-do."""
    _sign(event, plan, "salvage")
    salvage = format_money(plan.salvage, plan.currency)
    _all_day(event, plan.ends_on)
    event.add("summary", f"{_title(plan)}: if still unsold, let it go for salvage, about {salvage}")
    return event


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
