"""The best path of asks of one piece on one day, worked out once for a shop and kept."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from typing import Any, NamedTuple

import numpy as np

from fleetlib.base.kept_numbers import Numbers, kept
from fleetlib.fits import Fits
from fleetlib.plan.case import Case, case_for
from fleetlib.plan.solver.path import PricePath
from fleetlib.records.piece import Piece


class Planned(NamedTuple):
    """A piece put to the planner, and the best path of asks for it."""

    case: Case
    path: PricePath


def planned(fits: Fits, piece: Piece, as_of: date | None = None) -> Planned:
    """`piece` as it stands on `as_of` (left out: the shop's day) with its best path.

    Kept on `fits`: whatever else asks about the same piece and day gets the same one. Raises BadQuestion as
    `case_for` does.
    """
    key = (Planned, piece, fits.as_of if as_of is None else as_of)
    if key not in fits.kept:
        case = case_for(fits, piece, key[2])
        path = kept(
            "best path of asks",
            case,
            case.best_path,
            numbers=lambda made: {
                f.name: np.array(getattr(made, f.name)) for f in fields(PricePath)
            },
            again=_path,
        )
        fits.kept[key] = Planned(case, path)
    found: Planned = fits.kept[key]
    return found


def _path(numbers: Numbers) -> PricePath:
    """The path that was kept: single figures as they were, the rest arrays."""
    single: dict[str, Any] = {n: v.item() if v.ndim == 0 else v for n, v in numbers.items()}
    return PricePath(**single | {"markdowns": int(single["markdowns"])})
