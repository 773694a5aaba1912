"""What one find would bring once it is worked on and sold: money, hours, days, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.special import ndtri

from fleetlib.base.errors import BadQuestion
from fleetlib.base.money import format_money
from fleetlib.base.settings import Settings
from fleetlib.pay.piece_values import money_of
from fleetlib.pay.promised import promises_kept
from fleetlib.plan.case import Case
from fleetlib.plan.outcomes import Outcomes, outcomes
from fleetlib.plan.planned import planned
from fleetlib.records.piece import Piece
from fleetlib.work.materials import UsualMaterials, usual_materials

if TYPE_CHECKING:
    from fleetlib.fits import Fits

SEED = 2026
DRAWS = 10_000
_FIFTHS = ndtri([0.1, 0.3, 0.5, 0.7, 0.9])  # the middle of each fifth of a standard normal
_FEW = 5  # pieces of a type with both dates before the type has its own working time


@dataclass(frozen=True, eq=False, slots=True)
class FindValue:
    """Everything about a find but its price. Money in the shop's currency.

    expected_net: the money the plan brings on average over what is uncertain about buyers and price, without holding
    cost (`pay/piece_values.py` says why); doubt: the standard deviation of what such a find is really worth to the
    shop about that; materials and other costs; hours expected, with `hours_range` (8 times out of 10) and `hours_from`
    in words; ready_days from buying to listing; `outcomes` in money; nets and hours drawn together, (DRAWS,) each.
    """

    piece: Piece
    case: Case = field(repr=False)
    prices: np.ndarray = field(repr=False)
    expected_net: float
    materials: float
    materials_from: str
    other: float
    hours: float
    hours_range: tuple[float, float]
    hours_from: str
    ready_days: float
    outcomes: Outcomes = field(repr=False)
    drawn_nets: np.ndarray = field(repr=False)
    drawn_hours: np.ndarray = field(repr=False)
    doubt: float = 0.0

    @property
    def even_price(self) -> float:
        """The buy price at which nothing is earned and nothing lost, on average."""
        return self.expected_net - self.materials - self.other

    def highest_price(self, target: float) -> float:
        """The buy price at which expected profit / expected hours = `target` (money an hour)."""
        return self.even_price - target * self.hours

    def profit(self, buy_price: float) -> float:
        """Expected profit when bought at `buy_price`."""
        return self.even_price - buy_price

    def outlay(self, buy_price: float) -> float:
        """Cash laid out until it sells: price, materials, other costs."""
        return buy_price + self.materials + self.other

    def chance_of_loss(self, buy_price: float) -> float:
        """The chance that the piece brings less than it cost."""
        return self.outcomes.chance_below(self.outlay(buy_price))

    def chance_under(self, buy_price: float, target: float) -> float:
        """The chance that the hours pay less than `target` an hour, hours and sale both uncertain."""
        paid = self.drawn_nets - self.outlay(buy_price)
        return float((paid < target * self.drawn_hours).mean())

    def with_asking(self, factor: float) -> float:
        """Expected net if every ask were `factor` times the plan's."""
        return self._moved(asking=factor)

    def if_it_fetches(self, factor: float) -> float:
        """Expected net if it turns out to be worth `factor` times as much to buyers."""
        return self._moved(fetches=factor)

    def _moved(self, *, asking: float = 1.0, fetches: float = 1.0) -> float:
        """expected_net moved in the proportion in which the best fit moves."""
        made = outcomes(self.case, self.prices, asking=asking, fetches=fetches)
        plain = money_of(self.case, outcomes(self.case, self.prices)).expected_net
        return self.expected_net * money_of(self.case, made).expected_net / plain


def value_find(fits: Fits, piece: Piece, *, usual: UsualMaterials | None = None) -> FindValue:
    """Plan, hours and costs of a piece not bought yet.

    The piece's own `hours` and `materials_cost`, where given, are the owner's guess for the whole job and
    are used; else the records' (`usual` saves learning the materials again for a list of finds). Raises
    BadQuestion when nothing says how many hours it takes, or what it may bring.
    """
    as_found = replace(piece, piece=None, listed_on=None, asking_price=None, last_asking_price=None)
    hours, hours_range, hours_from, drawn_hours = _hours(fits, as_found)
    case, path = planned(fits, as_found)
    usual = usual_materials(fits.records.flips) if usual is None else usual
    materials, materials_from = _materials(as_found, usual)
    spread, doubt = _worth(fits, case, path.prices)
    return FindValue(
        piece=piece,
        case=case,
        prices=path.prices,
        expected_net=spread.expected_net,
        materials=materials,
        materials_from=materials_from,
        other=as_found.other_costs or 0.0,
        hours=hours,
        hours_range=hours_range,
        hours_from=hours_from,
        ready_days=days_to_ready(fits.records.first_listed, as_found.furniture_type),
        outcomes=spread,
        drawn_nets=spread.sample(np.random.default_rng(SEED), DRAWS),
        drawn_hours=drawn_hours,
        doubt=doubt,
    )


