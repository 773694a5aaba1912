"""One builder of true `Records` and `Fits` for tests, so that no room needs to allow for half of one."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from fleetlib.base.settings import Settings
from fleetlib.fits import Fits
from fleetlib.records.folder import Records
from fleetlib.records.log.side_files import no_advice, no_events, no_supplies

AS_OF = date(2026, 9, 30)
_CHANGES = ["line", "column", "was", "now", "why"]
_QUESTIONS = ["line", "piece", "column", "value", "question"]
_ASIDE = ["line", "column", "value", "reason", "remedy", "text"]


def records_of(
    flips: pd.DataFrame,
    *,
    events: pd.DataFrame | None = None,
    supplies: pd.DataFrame | None = None,
    advice_log: pd.DataFrame | None = None,
    settings: Settings | None = None,
    as_of: date = AS_OF,
) -> Records:
    """Records with `flips` and what else a test needs; everything else is there and empty."""
    flips = flips if "line" in flips else flips.assign(line=range(2, len(flips) + 2))
    happened = no_events() if events is None else events
    return Records(
        folder=Path("invented"),
        name="flips.csv",
        flips=flips,
        set_aside=pd.DataFrame(columns=_ASIDE),
        changes=pd.DataFrame(columns=_CHANGES),
        questions=pd.DataFrame(columns=_QUESTIONS),
        notes=(),
        events=happened,
        supplies=no_supplies() if supplies is None else supplies,
        advice_log=no_advice() if advice_log is None else advice_log,
        other_set_aside=pd.DataFrame(columns=["file", *_ASIDE]),
        settings=settings or Settings(as_of=as_of),
        as_of=as_of,
        logged=happened,
        refunded=pd.Series(0.0, index=flips.index),
    )


def shop_of(
    records: Records, *, prices: Any = None, selling: Any = None, hours: Any = None
) -> Fits:
    """The fits of a test: `records`, and models whose truth is known."""
    return Fits(records, records.settings, records.as_of, prices, selling, hours)
