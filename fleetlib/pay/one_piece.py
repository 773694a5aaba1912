"""What one unsold piece is expected to bring an hour, by its plan and the hours it has or is taken to need."""

from __future__ import annotations

from dataclasses import dataclass

from fleetlib.base.money import format_money
from fleetlib.fits import Fits
from fleetlib.plan.markdowns import MarkdownPlan
from fleetlib.plan.planned import planned as best_path
from fleetlib.records.piece import Piece


@dataclass(frozen=True, eq=False, slots=True)
class HourlyPay:
    """What a piece is expected to bring for each hands-on hour.

    `profit` is the plan's expected net less what was paid for the piece, its materials and other costs
    (money); `hours` are hands-on hours; `basis` says where the hours are from; `missing` lists costs that
    are not on record and were counted as nothing.
    """

    profit: float
    hours: float
    basis: str
    missing: tuple[str, ...] = ()

    @property
    def per_hour(self) -> float:
        """Expected profit per hands-on hour, before tax."""
        return self.profit / self.hours

    def sentence(self, currency: str) -> str:
        """The same in words."""
        lacking = (
            f"; not on record and counted as 0: {', '.join(self.missing)}" if self.missing else ""
        )
        return (
            f"Expected pay: about {format_money(self.per_hour, currency)} an hour "
            f"({format_money(self.profit, currency)} over {self.hours:.3g} hours, {self.basis}){lacking}."
        )


def hourly_pay(fits: Fits, piece: Piece, made: MarkdownPlan) -> HourlyPay | None:
    """Expected profit over hours, by its plan `made`; None when nothing on record tells any hours.

    A piece still in work counts the hours so far or the ones expected in all, whichever are more.
    """
    expected = float(fits.hours.expected(piece)) if fits.hours is not None else 0.0
    worked = float(piece.hours) if piece.hours else 0.0
    in_work = piece.piece is not None and _status(fits, piece.piece) == "in work"
    hours = max(worked, expected) if in_work else (worked or expected)
    if not hours > 0:
        return None
    basis = (
        "the hours on record"
        if hours == worked
        else "the hours your records expect for such a piece"
    )
    costs = {"price paid": piece.buy_price, "materials": piece.materials_cost}
    missing = tuple(name for name, cost in costs.items() if cost is None)
    spent = sum(
        c for c in (piece.buy_price, piece.materials_cost, piece.other_costs) if c is not None
    )
    money = made.expected_net + _holding(fits, piece, made)
    return HourlyPay(profit=money - spent, hours=hours, basis=basis, missing=missing)


def _status(fits: Fits, name: str) -> str:
    """The status of the piece of that name, empty for one that is not on record."""
    flips = fits.records.flips
    found = flips.loc[flips["piece"] == name, "status"]
    return str(found.iloc[0]) if len(found) else ""


def _holding(fits: Fits, piece: Piece, made: MarkdownPlan) -> float:
    """The holding cost in the plan's expected net, money: it steers the plan and is in no pay (`piece_values`)."""
    return best_path(fits, piece).case.holding * made.expected_days / 7
