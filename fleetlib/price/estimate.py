"""What a piece like this one sells for, how sure that is, and why."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Protocol

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion, TooFewSales
from fleetlib.base.level import USUAL_LEVEL, check_level
from fleetlib.base.measured import measured, volume
from fleetlib.base.money import format_money
from fleetlib.base.said import change, day_said
from fleetlib.base.settings import Settings
from fleetlib.base.threads import one_thread
from fleetlib.price.comparables import comparable_sales
from fleetlib.price.features import DAYS_SENTENCE, WORDS
from fleetlib.price.first_entries import first_entry_sentence
from fleetlib.price.fit import FEWEST_SALES, PriceDistribution, PriceFit, fit_prices
from fleetlib.price.notes import came_back_sentence, idea_sentence, piece_notes
from fleetlib.price.own_price import counting_own_price, own_price_sentence
from fleetlib.price.priors import usual_cuft
from fleetlib.price.regression.kernels import COMBINATION, TWINS
from fleetlib.price.regression.pool import only, predictive
from fleetlib.records.folder import Records
from fleetlib.records.piece import Piece
from fleetlib.shown.sheet import Notes, Said, Sheet, Shown, Table

_LEAST_ADJUSTMENT, _MOST_ADJUSTMENT = -0.9, 3.0
FEW_RECORDS = 40  # below so many sales an estimate says which entry would narrow it most
_TELLING_ITSELF = (
    "furniture_type", "width_in", "depth_in", "height_in", "gut_price", "buy_price", "materials_cost", "hours",
)  # fmt: skip
_USUAL_DAYS = (3, 7, 14, 21, 30, 45, 60, 90, 120, 180, 270, 365)


class Priced(Protocol):
    """What an estimate is made from; `prices` is None before the first sale. `fits.Fits` is one."""

    @property
    def records(self) -> Records: ...
    @property
    def settings(self) -> Settings: ...
    @property
    def as_of(self) -> date: ...
    @property
    def prices(self) -> PriceFit | None: ...


@dataclass(frozen=True, slots=True)
class Alone:
    """What the records alone say of a piece, its own price not counted; money, as in PriceEstimate."""

    low: float
    mid: float
    high: float
    mean: float


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class PriceEstimate(Shown):
    """A price range for one piece, from the owner's own past sales.

    low, high: `level` of such pieces sell between them; mid: half sell above it (the median); mean: what
    such sales come to on average, a little above mid because a few go high, or under it where an own price counts,
    since sales come down from their asks. All in `currency`, for a sale
    on `sells_on`, `days_listed` days after `as_of`, the owner's `adjustment` (0.10 = 10% better than the records
    can see) included. Where the piece has an own price given before advice these count it (`price/own_price.py`);
    `alone` is the same from the records alone.

    reasons: feature, this_piece, effect, low, high (per cent, against the average piece `average_price`).
    comparables (from the records alone, like over_days): piece, sold_on, sale_price, weight, differs, adjusted_price.
    over_days: days_listed, low, mid, high; descriptive only. idea: where the owner's own price stands.
    """

    piece: Piece
    low: float
    mid: float
    high: float
    mean: float
    level: float
    days_listed: float
    adjustment: float
    as_of: date
    currency: str
    alone: Alone
    average_price: float
    idea: str
    reasons: pd.DataFrame = field(repr=False)
    comparables: pd.DataFrame = field(repr=False)
    over_days: pd.DataFrame = field(repr=False)
    distribution: PriceDistribution = field(repr=False)
    notes: tuple[str, ...] = ()
    length_unit: str = "in"

    @property
    def table(self) -> pd.DataFrame:
        """The reasons."""
        return self.reasons

    def sheet(self) -> Sheet:
        """The range, why, which sales count, and how it goes with the days listed."""
        counted = "Your own sales that count most, each price adjusted to this piece"
        return Sheet(
            self.piece.said(unit=self.length_unit),
            (
                Said(tuple(self._headline())),
                Table(self._shown_reasons(), f"Why, starting from {self._start()}"),
                Table(self._shown_comparables(), counted),
                Table(self._shown_days(), "By days listed"),
                Notes((DAYS_SENTENCE, *self.notes)),
            ),
        )

    def _start(self) -> str:
        average = "your average piece" if len(self.comparables) else "a dresser of usual size"
        return f"{average} at {self._money(self.average_price)}"

    def _money(self, amount: float) -> str:
        return format_money(amount, self.currency)

    def _headline(self) -> list[str]:
        own = "Counting your own price, " if self.idea else ""
        sells = times(self.level) if not own else own + times(self.level)
        asked = ", asked as your past pieces were" if len(self.comparables) else ""
        said = [
            f"{sells} it sells between {self._money(self.low)} and {self._money(self.high)}.",
            f"Half sell above {self._money(self.mid)}; the mean is {self._money(self.mean)}.",
            f"For a sale on {day_said(self.sells_on)}, after {self.days_listed:.0f} days listed{asked}.",
        ]
        return [*said, self.records_alone, self.idea] if self.idea else said

    @property
    def sells_on(self) -> date:
        """The day that the prices are stated for."""
        return self.as_of + timedelta(days=round(self.days_listed))

    @property
    def records_alone(self) -> str:
        """The range from the records alone, in a sentence."""
        a = self.alone
        ends = f"{self._money(a.low)} to {self._money(a.high)}"
        return f"From the records alone: {ends}, half above {self._money(a.mid)}."

    def _shown_reasons(self) -> pd.DataFrame:
        rows = self.reasons
        return pd.DataFrame(
            {
                "feature": rows["feature"],
                "this piece": rows["this_piece"],
                "effect": [change(v) for v in rows["effect"]],
                "between": [
                    "" if pd.isna(a) else f"{change(a, '')} and {change(b)}"
                    for a, b in zip(rows["low"], rows["high"], strict=True)
                ],
            }
        )

    def _shown_comparables(self) -> pd.DataFrame:
        rows = self.comparables
        return pd.DataFrame(
            {
                "piece": rows["piece"],
                "sold on": rows["sold_on"],
                "price": [self._money(v) for v in rows["sale_price"]],
                "counts": [f"{100 * v:.0f}%" for v in rows["weight"]],
                "differs": rows["differs"],
                "adjusted": [self._money(v) for v in rows["adjusted_price"]],
            }
        )

    def _shown_days(self) -> pd.DataFrame:
        rows = self.over_days
        shown = pd.DataFrame({"days listed": rows["days_listed"].astype(int)})
        for name in ("low", "mid", "high"):
            shown[name] = [self._money(v) for v in rows[name]]
        return shown


@one_thread()
def estimate(
    fits: Priced,
    piece: Piece,
    *,
    level: float = USUAL_LEVEL,
    days: float | None = None,
    adjustment: float = 0.0,
) -> PriceEstimate:
    """The price range of `piece` that holds `level` of such sales, after `days` listed (default: the median).

    `adjustment` is the owner's own: 0.10 says this one is 10% better than the records can see. Before the first
    sale the range is a wide one around the owner's own prices, or what went into the pieces. Raises TooFewSales
    where there is none of these (with `borrow = false`, under 5 sales), BadQuestion for a level outside 0-1,
    negative days, or an adjustment outside -0.9 to 3.
    """
    fit = _answerable(fits, piece, level, days, adjustment)
    factor, unit = 1 + adjustment, fits.settings.length_unit
    given = None if days is None else float(days)
    spread = fit.distribution(piece, days=given)
    low, high = spread.interval(level)
    columns = fit.columns(piece, days=given)
    reasons = reasons_table(fit, columns, level=level, unit=unit)
    average = _average_price(fit, columns, reasons)
    _settle_combination(reasons, spread.mid / average)
    alone = Alone(low * factor, spread.mid * factor, high * factor, spread.mean * factor)
    if adjustment:
        own = ("your own adjustment", "", 100 * adjustment, np.nan, np.nan)
        reasons.loc[len(reasons)] = own
    counted, told, notes = alone, spread, piece_notes(fit, piece, columns, unit=unit)
    if piece.gut_price:
        told = counting_own_price(fit, spread, float(piece.gut_price), factor=factor)
        ends = told.interval(level)
        counted = Alone(ends[0], told.mid, ends[1], told.mean)
        moved = ("your own price", "", 100 * (told.mid / alone.mid - 1), np.nan, np.nan)
        reasons.loc[len(reasons)] = moved
        notes = (own_price_sentence(fit), *notes)
    notes = (*came_back_notes(fits, piece), *notes)
    if len(fit.sales) < FEW_RECORDS and (first := first_entry_sentence(fit, piece)):
        notes = (first, *notes)
    idea = idea_sentence(fit, spread, told, piece, factor=factor, currency=fits.settings.currency)
    return PriceEstimate(
        piece=piece,
        low=counted.low,
        mid=counted.mid,
        high=counted.high,
        mean=counted.mean,
        alone=alone,
        level=level,
        days_listed=spread.days,
        adjustment=adjustment,
        as_of=fit.as_of,
        currency=fits.settings.currency,
        average_price=average,
        idea=idea,
        reasons=reasons,
        comparables=comparable_sales(fit, columns, factor=factor, unit=unit),
        over_days=curve_over_days(fit, piece, level=level, factor=factor),
        distribution=told,
        notes=notes,
        length_unit=unit,
    )


def came_back_notes(fits: Priced, piece: Piece) -> list[str]:
    """What to mind of a piece that was sold before and came back; its earlier sales, the last one first."""
    past = getattr(fits.records, "past_sales", None)
    if past is None or not len(past) or not piece.name:
        return []
    own = past[past["piece"].str.casefold() == piece.name.casefold()]
    return [
        came_back_sentence(row, fits.settings.currency) for row in own.iloc[::-1].to_dict("records")
    ]


def prices_for(fits: Priced, piece: Piece) -> PriceFit | None:
    """The shop's price model; where its records hold nothing yet, one from what `piece` itself says."""
    if fits.prices is not None or not fits.settings.borrow:
        return fits.prices
    told = {name: getattr(piece, name) for name in _TELLING_ITSELF}
    flips = pd.concat([fits.records.flips, pd.DataFrame([told])], ignore_index=True)
    try:
        return fit_prices(flips, as_of=fits.as_of, hourly_pay=fits.settings.target_hourly_pay)
    except TooFewSales:
        return None