def whose_target(settings: Settings) -> tuple[str, ...]:
    """A sentence where nobody chose the target pay."""
    if "target_hourly_pay" in settings.chosen:
        return ()
    money = format_money(settings.target_hourly_pay, settings.currency)
    return (
        f"{money} an hour is the kit's target, since you chose none: set target_hourly_pay in settings.toml; what your "
        'past pieces paid an hour is under "fleetlib earnings"',
    )


def _worth(fits: Fits, case: Case, prices: np.ndarray) -> tuple[Outcomes, float]:
    """What asking `prices` may bring, in money, over every alternative of the fit, and the doubt about its worth.

    The plan was chosen to do best under the best fit, so its worth there flatters it; the average over the
    alternatives doesn't. The doubt is the quality that nothing on record shows and that of the usual price.
    """
    unsure = fits.prices.doubt(case.piece) if fits.prices and case.usual_from == "sales" else 0.0
    kind = case.piece.furniture_type
    hazards = fits.selling.drawn_hazards(kind, case.usual, case.gut, doubt=unsure)
    sd = math.hypot(case.hazard.frailty_sd, float(np.std([h.log_anchor for h in hazards])))
    made = [_unsold_unsure(money_of(case, outcomes(case, prices, hazard=h)), sd) for h in hazards]
    kept = promises_kept(fits).factor  # what earlier promises came to corrects this one
    spread = Outcomes(
        nets=kept * np.concatenate([o.nets for o in made]),
        days=np.concatenate([o.days for o in made]),
        chances=np.concatenate([o.chances for o in made]) / len(made),
    )
    return spread, sd * spread.expected_net


def _unsold_unsure(made: Outcomes, sd: float) -> Outcomes:
    """The same with the salvage value as unsure as the worth of the piece: `sd` of its log.

    Pieces that stay unsold are mostly those worth less than thought: their log worth is taken one sd lower.
    """
    factors = np.exp(sd * (_FIFTHS - 1.0))
    return Outcomes(
        nets=np.append(made.nets[:-1], made.nets[-1] * factors),
        days=np.append(made.days[:-1], np.full(len(factors), made.days[-1])),
        chances=np.append(
            made.chances[:-1], np.full(len(factors), made.chances[-1] / len(factors))
        ),
    )


def days_to_ready(flips: pd.DataFrame, furniture_type: str) -> float:
    """Median days from buying to listing, of the type where five pieces tell, else of the shop; NaN unknown."""
    waits = (flips["listed_on"] - flips["bought_on"]).dt.days
    waits = waits[waits >= 0]
    own = waits[flips.loc[waits.index, "furniture_type"] == furniture_type]
    chosen = own if len(own) >= _FEW else waits
    return float(chosen.median()) if len(chosen) else math.nan


def _hours(fits: Fits, piece: Piece) -> tuple[float, tuple[float, float], str, np.ndarray]:
    """Expected hours, their range, where they are from, and draws."""
    rng = np.random.default_rng(SEED + 1)
    if fits.hours is None:
        if not piece.hours:
            raise BadQuestion(
                f"{piece.name}: too few hours are on record to expect its own, so say how many hours the whole "
                "job takes (hours, such as 9)."
            )
        return (
            piece.hours,
            (piece.hours, piece.hours),
            "your own figure",
            np.full(DRAWS, float(piece.hours)),
        )
    expected, (low, high) = fits.hours.expected(piece), fits.hours.interval(piece)
    drawn = fits.hours.sample(piece, rng, DRAWS)
    if not piece.hours:
        return expected, (low, high), f"what {fits.hours.told_by} expect", drawn
    scale = piece.hours / expected
    return (
        piece.hours,
        (low * scale, high * scale),
        f"your own figure; {fits.hours.told_by} would say {expected:.1f}",
        drawn * scale,
    )


def _materials(piece: Piece, usual: UsualMaterials) -> tuple[float, str]:
    if piece.materials_cost is not None:
        return piece.materials_cost, "your own figure"
    cost = usual.of(piece)
    if cost != cost:
        return 0.0, "none on record, counted as 0"
    return cost, "usual for such a piece of yours"
