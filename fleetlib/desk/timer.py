"""A timer for hands-on work that survives a closed page: its start is an entry in events.csv."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.saving import locked
from fleetlib.desk.logging_lines import log_entry
from fleetlib.records.folder import Records
from fleetlib.records.log.append import standing_events
from fleetlib.records.log.grammar import Entry

BY_TIMER = " by the timer"  # ends the note of hours that a timer logged
LONGEST_HOURS = 16.0  # a timer left on overnight is no day's work


@dataclass(frozen=True, slots=True)
class Running:
    """A timer that runs: the piece, the step, and when it was started (the person's own clock)."""

    piece: str
    step: str
    since: datetime


def running(logged: pd.DataFrame) -> list[Running]:
    """The timers that run by the standing events `logged` (as `Records.logged`), oldest first."""
    found: dict[str, Running] = {}
    for e in logged.itertuples(index=False):
        piece, event = str(e.piece), str(e.event)
        note = e.note if isinstance(e.note, str) else ""
        if event == "timer_started":
            step, _, since = note.partition(" at ")
            try:
                found[piece] = Running(piece, step, datetime.fromisoformat(since))
            except ValueError:
                continue
        elif event == "timer_stopped" or (event == "hours" and note.endswith(BY_TIMER)):
            found.pop(piece, None)
    return sorted(found.values(), key=lambda r: r.since)


def start_timer(records: Records, piece: str, step: str, *, now: datetime) -> None:
    """Start the timer of `piece`. Raises BadQuestion while it runs."""
    when = now.replace(microsecond=0).isoformat()
    with locked(records.folder):  # another window may have started it since this one looked
        if any(r.piece == piece for r in running(standing_events(records.folder))):
            raise BadQuestion(f"The timer of {piece} runs already. Stop it first.")
        log_entry(records, Entry(now.date(), piece, "timer_started", None, f"{step} at {when}"))


def stop_timer(records: Records, piece: str, *, now: datetime) -> float:
    """Stop the timer of `piece` and log its hours on the day it was started; returns them.

    Raises BadQuestion where none runs, or where it ran longer than a day's work: then write the hours.
    """
    with locked(records.folder):
        mine = [r for r in running(standing_events(records.folder)) if r.piece == piece]
        if not mine:
            raise BadQuestion(f"No timer runs for {piece}.")
        hours = round((now - mine[0].since).total_seconds() / 3600, 4)
        if not 0 <= hours <= LONGEST_HOURS:
            raise BadQuestion(
                f"The timer of {piece} has run since {mine[0].since}, which is no day's work. Drop it, and write the "
                "hours."
            )
        on = mine[0].since.date()
        log_entry(records, Entry(on, piece, "hours", hours, f"{mine[0].step}{BY_TIMER}"))
    return hours


def drop_timer(records: Records, piece: str, *, now: datetime) -> None:
    """Stop the timer of `piece` and log no hours."""
    log_entry(records, Entry(now.date(), piece, "timer_stopped", None, "no hours logged"))
