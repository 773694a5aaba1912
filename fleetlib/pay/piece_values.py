"""What each piece has brought or will bring: sold, withdrawn, unsold at its plan and unsold at nothing.

Pay an hour means the same wherever the kit says it: money received less money spent on the piece, over its
hands-on hours. The cost of holding a piece that the settings put on a week of waiting steers what to ask and when to
come down; it is nobody's bill, so it is in no pay (`money_of`, `expected_money`). Rent really paid is a supply.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.errors import FleetError
from fleetlib.base.said import count
from fleetlib.plan.case import Case
from fleetlib.plan.outcomes import Outcomes, outcomes_over_draws
from fleetlib.plan.planned import planned
from fleetlib.plan.solver.path import PricePath
from fleetlib.records.piece import Piece, piece_from_row
from fleetlib.records.schema.columns import GIVEN_AWAY, KEPT

if TYPE_CHECKING:
    from fleetlib.fits import Fits


@dataclass(frozen=True, eq=False, slots=True)
class PieceValues:
    """One row for each flip, on the same index.

    `frame` columns: piece, outcome (sold, withdrawn, unsold, in work, own use), came_on (the day it came to market),
    hours, costs (price paid, materials, other; missing where the price paid is), profit (unsold pieces at
    what their plan expects), profit_sd (how uncertain that is; 0 for the others), profit_at_nothing (unsold
    pieces at nothing), materials_known. Money in the shop's currency.
    """

    frame: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...] = ()


@lru_cache(maxsize=4)
def piece_values(fits: Fits) -> PieceValues:
    """Value every piece on record. An unsold piece is worth its plan's expected net, as of the shop's day.

    A withdrawn piece brought nothing, and its hours and costs stay; one kept or given away that never came to
    market was no work for sale and is marked as own use. A piece finished but not yet listed counts as unsold; one
    still in work has neither its hours nor its money together and is marked so.
    An unsold piece that cannot be planned is valued at nothing, and said.

    Planning every unsold piece takes a while, so the last few answers are kept; do not change the frame.
    """
    flips, first = fits.records.flips, fits.records.first_listed
    status = flips["status"].astype(str)
    done = status.eq("in work") & flips["piece"].isin(finished_pieces(fits.records.events))
    outcome = status.where(~done, "unsold").replace({"listed": "unsold"})
    never = first["listed_on"].isna() & flips["asking_price"].isna() & status.eq("withdrawn")
    outcome = outcome.mask(never & flips["outcome"].isin((KEPT, GIVEN_AWAY)), "own use")
    costs = (
        flips["buy_price"] + flips["materials_cost"].fillna(0.0) + flips["other_costs"].fillna(0.0)
    )
    net = np.where(outcome.eq("sold"), flips["net_price"], 0.0)
    expected, sd, unplanned = net.copy(), np.zeros(len(net)), []
    unsold = np.flatnonzero(outcome.eq("unsold"))
    pieces = [piece_from_row(flips.iloc[at]) for at in unsold]
    if fits.prices is not None:
        fits.prices.tell_together(pieces)
    for at, piece in zip(unsold, pieces, strict=True):
        try:
            expected[at], sd[at] = planned_net(fits, piece)
        except FleetError:
            unplanned.append(str(piece.piece))
    frame = pd.DataFrame(
        {
            "piece": flips["piece"],
            "outcome": outcome,
            "came_on": came_to_market(first),
            "hours": flips["hours"],
            "costs": costs,
            "profit": expected - costs,
            "profit_sd": sd,
            "profit_at_nothing": net - costs,
            "materials_known": flips["materials_cost"].notna(),
        },
        index=flips.index,
    )
    notes = []
    if unplanned:
        notes.append(
            f"{count(len(unplanned), 'unsold piece')} cannot be planned for and valued at nothing: "
            f"{some(unplanned)}; a gut price would mend that"
        )
    return PieceValues(frame, tuple(notes))


def planned_net(fits: Fits, piece: Piece) -> tuple[float, float]:
    """The money that the best plan for `piece` expects from the shop's day on, and its standard deviation."""
    case, path = planned(fits, piece)
    return expected_money(case, path), money_of(
        case, outcomes_over_draws(fits, case, path.prices)
    ).sd


def expected_money(case: Case, path: PricePath) -> float:
    """The money that `path` expects to bring, fees and selling cost off; the holding cost of the wait put back."""
    return path.expected_net + case.holding * path.expected_weeks


def money_of(case: Case, made: Outcomes) -> Outcomes:
    """The same outcomes in money that changes hands: the holding cost of the wait put back."""
    return replace(made, nets=made.nets + case.holding * made.days / 7)


def came_to_market(flips: pd.DataFrame) -> pd.Series:
    """The day each piece was first listed; else the day it sold, was withdrawn, or was bought."""
    day = flips["listed_on"]
    for column in ("sold_on", "withdrawn_on", "bought_on"):
        day = day.fillna(flips[column])
    return day


def finished_pieces(events: pd.DataFrame) -> set[str]:
    """Names of the pieces whose work the events call finished."""
    return set(events.loc[events["event"] == "finished", "piece"].astype(str))


def some(names: list[str], joined: str = "and") -> str:
    """A few of `names` for a sentence: `A-1, A-2 and A-3`, `A-1, A-2, A-3 and 4 more`."""
    shown, rest = (names, 0) if len(names) <= 4 else (names[:3], len(names) - 3)
    if rest:
        return f"{', '.join(shown)} {joined} {rest} more"
    return f" {joined} ".join(filter(None, [", ".join(shown[:-1]), *shown[-1:]]))