def _answerable(
    fits: Priced, piece: Piece, level: float, days: float | None, adjustment: float
) -> PriceFit:
    fit = prices_for(fits, piece)
    if fit is None and fits.settings.borrow:
        raise TooFewSales(
            f"Nothing says yet what {piece.name} may bring. Give it a gut_price, what you would ask for it on "
            "instinct, or a buy_price."
        )
    if fit is None:
        price = pd.to_numeric(fits.records.flips["sale_price"], errors="coerce")
        raise TooFewSales(
            f"There are {int((price > 0).sum())} sales with a price; an estimate needs at least "
            f"{FEWEST_SALES} where nothing may be borrowed. Until then the plan works from your own price idea."
        )
    check_level(level)
    if days is not None and not 0 <= days <= 3650:
        raise BadQuestion(f"days is {days}; it must be from 0 to 3650.")
    if not _LEAST_ADJUSTMENT <= adjustment <= _MOST_ADJUSTMENT:
        raise BadQuestion(
            f"adjustment is {adjustment}; it must be from {_LEAST_ADJUSTMENT} to {_MOST_ADJUSTMENT:g}, where "
            "0.10 means 10% better than the records can see."
        )
    return fit


def reasons_table(
    fit: PriceFit, columns: pd.DataFrame, *, level: float, unit: str = "in"
) -> pd.DataFrame:
    """What each feature adds in per cent against the average piece: feature, this_piece, effect, low, high."""
    made = fit.regressor.contributions(columns, level)
    row = columns.iloc[0]
    shown = [_shown_value(name, row, fit, unit) for name in made["feature"]]
    words = ["this combination" if name == COMBINATION else WORDS[name] for name in made["feature"]]
    return pd.DataFrame(
        {
            "feature": words,
            "this_piece": shown,
            **{name: 100 * np.expm1(made[name]) for name in ("effect", "low", "high")},
        }
    )


