"""What materials usually cost: the shop's average, moved by type and finish as far as the records bear it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pandas as pd

from fleetlib.work.whole_jobs import whole_jobs

if TYPE_CHECKING:
    from fleetlib.records.piece import Piece

_WORK = ("condition", "route")
STEADY = 3.0  # a type or finish counts in full only well beyond this many pieces; our own choice


@dataclass(frozen=True, slots=True)
class UsualMaterials:
    """`average` cost a piece (money; NaN where none is on record) and the factor of each type and finish."""

    average: float
    by_type: dict[str, float]
    by_finish: dict[str, float]
    pieces: int
    by_work: dict[str, dict[str, float]] = field(default_factory=dict)
    level: float = 1.0

    def cost(self, furniture_type: Any, finish: Any, **work: Any) -> float:
        """average x level x factor of the type x of the finish; a word not stated or never seen has factor 1.

        `work`: condition and route, each with a factor of its own (`by_work`).
        """
        cost = (
            self.average
            * self.level
            * self.by_type.get(str(furniture_type), 1.0)
            * self.by_finish.get(str(finish), 1.0)
        )
        for column, word in work.items():
            cost *= self.by_work.get(column, {}).get(str(word), 1.0)
        return cost

    def of(self, piece: Piece) -> float:
        """The usual cost for `piece`, all it states counted."""
        return self.cost(
            piece.furniture_type, piece.finish, **{c: getattr(piece, c) for c in _WORK}
        )


def usual_materials(flips: pd.DataFrame) -> UsualMaterials:
    """Learn the usual cost of materials from the pieces that are past their work and have one on record.

    The factor of a type is (sum of its costs + 3 averages) / ((its pieces + 3) averages); the factor of a
    finish likewise against what its types would cost, so that a finish is not blamed for big pieces.
    """
    used = whole_jobs(flips)
    used = used[used["materials_cost"].notna()]
    average = float(used["materials_cost"].mean()) if len(used) else math.nan
    if not len(used) or average <= 0:
        return UsualMaterials(average, {}, {}, len(used))
    by_type = _factors(used["furniture_type"], used["materials_cost"], average)
    expected = used["furniture_type"].astype(str).map(by_type).fillna(1.0) * average
    by_finish = _factors(used["finish"], used["materials_cost"] / expected, 1.0)
    expected *= used["finish"].astype(str).map(by_finish).fillna(1.0)
    by_work = {}
    for column in _WORK:
        if column in used:
            by_work[column] = _factors(used[column], used["materials_cost"] / expected, 1.0)
            expected *= used[column].astype(str).map(by_work[column]).fillna(1.0)
    level = float(used["materials_cost"].sum() / expected.sum())  # factors drawn toward 1 lose some
    return UsualMaterials(average, by_type, by_finish, len(used), by_work, level)


def _factors(words: pd.Series, costs: pd.Series, average: float) -> dict[str, float]:
    known = words.notna()
    sums = costs[known].groupby(words[known].astype(str)).agg(["sum", "size"])
    factors = (sums["sum"] + STEADY * average) / ((sums["size"] + STEADY) * average)
    return {str(word): float(f) for word, f in factors.items()}
