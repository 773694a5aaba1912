"""One piece put to the planner: what it is worth, what waiting costs, which asks and which days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion
from fleetlib.base.money import price_ladder, round_price
from fleetlib.base.said import day_said
from fleetlib.base.settings import WEEKDAYS, Settings
from fleetlib.plan.dates import periods, weeks_to_come_down
from fleetlib.plan.habits import USUAL_CUT, deepest_cut
from fleetlib.plan.near_habit import habit, near_habit
from fleetlib.plan.solver.over_draws import nets_by_draw
from fleetlib.plan.solver.path import (
    Market,
    PathValue,
    PricePath,
    Start,
    Terms,
    fewest_markdowns,
    improved_path,
    path_value,
    path_worth,
    plan_markdowns,
)
from fleetlib.plan.solver.worth_and_chance_sold import NOTHING_YET
from fleetlib.price.estimate import prices_for
from fleetlib.records.listing_history import ListedSoFar, listed_so_far
from fleetlib.records.own_price import first_advice, own_price
from fleetlib.records.piece import Piece
from fleetlib.records.rows_by_name import rows_named
from fleetlib.selling.hazard import Hazard, log_exposures, log_rates, log_stretches
from fleetlib.selling.market import Draws, market_for

if TYPE_CHECKING:
    from fleetlib.fits import Fits

UsualFrom = Literal["sales", "gut price", "asking price", "its place among the kinds"]
MOST_ASKS = 48
HOLDING_SHARE = 0.01  # of the usual sale price a week, where the settings name no holding cost
FEWER_WITHIN = 0.005  # of the worth: for less a new plan does without a markdown
_POINTS = 48
_NEVER_ABOVE = 3.0  # times the anchored value, where nothing caps the asks


@dataclass(frozen=True, eq=False)
class Case:
    """Everything the planner needs about one piece on one day.

    usual     usual sale price, money; gut the owner's own price or None; usual_from says where from: "sales",
              "gut price", "asking price" or "its place among the kinds"
    so_far    the listing as it stands, None for a piece not listed yet
    edges     (T + 1,) days on the market at which the periods of the plan begin and end; `dates` the same as
              calendar days. The first begins on as_of, the others on the owner's weekday
    asks      the asking prices to choose from, rising: every step of the shop
    coarse    at most 48 of them, spread evenly; the search begins among these. Multiples of some whole step, so that
              they stay where they are when the highest ask moves
    floor     the least asking price: (max(salvage, least_cash) + selling cost)/(1 - fee share)
    salvage, holding (a week), fee_share, selling_cost: money and share
    past_horizon   it has been listed longer than the settings' horizon, and gets some weeks more to come down
    deepest_cut    the deepest single markdown the owner ever made, as a share of the ask before it
    draws          equally likely answers of buyers: a plan is worth its mean over them, and they tell the doubt.
                   `hazard`, the likeliest, only begins the search
    caution        how much the worst quarter of the draws counts where a plan is chosen, 0 to 1
    """

    piece: Piece
    as_of: date
    settings: Settings
    usual: float
    gut: float | None
    usual_from: UsualFrom
    so_far: ListedSoFar | None
    hazard: Hazard = field(repr=False)
    edges: np.ndarray = field(repr=False)
    dates: tuple[date, ...] = field(repr=False)
    asks: np.ndarray = field(repr=False)
    coarse: np.ndarray = field(repr=False)
    floor: float
    salvage: float
    holding: float
    fee_share: float
    selling_cost: float
    past_horizon: bool
    deepest_cut: float = USUAL_CUT
    draws: tuple[Hazard, ...] = field(default=(), repr=False)
    caution: float = 0.0

    @property
    def terms(self) -> Terms:
        """The planner's terms; a listed piece has used some of its markdowns."""
        most = self.settings.most_markdowns
        if self.so_far is not None:
            most = max(most - self.so_far.markdowns, 0)
        if self.past_horizon and self.so_far is not None:
            # Past its weeks it may come down as often again, and once at the least.
            over = 7 * self.settings.horizon_weeks
            since = sum(day >= over for day in self.so_far.since[1:])
            most = max(self.settings.most_markdowns - since, 1)
        return Terms(self.holding, self.salvage, most, self.settings.weeks_between_markdowns)

    @property
    def last_weeks(self) -> int:
        """Weeks a piece past its horizon gets to come down."""
        return weeks_to_come_down(
            self.so_far, self.settings, floor=self.floor, deepest_cut=self.deepest_cut
        )

    @property
    def floor_over_cap(self) -> bool:
        """The least ask on the shop's steps is above the highest the records support."""
        return bool(self.asks[0] > self.hazard.highest_ask)

    @property
    def first_dated_change(self) -> int:
        """The first period at whose start the ask may come down."""
        gap = timedelta(weeks=self.settings.weeks_between_markdowns)
        since = self.as_of if self.so_far is None else self.so_far.last_change
        for k, day in enumerate(self.dates[:-1]):
            if WEEKDAYS[day.weekday()] == self.settings.markdown_weekday and day >= since + gap:
                return k
        return len(self.dates) - 1

    def start(self, hazard: Hazard) -> Start:
        """Where the plan starts under `hazard`."""
        if self.so_far is None:
            return Start(wait=self.first_dated_change)
        return Start(float(self._gone_by([hazard])[0]), self.so_far.ask, self.first_dated_change)

    def _gone_by(self, hazards: Sequence[Hazard]) -> np.ndarray:
        """(H,) log X of the weeks gone by unsold under each of H hazards."""
        gone = self.so_far
        if gone is None:
            return np.full(len(hazards), NOTHING_YET)
        return log_exposures(hazards, gone.asks, gone.since, gone.days)

    def market(self, hazard: Hazard, asks: np.ndarray | None = None) -> Market:
        """The market of this piece over the plan's periods, at `asks` (default: those to choose from).

        With this piece's own hazard it holds the draws of the fit, so that what it says of a path is their mean.
        """
        made = market_for(
            hazard,
            self.asks if asks is None else asks,
            horizon_weeks=1,
            fee_share=self.fee_share,
            selling_cost=self.selling_cost,
        )
        return replace(
            made,
            log_week=hazard.log_stretch(self.edges),
            week_lengths=np.diff(self.edges) / 7,
            draws=self._drawn(made.prices, self.draws)
            if hazard is self.hazard and self.draws
            else None,
        )

    def _drawn(self, asks: np.ndarray, hazards: Sequence[Hazard]) -> Draws:
        weeks, spread, exposure = (
            self._own_draws if hazards is self.draws else self._of_any_ask(hazards)
        )
        return Draws(
            log_rate=log_rates(hazards, asks),
            log_week=weeks,
            spread=spread,
            log_exposure=exposure,
            caution=self.caution,
        )

    @cached_property
    def _own_draws(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return self._of_any_ask(self.draws)

    def _of_any_ask(self, hazards: Sequence[Hazard]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """log_week, spread and log_exposure of `Draws`, which are the same whatever is asked."""
        return (
            log_stretches(hazards, self.edges),
            np.array([hazard.sensitivity * hazard.frailty_sd for hazard in hazards]),
            self._gone_by(hazards),
        )

    def sold_by(self, prices: np.ndarray, hazards: Sequence[Hazard]) -> np.ndarray:
        """(H, n) the chance of being sold by the end of each of n periods, asking `prices`, under each of H hazards."""
        asks, levels = np.unique(prices, return_inverse=True)
        return np.asarray(1.0 - self._drawn(asks, hazards).unsold(levels)[:, 1:])

    def worth(self, prices: np.ndarray, hazard: Hazard | None = None) -> PathValue:
        """The exact worth of asking `prices` in the plan's periods, whatever steps they are on.

        The mean over the draws of the fit, or what it is under `hazard`.
        """
        used = self.hazard if hazard is None else hazard
        market = self.market(used, np.unique(prices))
        return path_value(prices, market, self.terms, log_exposure=self.start(used).log_exposure)

    def as_path(self, asks: np.ndarray) -> PricePath:
        """`asks`, one a period of the plan, as a path."""
        ask = None if self.so_far is None else self.so_far.ask
        return path_worth(asks, self.worth(asks), ask=ask, salvage=self.salvage)

    def best_path(self) -> PricePath:
        """The best path of asks, with the fewest markdowns that come within half a per cent of it.

        Of a new piece it is kept as near to the owner's habit as the doubt allows (see plan/near_habit.py). A piece
        that has followed its plan so far keeps the rest of that plan: with no news nothing changes. One that has not
        comes down from where it stands: its first markdown is no deeper than the owner ever made, unless a deeper one
        is expected to bring more by more than the doubt.
        """
        start = self.start(self.hazard)
        if self.so_far is None:
            return self._near_habit(self._best(self.terms, FEWER_WITHIN, start))
        planned = self._as_planned(self.so_far)
        if planned is not None:
            return planned
        # No markdown is left out for plainness here: it would come and go from day to day, and lowest offers with it.
        free = self._best(self.terms, 0.0, start)
        if not len(free.prices):
            return free
        least = self.so_far.ask * (1 - self.deepest_cut)
        lower = free.prices[free.prices < self.so_far.ask - 1e-9]
        if not len(lower) or lower[0] >= least - 1e-9:
            return free
        gentle = self._best(self.terms, 0.0, replace(start, least_next=least))
        gain, doubt = self.gain_and_doubt(free, gentle)
        return free if gain > doubt else gentle

    def _near_habit(self, path: PricePath) -> PricePath:
        """`path`, or the one nearer to the own price and habit that brings as much within the doubt."""
        if self.gut is None or not self.draws or not len(path.prices):
            return path
        days = np.array([(day - self.as_of).days for day in self.dates[: len(path.prices)]])
        asks = near_habit(
            path.prices,
            habit(self.gut, days),
            lambda asked: self.market(self.hazard, asked),
            self.terms,
            self.asks,
        )
        if np.array_equal(asks, path.prices):
            return path
        made = self.as_path(asks)
        return path if made.expected_net < self.salvage else replace(made, bolder=path.prices)

    def over_draws(self, prices: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """(D,) what asking `prices` brings under each draw, and how much each counts (adds up to 1).

        Each counts by how likely it leaves the piece unsold so far. No prices: salvage now.
        """
        market = self.market(self.hazard, np.unique(prices) if len(prices) else self.asks[:1])
        if market.draws is None:
            net = self.worth(prices).expected_net if len(prices) else self.salvage
            return np.array([net]), np.ones(1)
        share = market.draws.share
        if not len(prices):
            return np.full(len(share), self.salvage), share
        return nets_by_draw(market, market.levels(prices), self.terms), share

    def gain_and_doubt(self, one: PricePath, other: PricePath) -> tuple[float, float]:
        """What `one` is expected to bring more than `other`, money, and the sd of that over the draws."""
        nets, weight = self.over_draws(one.prices)
        gains = nets - self.over_draws(other.prices)[0]
        mean = float(weight @ gains)
        doubt = float(np.sqrt(weight @ (gains - mean) ** 2))
        return one.expected_net - other.expected_net, doubt

    def _best(self, terms: Terms, within: float, start: Start) -> PricePath:
        market = self.market(self.hazard, self.coarse)
        if len(self.coarse) == len(self.asks):
            return plan_markdowns(market, terms, start=start, fewer_within=within, points=_POINTS)
        found = plan_markdowns(market, terms, start=start, points=_POINTS)
        if not len(found.prices):
            return found
        found = improved_path(self._around(found), terms, found, start=start)
        if not within or not found.markdowns:
            return found
        begun = start if start.ask is not None else replace(start, ask=float(found.prices[0]))
        few = self.market(self.hazard, np.unique(np.append(self.coarse, found.prices)))
        fewer = fewest_markdowns(few, terms, found, start=begun, within=within)
        if fewer.markdowns == found.markdowns or not len(fewer.prices):
            return found
        return improved_path(self._around(fewer), terms, fewer, start=begun)

    def up_to(self, most: float) -> Case | None:
        """The same case without the asks above `most`; None where none is left."""
        if self.asks[0] > most:
            return None
        asks = self.asks[self.asks <= most]
        return replace(self, asks=asks, coarse=_spread(asks, self.settings))

    def _around(self, path: PricePath) -> Market:
        """The market at the asks of `path`, at all within a coarse step of them, and at the ask in force."""
        apart = np.sort(np.diff(self.coarse))[len(self.coarse) // 2]
        away = np.abs(self.asks[:, None] - np.unique(path.prices)[None, :]).min(axis=1)
        now = self.asks == (-1.0 if self.so_far is None else self.so_far.ask)
        return self.market(self.hazard, self.asks[(away < apart - 1e-9) | now])

    def _as_planned(self, so_far: ListedSoFar) -> PricePath | None:
        """The rest of the plan of the listing day, if the asks so far are those of that plan."""
        if so_far.days != (self.as_of - so_far.listed_on).days or self.past_horizon:
            return None
        first = _put_anew(self, so_far.listed_on, self.settings, None)
        if so_far.ask not in first.asks:
            return None
        path = first.best_path()
        asked = [((first.dates[k] - so_far.listed_on).days, path.prices[k]) for k in path.changes()]
        done = len(so_far.asks)
        if asked[:done] != list(zip(so_far.since, so_far.asks, strict=True)):
            return None
        if len(asked) > done and asked[done][0] < so_far.days:
            return None
        ends = first.dates[len(path.prices)]
        days = [day for day in self.dates[:-1] if day < ends]
        at = [max(k for k, begun in enumerate(first.dates) if begun <= day) for day in days]
        return self.as_path(path.prices[at]) if at else None


def case_for(fits: Fits, piece: Piece, as_of: date) -> Case:
    """Put `piece` to the planner as it stands on `as_of`.

    Raises BadQuestion for a piece sold or withdrawn by then, or one of which nothing says what it may bring.
    """
    _still_on_hand(fits, piece, as_of)
    so_far = listed_so_far(piece, fits.records.events, as_of)
    gut = _own_idea(fits, piece, so_far)
    usual, usual_from = _usual(fits, piece, gut, so_far)
    hazard, *draws = _buyers(fits, piece, usual, gut)
    return _case(
        piece,
        as_of,
        fits.settings,
        usual,
        gut,
        usual_from,
        so_far,
        hazard,
        deepest_cut=_deepest_cut(fits),
        draws=tuple(draws),
        caution=fits.selling.caution,
    )


def changed(case: Case, settings: Settings) -> Case:
    """The same piece under other settings."""
    return _put_anew(case, case.as_of, settings, case.so_far)


def _put_anew(case: Case, as_of: date, settings: Settings, so_far: ListedSoFar | None) -> Case:
    """The same piece, worth and buyers, with asks, days and terms worked out for another day or other settings."""
    return _case(
        case.piece,
        as_of,
        settings,
        case.usual,
        case.gut,
        case.usual_from,
        so_far,
        case.hazard,
        deepest_cut=case.deepest_cut,
        draws=case.draws,
        caution=case.caution,
    )


def minding(fits: Fits, case: Case, factor: float) -> Case:
    """The same piece before buyers who mind the price `factor` times as much, under every draw of the fit."""
    hazard, *draws = _buyers(fits, case.piece, case.usual, case.gut, factor)
    return replace(case, hazard=hazard, draws=tuple(draws))


def _buyers(
    fits: Fits, piece: Piece, usual: float, gut: float | None, factor: float = 1.0
) -> list[Hazard]:
    """What plans are made for, and after it the draws of the fit."""
    return [
        fits.selling.hazard(piece.furniture_type, usual, gut, draw=k, sensitivity_factor=factor)
        for k in (None, *range(len(fits.selling.draws)))
    ]


def _case(  # noqa: PLR0913 - what three models say of one piece
    piece: Piece,
    as_of: date,
    settings: Settings,
    usual: float,
    gut: float | None,
    usual_from: UsualFrom,
    so_far: ListedSoFar | None,
    hazard: Hazard,
    *,
    deepest_cut: float = USUAL_CUT,
    draws: tuple[Hazard, ...] = (),
    caution: float = 0.0,
) -> Case:
    salvage = settings.salvage_share * usual
    holding = settings.holding_cost_per_week
    fee_share, selling_cost = settings.fee(piece.channel), settings.selling_cost(piece.channel)
    floor = (max(salvage, settings.least_cash) + selling_cost) / (1 - fee_share)
    weeks = weeks_to_come_down(so_far, settings, floor=floor, deepest_cut=deepest_cut)
    edges, dates, past = periods(as_of, so_far, settings, last_weeks=weeks)
    asks = _asks(floor, hazard, settings, so_far)
    return Case(
        piece=piece,
        as_of=as_of,
        settings=settings,
        usual=usual,
        gut=gut,
        usual_from=usual_from,
        so_far=so_far,
        hazard=hazard,
        edges=edges,
        dates=dates,
        asks=asks,
        coarse=_spread(asks, settings),
        floor=floor,
        salvage=salvage,
        holding=HOLDING_SHARE * usual if holding is None else holding,
        fee_share=fee_share,
        selling_cost=selling_cost,
        past_horizon=past,
        deepest_cut=deepest_cut,
        draws=draws,
        caution=caution,
    )


def _deepest_cut(fits: Fits) -> float:
    """The owner's deepest markdown, the same for every piece, so looked up once."""
    if "deepest cut" not in fits.kept:
        fits.kept["deepest cut"] = deepest_cut(fits.records.flips, fits.records.events)
    return float(fits.kept["deepest cut"])


def _still_on_hand(fits: Fits, piece: Piece, as_of: date) -> None:
    flips = fits.records.flips
    if not piece.piece or flips is None or not len(flips):
        return
    named = rows_named(flips, piece.piece)
    ended = flips["status"].iloc[named].to_numpy()
    for status, column in (("sold", "sold_on"), ("withdrawn", "withdrawn_on")):
        gone = named[ended == status]
        if len(gone):
            day = flips[column].iloc[gone[0]]
            if pd.isna(day) or pd.Timestamp(day).date() <= as_of:
                when = "" if pd.isna(day) else f" on {day_said(pd.Timestamp(day))}"
                raise BadQuestion(
                    f"{piece.piece} was {status}{when}; there is nothing left to plan. Name a piece on "
                    "hand, or give the plan an earlier day."
                )


def _own_idea(fits: Fits, piece: Piece, so_far: ListedSoFar | None) -> float | None:
    """The owner's own price: the gut price, else the first ask of a listed piece unless it is the kit's own."""
    listed = so_far is not None and not (
        fits.prices is not None
        and piece.gut_price is None
        and _as_the_kit_asks(fits, piece, so_far)
    )
    return own_price(
        piece.gut_price,
        piece.asking_price if listed else None,
        listed_on=None if so_far is None else so_far.listed_on,
        advised_on=first_advice(fits.records.advice_log).get(str(piece.piece).casefold()),
    )


def _as_the_kit_asks(fits: Fits, piece: Piece, so_far: ListedSoFar) -> bool:
    """Whether the first ask is what the kit would have asked, give or take a twentieth: then it tells nothing new.

    Otherwise a piece listed at the ask that was shown (the advice not saved) would be planned anew a day later, as if
    that ask were the owner's own idea of its worth.
    """
    key = (_as_the_kit_asks, piece, so_far.listed_on)
    if key not in fits.kept:
        unlisted = replace(
            piece, piece="", listed_on=None, asking_price=None, last_asking_price=None
        )
        prices = case_for(fits, unlisted, so_far.listed_on).best_path().prices
        fits.kept[key] = bool(len(prices)) and abs(np.log(so_far.asks[0] / prices[0])) < 0.05
    return bool(fits.kept[key])


def _usual(
    fits: Fits, piece: Piece, gut: float | None, so_far: ListedSoFar | None
) -> tuple[float, UsualFrom]:
    if fits.prices is not None:
        return float(fits.prices.usual([piece])[0]), "sales"
    if gut is not None:
        return gut, "gut price"
    if so_far is not None:
        return so_far.ask, "asking price"
    guessed = prices_for(fits, piece)
    if guessed is not None:
        return float(guessed.usual([piece])[0]), "its place among the kinds"
    raise BadQuestion(
        f"Nothing says what {piece.name} may bring: there are too few sales on record and it has no "
        "gut_price. Give it a gut_price, what you would ask for it on instinct."
    )


def _asks(
    floor: float, hazard: Hazard, settings: Settings, so_far: ListedSoFar | None
) -> np.ndarray:
    """Every ask on the shop's steps from the floor up; a listed piece's own ask on top."""
    step, ending = settings.price_step, settings.price_ending
    least = round_price(floor, step=step, ending=ending, to="up")
    least = least if least > 0 else step  # nothing is asked 0
    highest = max(min(hazard.highest_ask, _NEVER_ABOVE * np.exp(hazard.log_anchor)), least)
    ladder = price_ladder(least, highest, step=step, ending=ending)
    if so_far is None:
        return ladder
    lower = ladder[ladder < so_far.ask - 1e-9]
    return np.append(lower, so_far.ask)


def _spread(asks: np.ndarray, settings: Settings) -> np.ndarray:
    """At most 48 of `asks`: the lowest, the highest and those on every 2nd, 3rd... step counted from nothing.

    Counted from the highest ask, all of them would move when it does, and an own price a little higher could then ask
    less.
    """
    if len(asks) <= MOST_ASKS:
        return asks
    apart = int(np.ceil((len(asks) - 2) / (MOST_ASKS - 3)))
    number = np.round((asks - settings.price_ending) / settings.price_step).astype(int)
    kept = number % apart == 0
    kept[[0, -1]] = True
    return np.asarray(asks[kept])
