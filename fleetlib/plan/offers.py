"""Which offer to take: the lowest one worth taking, an offer on the table, two pieces to one buyer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetlib.base.money import format_money
from fleetlib.plan.case import Case
from fleetlib.plan.solver.path import PricePath


@dataclass(frozen=True, slots=True)
class OfferAnswer:
    """An offer on the table: take it or not, with the numbers.

    amount          the offer, money
    lowest          the lowest offer worth taking today
    brings          money in hand from taking it, fees and selling cost taken off
    waiting_brings  money expected from keeping to the plan instead
    weeks_over      the piece was to be gone by now, so the lowest is the floor, whatever waiting brings
    """

    amount: float
    lowest: float
    brings: float
    waiting_brings: float
    currency: str
    weeks_over: bool = False

    @property
    def take(self) -> bool:
        """Taking it brings at least what waiting is expected to bring, or the piece's weeks are over."""
        return self.amount >= self.lowest

    @property
    def short(self) -> str:
        """The answer in a few words."""
        amount = format_money(self.amount, self.currency)
        if self.take and not (self.weeks_over and self.brings < self.waiting_brings):
            return f"take the offer of {amount}"
        if self.take or self.brings >= self.waiting_brings:
            return f"the offer of {amount} is yours to decide"
        return f"not for {amount}, from about {format_money(self.lowest, self.currency)} on"

    def __str__(self) -> str:
        amount, brings, waiting = (
            format_money(v, self.currency) for v in (self.amount, self.brings, self.waiting_brings)
        )
        if self.take and self.weeks_over and self.brings < self.waiting_brings:
            return (
                f"An offer of {amount}: its weeks are over, so by your own terms it may go. It puts {brings} in hand "
                f"now; coming down as planned is expected to bring {waiting}. Yours to decide."
            )
        if self.take:
            return (
                f"An offer of {amount}: take it. It puts {brings} in hand now; keeping to the plan is "
                f"expected to bring {waiting}."
            )
        lowest = format_money(self.lowest, self.currency)
        if self.brings >= self.waiting_brings:
            return (
                f"An offer of {amount}: it beats waiting ({brings} in hand now, {waiting} expected), but it is "
                f"under your own least price, {lowest}. Yours to decide."
            )
        return (
            f"An offer of {amount}: not yet. It puts {brings} in hand now; keeping to the plan is expected to "
            f"bring {waiting}. From about {lowest} on it is worth taking."
        )


@dataclass(frozen=True, slots=True)
class TogetherOffer:
    """The lowest offer worth taking for two pieces that one buyer wants: the two lowest offers added up."""

    names: tuple[str, str]
    lowest_offer: float
    asking_prices: float
    currency: str

    def __str__(self) -> str:
        first, second = self.names
        return (
            f"{first} and {second} to one buyer: take anything from about "
            f"{format_money(self.lowest_offer, self.currency)} for both (they are asked "
            f"{format_money(self.asking_prices, self.currency)} together). Each piece would wait as long without "
            "the other, so the two lowest offers simply add up; take off what one trip instead of two saves you."
        )


def lowest_offers(case: Case, path: PricePath) -> np.ndarray:
    """(n + 1,) lowest offers at the start of each period and after the last; never under the owner's floor.

    While nothing happens it never rises: where waiting is worth more later (a markdown is not due yet), it is that
    already. Past its weeks a piece was to go for salvage: anything from the floor up is within the owner's own terms.
    A piece that is asked less than that floor has made its choice: the ask itself is then taken.
    """
    lowest = path.lowest_offers(fee_share=case.fee_share, selling_cost=case.selling_cost)
    lowest = np.maximum.accumulate(lowest[::-1])[::-1].copy()
    if case.past_horizon:
        lowest[:] = case.floor
    lowest = np.maximum(lowest, case.floor)
    n = len(path.prices)
    lowest[:n] = np.minimum(lowest[:n], path.prices)
    return np.asarray(lowest)


def rounded_offer(lowest: float, ask: float, case: Case) -> float:
    """To the nearest 5 (or the price step where that is finer), never under the floor nor over the ask."""
    unit = min(5.0, case.settings.price_step)
    near = unit * np.floor(lowest / unit + 0.5)
    if near < case.floor - 1e-9:
        near = unit * np.ceil(case.floor / unit - 1e-9)
    return float(min(near, ask)) if ask >= min(case.floor, lowest) - 1e-9 else float(near)


def answer_to(
    case: Case, path: PricePath, lowest: float, offer: float | None
) -> OfferAnswer | None:
    """What to say to `offer`, or to the one logged last; None without any."""
    if offer is None:
        if case.so_far is None or case.so_far.offer is None:
            return None
        offer = case.so_far.offer[1]
    brings = offer * (1 - case.fee_share) - case.selling_cost
    return OfferAnswer(
        offer, lowest, brings, path.expected_net, case.settings.currency, case.past_horizon
    )