def _average_price(fit: PriceFit, columns: pd.DataFrame, reasons: pd.DataFrame) -> float:
    """What the shop's average piece brings, in the member of the pool that the reasons come from."""
    mixture = predictive(only(fit.pool, 0), *fit.regressor.likeness(columns))
    mid = float(mixture.weights @ mixture.location[:, 0] + fit.regressor.believed(columns)[0])
    return float(np.exp(mid - np.log1p(reasons["effect"] / 100).sum()))


def _settle_combination(reasons: pd.DataFrame, ratio: float) -> None:
    """Give what the effects leave of mid / average to the row that is not split by feature, in place.

    The reasons come from one member of the pool, the mid from all: they differ by a per cent or so.
    """
    here = reasons["feature"] == "this combination"
    if here.any():
        left = ratio / float(np.exp(np.log1p(reasons["effect"] / 100).sum()))
        for name in ("effect", "low", "high"):
            reasons.loc[here, name] = 100 * ((1 + reasons.loc[here, name] / 100) * left - 1)


def _shown_value(name: str, row: pd.Series, fit: PriceFit, unit: str) -> str:
    if name in (COMBINATION, TWINS):
        return ""
    if name in ("years_before", "time_of_year"):
        day = fit.sale_day
        return f"at {day_said(day)}" if name == "years_before" else f"{day:%B}"
    value = row[name]
    if pd.isna(value):
        kind = str(row.get("furniture_type") or "")
        usual = usual_cuft(kind) if name == "size_cuft" and fit.borrowed else None
        return (
            "not stated"
            if usual is None
            else f"not stated: as a usual {kind}, {volume(usual, unit, places=0)}"
        )
    return value if isinstance(value, str) else measured(name, float(value), unit)


def curve_over_days(
    fit: PriceFit, piece: Piece, *, level: float, factor: float = 1.0
) -> pd.DataFrame:
    """The range at several days listed within what the sales cover: days_listed, low, mid, high."""
    known = pd.to_numeric(fit.sales["days_listed"], errors="coerce").dropna()
    least, most = (float(known.min()), float(known.max())) if len(known) else (7.0, 90.0)
    inside = [d for d in _USUAL_DAYS if least <= d <= most]
    days = sorted({round(d) for d in (*inside, fit.reference_days)})
    table = pd.concat([fit.columns(piece)] * len(days), ignore_index=True)
    table["days_listed"] = np.array(days, dtype=float)
    mixture = fit.regressor.distribution(table)
    ends = np.exp(mixture.interval(level)) * factor
    return pd.DataFrame(
        {
            "days_listed": np.array(days, dtype=float),
            "low": ends[:, 0],
            "mid": np.exp(mixture.median()) * factor,
            "high": ends[:, 1],
        }
    )


def times(level: float) -> str:
    """A share as people say it: 8 times out of 10, 19 times out of 20."""
    for whole in (10, 20, 100):
        if abs(level * whole - round(level * whole)) < 1e-9:
            return f"{round(level * whole)} times out of {whole}"
    return f"{100 * level:.1f} times out of 100"
