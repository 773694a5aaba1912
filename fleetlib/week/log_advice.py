"""Advice kept in the shop's own log, so that later reviews can grade it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from fleetlib.base.errors import BadQuestion
from fleetlib.base.kit import is_kit_demo, kit_version
from fleetlib.base.settings import Settings
from fleetlib.records.folder import Records
from fleetlib.records.log.append import SavedAdvice, append_advice
from fleetlib.week.advice import Advice

NO_NAME = "Advice is logged under the name of the piece, and this one has none. Give it a name: piece='A-113'."


def log_advice(records: Records, advice: Advice) -> Path | None:
    """Append `advice` to the shop folder's advice_log.csv; returns the file.

    The demo that came with fleetlib is never written to: nothing is logged there, and None returned. A piece without
    a name gets none of its own in the log, so it is refused with BadQuestion.
    """
    if not advice.piece.piece:
        raise BadQuestion(NO_NAME)
    if is_kit_demo(records.folder):
        return None
    saved, name = logged(advice, records.settings), advice.piece.piece
    return append_advice(records.folder, replace(saved, piece=records.full_names.get(name, name)))


def logged(advice: Advice, settings: Settings | None = None) -> SavedAdvice:
    """The advice as a line of the log: the range, the owner's own price and the dated asks.

    The first of these also names the fleetlib that gave it and, with `settings`, those chosen then, so that a
    later difference can be told from a change of the kit.
    """
    made, estimate = advice.plan, advice.estimate
    steps: list[dict[str, Any]] = []
    for _, row in made.table.iterrows():
        step = {str(k): v for k, v in row.items()}
        steps.append(step | {"from_date": row["from_date"].date()})
    if steps:
        steps[-1]["by_date"] = made.ends_on
        steps[0]["kit"] = kit_version()
        if settings is not None:
            steps[0]["settings"] = settings.differing()
    return SavedAdvice(
        on=made.as_of,
        piece=str(advice.piece.piece),
        low=estimate.low if estimate is not None else None,
        mid=estimate.mid if estimate is not None else None,
        high=estimate.high if estimate is not None else None,
        level=estimate.level if estimate is not None else None,
        days_listed=estimate.days_listed if estimate is not None else None,
        gut_price=advice.piece.gut_price,
        asking_price=float(made.table["asking_price"].iloc[0]),
        floor=made.floor,
        expected_net=made.expected_net,
        expected_days=made.expected_days,
        plan=steps,
    )
