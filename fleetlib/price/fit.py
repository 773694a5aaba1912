"""The price model fitted to one shop's own sales: what pieces like this one usually sell for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from fleetlib.base.errors import TooFewSales
from fleetlib.base.level import USUAL_LEVEL
from fleetlib.price.features import (
    CYCLES,
    FACTORS,
    MEASURES,
    WALKS,
    model_columns,
    pieces_table,
    sold_rows,
)
from fleetlib.price.priors import PAID, SHOP, SINGLE_SALES, informed, kind_part, size_part
from fleetlib.price.regression.leave_one_out import LeftOut
from fleetlib.price.regression.mixture import Mixture
from fleetlib.price.regression.pool import (
    REVIEW_Z,
    Pool,
    at_rows,
    noise_variance,
    predictive,
    smearing,
)
from fleetlib.price.regression.regression import (
    MOST_SALES,
    Regression,
    fit_regression,
)
from fleetlib.work.hours import GUIDES

_NO_DAYS = 30.0  # reference days where no sale has both its dates
FEWEST_SALES = 5  # of a model that borrows nothing
_SHOPS_DIFFER = 0.05  # spread of the true share: the worlds of tests/bench_ranges hold .74 to .88
_AN_HOUR = 25.0  # the settings' default target pay
_USUAL_HOURS = GUIDES["dresser"]


@dataclass(frozen=True, eq=False, slots=True)
class PriceDistribution:
    """What one piece may sell for, in money: a distribution of which `mid` is the median.

    `mean` is what such sales come to on average: mid x the mean of exp(leave-one-out residuals), scaled to
    this piece's noise and cut at 3 standard deviations (Duan 1983, J. Am. Stat. Assoc. 78: 605-610, made
    robust).
    """

    mid: float
    mean: float
    days: float
    mixture: Mixture = field(repr=False)

    def quantile(self, p: float) -> float:
        """The price that a share `p` of such sales stays below."""
        return float(np.exp(self.mixture.quantile(p)[0]))

    def interval(self, level: float) -> tuple[float, float]:
        """The central range that holds `level` of such sales."""
        low, high = np.exp(self.mixture.interval(level)[0])
        return float(low), float(high)

    def share_above(self, price: float) -> float:
        """The share of such sales above `price`."""
        return float(1 - self.mixture.share_below(np.log(max(price, 1e-300)))[0])

    def sample(self, rng: np.random.Generator, n: int) -> np.ndarray:
        """`n` prices drawn from the distribution, kept within its .1% and 99.9% points."""
        mixture = self.mixture
        which = rng.choice(len(mixture.weights), size=n, p=mixture.weights)
        drawn = mixture.location[which, 0] + mixture.scale[which, 0] * rng.standard_t(
            mixture.df[which]
        )
        middle = np.log(self.mid)
        stretched = middle + mixture.stretch * (drawn - middle)
        return np.asarray(
            np.exp(np.clip(stretched, mixture.quantile(0.001)[0], mixture.quantile(0.999)[0]))
        )


@dataclass(frozen=True, eq=False, slots=True)
class PriceFit:
    """The fitted price model of one shop.

    reference_days: days listed that "usual" refers to (the median of the shop's sales); a price is for a sale so
    many days after `as_of`, when a piece listed today will usually sell. sales: the rows of
    flips used, oldest first, index kept. flagged: sales whose price is more than 4 standard deviations
    from what the others say. log_sd: a typical standard deviation of the log price around its estimate.
    """

    regressor: Regression = field(repr=False)
    as_of: date
    reference_days: float
    log_sd: float
    sales: pd.DataFrame = field(repr=False)
    flagged: pd.DataFrame = field(repr=False)
    left_out: LeftOut = field(repr=False)
    borrowed: bool
    notes: tuple[str, ...] = ()
    # What was asked of many pieces at once (`tell_together`), by piece, at the reference days.
    told: dict[Any, _Told] = field(default_factory=dict, init=False, repr=False)
    _usual: list[Mixture] = field(default_factory=list, init=False, repr=False)  # once it was asked

    def tell_together(self, pieces: Sequence[Any]) -> None:
        """Work out what will be asked of each of `pieces` at once: for many, a small part of the time one by one.

        The same numbers but for the last digit, in which sums over rows at once and over one may differ.
        """
        new = [piece for piece in dict.fromkeys(pieces) if piece not in self.told]
        if not new:
            return
        columns = model_columns(
            as_flips(new), as_of=self.as_of, days=self.reference_days, sold_on=self.sale_day
        )
        mixture, (S, own) = self.regressor.told(columns)
        doubts = self._doubts(S, own)
        for i, piece in enumerate(new):
            row = slice(i, i + 1)
            self.told[piece] = _Told(mixture.take(row), (S[:, row], own[:, row]), float(doubts[i]))

    def usual(
        self, pieces: Sequence[Any] | pd.DataFrame, *, at_own_time: bool = False
    ) -> np.ndarray:
        """The median sale price (n,) of pieces, or rows of flips, at the reference days.

        On `sale_day`; with `at_own_time`, rows that have a sold_on or withdrawn_on as of that day.
        """
        if len(pieces) == 1 and not isinstance(pieces, pd.DataFrame):
            return np.asarray(np.exp(_told(self, pieces[0], self.reference_days).mixture.median()))
        flips = as_flips(pieces)
        if not len(flips):
            return np.zeros(0)
        columns = model_columns(
            flips, as_of=self.as_of, days=self.reference_days, sold_on=self.sale_day
        )
        if at_own_time:
            own = model_columns(flips, as_of=self.as_of, days=self.reference_days)
            for name in ("years_before", "time_of_year"):
                columns[name] = own[name].fillna(columns[name])
        return self.regressor.predict(columns)

    def usual_left_out(self) -> np.ndarray:
        """The usual price (n,) of each row of `sales` at its own time, its own sale price left out."""
        return np.asarray(np.exp(self.usual_told().median()))

    def usual_told(self) -> Mixture:
        """What would have been said of each row of `sales` (n) at its own time, its own sale price left out.

        log price mu(x_i, reference days) - w_i e_i: w_i is the weight of the sale in its own estimate, e_i its
        leave-one-out error; how strongly each feature counts is kept from the full fit. The days listed are the
        usual ones, since nobody knows them when a piece is priced.
        """
        if not self._usual:
            columns = model_columns(self.sales, as_of=self.as_of, days=self.reference_days)
            S, own = self.regressor.likeness(columns)
            told = predictive(self.pool, S, own, own_sale_left_out=True)
            self._usual.append(told.moved(self.regressor.believed(columns)))
        return self._usual[0]

    def distribution(self, piece: Any, *, days: float | None = None) -> PriceDistribution:
        """The distribution of one piece's sale price on `sale_day`, at `days` listed (default: reference)."""
        at = self.reference_days if days is None else float(days)
        mixture, alike, _ = _told(self, piece, at)
        mid = float(np.exp(mixture.median()[0]))
        mean = mid * float(smearing(self.pool, *alike)[0])
        return PriceDistribution(mid, mean, at, mixture)

    def doubt(self, piece: Any) -> float:
        """Standard deviation of the log of a piece's *usual* price: how wrong `usual` may be, single sales apart.

        Of the Gaussian member: within and between the draws of the strengths.
        """
        told = _told(self, piece, self.reference_days)
        return told.doubt if np.isfinite(told.doubt) else float(self._doubts(*told.alike)[0])

    def _doubts(self, S: np.ndarray, own: np.ndarray) -> np.ndarray:
        """`doubt` (r,) of rows with similarities S (K, r, n) and own (K, r)."""
        member = self.pool.gaussian
        told = [(*at_rows(at, S, own), noise_variance(at)) for at in member.solutions]
        means = np.array([mu for mu, _, _ in told])
        within = np.array([s2 * v for _, v, s2 in told])
        centre = member.weights @ means
        return np.asarray(np.sqrt(member.weights @ (within + (means - centre) ** 2)))

    def columns(self, piece: Any, *, days: float | None = None) -> pd.DataFrame:
        """The model's columns (one row) for one piece on `sale_day`."""
        at = self.reference_days if days is None else float(days)
        return model_columns(as_flips([piece]), as_of=self.as_of, days=at, sold_on=self.sale_day)

    @property
    def sale_day(self) -> date:
        """The day that prices are stated for: `reference_days` after `as_of`."""
        return self.as_of + timedelta(days=round(self.reference_days))

    @property
    def pool(self) -> Pool:
        """The fitted pool of noise descriptions."""
        return self.regressor.pool


class _Told(NamedTuple):
    """Of one piece: the distribution of its log price, its likeness to the sales, its `doubt` (NaN: not asked yet)."""

    mixture: Mixture
    alike: tuple[np.ndarray, np.ndarray]
    doubt: float


def _told(fit: PriceFit, piece: Any, days: float) -> _Told:
    """What a piece is told by, asked for several times: with others before, or now by itself."""
    if days == fit.reference_days and piece in fit.told:
        return fit.told[piece]
    return _told_alone(fit, piece, days)


@lru_cache(maxsize=64)
def _told_alone(fit: PriceFit, piece: Any, days: float) -> _Told:
    return _Told(*fit.regressor.told(fit.columns(piece, days=days)), float("nan"))


@lru_cache(maxsize=8)
def inside_when_refitted(fit: PriceFit) -> int:
    """How many of the fit's sales lie in their range, priced from the other four fifths of the dates."""
    position = fit.regressor.fifths_left_out()
    return int(np.sum(np.abs(position - 0.5) <= USUAL_LEVEL / 2))


def share_to_expect(fit: PriceFit) -> float:
    """The share of sales to come that should lie in their range, from `inside_when_refitted`.

    Shops' true shares lie about .80, give or take `_SHOPS_DIFFER`: a beta distribution of that spread, with the
    sales counted into it (the conjugate prior of a share), so that few sales say little.
    """
    worth = (
        USUAL_LEVEL * (1 - USUAL_LEVEL) / _SHOPS_DIFFER**2 - 1
    )  # sales that the spread stands for
    return (inside_when_refitted(fit) + worth * USUAL_LEVEL) / (len(fit.sales) + worth)


def as_flips(pieces: Sequence[Any] | pd.DataFrame) -> pd.DataFrame:
    """Rows of flips from a table, or from a list of pieces."""
    return pieces if isinstance(pieces, pd.DataFrame) else pieces_table(pieces)


def fit_prices(
    flips: pd.DataFrame,
    *,
    as_of: date,
    borrow: bool = True,
    hourly_pay: float = _AN_HOUR,
) -> PriceFit:
    """Fit the price model to the sold rows of `flips`, brought to the day of sale where prices drifted.

    Beyond 600 sales the newest 600 are used. With `borrow` the sales stand on what is believed of second-hand
    furniture in general and on the owner's own ideas of the level (`price/priors.py`); before the first sale those
    ideas, or what went into the pieces at `hourly_pay`, are all there is. Raises TooFewSales where there is not even
    that, and without `borrow` under 5 sales with a price.
    """
    regressor, sales = regression_of(flips, as_of=as_of, borrow=borrow, hourly_pay=hourly_pay)
    checked = regressor.leave_one_out()
    flagged = flagged_sales(sales, checked)
    notes = [*regressor.notes]
    if not _spans_a_year(sales):
        notes.append(
            "your dated sales span under a year, so neither a drift of prices nor a season is read from them"
        )
    for row in flagged.itertuples():
        notes.append(
            f"{row.piece} sold for {row.sale_price:,.0f} where your other sales say about "
            f"{row.estimate:,.0f}: check that price"
        )
    log_sd = checked.log_sd if len(sales) else SINGLE_SALES.value
    return PriceFit(
        regressor,
        as_of,
        usual_days_of(sales),
        log_sd,
        sales,
        flagged,
        checked,
        borrow,
        tuple(notes),
    )


def regression_of(
    flips: pd.DataFrame, *, as_of: date, borrow: bool = True, hourly_pay: float = _AN_HOUR
) -> tuple[Regression, pd.DataFrame]:
    """The regression that `fit_prices` makes, unchecked, and the sales it was learned from. Raises as that does."""
    sales = sold_rows(flips)
    priors = informed(*ideas_of_level(flips, hourly_pay=hourly_pay)) if borrow else SHOP
    if len(sales) < priors.fewest:
        if borrow:
            raise TooFewSales(
                "There are 0 sales with a price, and no piece has a gut_price, or a buy_price to reckon from. Give "
                "one piece a gut_price: what you would ask for it on instinct."
            )
        raise TooFewSales(
            f"There are {len(sales)} sales with a price; an estimate needs at least {FEWEST_SALES}. Enter "
            "sale_price for more sold pieces, or price by your own idea until then."
        )
    long_enough = _spans_a_year(sales.iloc[-MOST_SALES:])
    regressor = fit_regression(
        model_columns(sales, as_of=as_of),
        sales["sale_price"].to_numpy(dtype=float),
        factors=FACTORS,
        measures=[m for m in MEASURES if long_enough or m != "years_before"],
        cycles=CYCLES if long_enough else (),
        walks=WALKS if long_enough else (),
        priors=priors,
    )
    return regressor, sales.iloc[-MOST_SALES:].copy()


def usual_days_of(sales: pd.DataFrame) -> float:
    """The days listed at which a piece is priced: the median of the sales'."""
    days = pd.to_numeric(sales["days_listed"], errors="coerce") if "days_listed" in sales else None
    known = days.dropna().to_numpy() if days is not None else np.zeros(0)
    return float(np.median(known)) if len(known) else _NO_DAYS


def ideas_of_level(flips: pd.DataFrame, *, hourly_pay: float) -> tuple[np.ndarray, np.ndarray]:
    """What the owner's own prices (n,), and what went into the pieces (n,), say of the shop's level, in logs.

    Each less what is believed of the kind and size; an own price at the usual share paid of it. NaN where not known.
    """
    columns = model_columns(flips, as_of=date(2000, 1, 1))  # the day does not matter here
    general = kind_part(columns) + size_part(columns)

    def known(name: str) -> np.ndarray:
        values = flips[name] if name in flips else pd.Series(np.nan, index=flips.index)
        return pd.to_numeric(values, errors="coerce").to_numpy(float)

    guide = columns["furniture_type"].map(GUIDES).fillna(_USUAL_HOURS).to_numpy(float)
    hours = np.where(np.isfinite(known("hours")), known("hours"), guide)
    spent = known("buy_price") + np.nan_to_num(known("materials_cost")) + hours * hourly_pay
    with np.errstate(divide="ignore", invalid="ignore"):
        own = np.log(np.where(known("gut_price") > 0, known("gut_price"), np.nan) * PAID.value)
        cost = np.log(np.where(spent > 0, spent, np.nan))
    return own - general, cost - general


def _spans_a_year(sales: pd.DataFrame) -> bool:
    """True where the dated sales lie a year apart or more: weeks say nothing of how prices drift in years."""
    sold = (
        pd.to_datetime(sales["sold_on"]).dropna()
        if "sold_on" in sales
        else pd.Series(dtype="datetime64[ns]")
    )
    return len(sold) > 1 and (sold.max() - sold.min()).days >= 365


def flagged_sales(sales: pd.DataFrame, checked: LeftOut) -> pd.DataFrame:
    """The sales more than 4 standard deviations from what the others say: piece, line, price, estimate, z."""
    here = np.abs(checked.z) > REVIEW_Z
    return pd.DataFrame(
        {
            "piece": _or_blank(sales, "piece")[here],
            "line": _or_blank(sales, "line")[here],
            "sold_on": _or_blank(sales, "sold_on")[here],
            "sale_price": checked.price[here],
            "estimate": checked.mid[here],
            "z": checked.z[here],
        }
    ).reset_index(drop=True)


def _or_blank(sales: pd.DataFrame, name: str) -> np.ndarray:
    return sales[name].to_numpy() if name in sales else np.full(len(sales), "", dtype=object)
