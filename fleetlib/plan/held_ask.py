"""One asking price held without a markdown: how soon it sells, and what it is expected to bring."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fleetlib.base.money import format_money
from fleetlib.base.said import percent
from fleetlib.plan.case import Case

WEEKS = (4, 8, 12)


@dataclass(frozen=True, slots=True)
class HeldAsk:
    """`ask` (money) held from today on.

    sold_within    pairs of (weeks from today, chance that it is sold by then)
    expected_net   money in hand on average: held to the plan's last day, then let go at the salvage value
    """

    ask: float
    sold_within: tuple[tuple[int, float], ...]
    expected_net: float

    def sentence(self, currency: str) -> str:
        """The same in words."""
        chances = ", ".join(
            f"{weeks} weeks {percent(chance)}" for weeks, chance in self.sold_within
        )
        return (
            f"Asking {format_money(self.ask, currency)} and holding it: sold within {chances}; "
            f"expected in hand {format_money(self.expected_net, currency)}."
        )


def held_ask(case: Case, ask: float) -> HeldAsk:
    """What holding `ask` (money) from today on may bring, the mean over the draws; the weeks may outlast the plan."""
    weekly = replace(case, edges=case.edges[0] + 7.0 * np.arange(max(WEEKS) + 1))
    sold = weekly.worth(np.full(max(WEEKS), float(ask))).sold_by
    to_the_end = case.worth(np.full(len(case.edges) - 1, float(ask)))
    within = tuple((weeks, float(sold[weeks - 1])) for weeks in WEEKS)
    return HeldAsk(float(ask), within, to_the_end.expected_net)
