"""What a piece like this one sells for, how sure that is, and why."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Protocol

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion, TooFewSales
from fleetlib.base.money import format_money
from fleetlib.base.settings import Settings
from fleetlib.price.comparables import comparable_sales
from fleetlib.price.features import DAYS_SENTENCE, WORDS
from fleetlib.price.fit import PriceDistribution, PriceFit
from fleetlib.price.notes import idea_sentence, piece_notes
from fleetlib.price.regression.kernels import COMBINATION
from fleetlib.price.regression.pool import only, predictive
from fleetlib.price.regression.regression import FEWEST_SALES
from fleetlib.records.folder import Records
from fleetlib.records.piece import Piece
from fleetlib.shown.markup import (
    facts_html,
    fill,
    notes_html,
    table_html,
    text_notes,
    text_table,
    wrap,
)

_LEAST_ADJUSTMENT, _MOST_ADJUSTMENT = -0.9, 3.0
_USUAL_DAYS = (3, 7, 14, 21, 30, 45, 60, 90, 120, 180, 270, 365)


class Priced(Protocol):
    """What an estimate is made from; `prices` is None under 5 sales. `fits.Fits` is one."""

    @property
    def records(self) -> Records: ...
    @property
    def settings(self) -> Settings: ...
    @property
    def prices(self) -> PriceFit | None: ...


@dataclass(frozen=True, eq=False, slots=True)
class PriceEstimate:
    """A price range for one piece, from the owner's own past sales.

    low, high: `level` of such pieces sell between them; mid: half sell above it (the median); mean: what
    such sales come to on average, a little above mid because a few go high. All in `currency`, for a sale
    on `as_of` after `days_listed` days, the owner's `adjustment` (0.10 = 10% better than the records can
    see) included.

    reasons: feature, this_piece, effect, low, high (per cent, against the average piece `average_price`).
    comparables: piece, sold_on, sale_price, weight, differs, adjusted_price.
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
    average_price: float
    share_above_idea: float | None
    idea: str
    reasons: pd.DataFrame = field(repr=False)
    comparables: pd.DataFrame = field(repr=False)
    over_days: pd.DataFrame = field(repr=False)
    distribution: PriceDistribution = field(repr=False)
    notes: tuple[str, ...] = ()

    @property
    def table(self) -> pd.DataFrame:
        """The reasons."""
        return self.reasons

    def __str__(self) -> str:
        parts = [f"{self.piece}", *(fill(line, indent=2) for line in self._headline())]
        parts += [
            "",
            f"Why, starting from your average piece at {self._money(self.average_price)}:",
            text_table(self._shown_reasons(), indent=2),
            "",
            fill("Your own sales that count most, each price adjusted to this piece:"),
            text_table(self._shown_comparables(), indent=2),
            "",
            "By days listed:",
            text_table(self._shown_days(), indent=2),
        ]
        return "\n".join([*parts, "", text_notes((DAYS_SENTENCE, *self.notes))])

    def _repr_html_(self) -> str:
        first, *rest = self._headline()
        facts = [("Range", first), ("Middle and mean", rest[0]), ("Stated for", rest[1])]
        facts += [("Your own idea", self.idea)] if self.idea else []
        start = f"Why, starting from your average piece at {self._money(self.average_price)}"
        return wrap(
            facts_html(facts),
            table_html(self._shown_reasons(), caption=start),
            table_html(
                self._shown_comparables(),
                caption="Your own sales that count most, each price adjusted to this piece",
            ),
            table_html(self._shown_days(), caption=f"By days listed. {DAYS_SENTENCE}"),
            notes_html(self.notes),
            heading=str(self.piece),
        )

    def _money(self, amount: float) -> str:
        return format_money(amount, self.currency)

    def _headline(self) -> list[str]:
        said = [
            f"{times(self.level)} it sells between {self._money(self.low)} and {self._money(self.high)}.",
            f"Half sell above {self._money(self.mid)}; the mean is {self._money(self.mean)}.",
            f"For a sale after {self.days_listed:.0f} days listed, as of {self.as_of:%Y-%m-%d}.",
        ]
        return [*said, self.idea] if self.idea else said

    def _shown_reasons(self) -> pd.DataFrame:
        rows = self.reasons
        return pd.DataFrame(
            {
                "feature": rows["feature"],
                "this piece": rows["this_piece"],
                "effect": [f"{v:+.0f}%" for v in rows["effect"]],
                "between": [
                    "" if pd.isna(a) else f"{a:+.0f} and {b:+.0f}%"
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


def estimate(
    fits: Priced,
    piece: Piece,
    *,
    level: float = 0.80,
    days: float | None = None,
    adjustment: float = 0.0,
) -> PriceEstimate:
    """The price range of `piece` that holds `level` of such sales, after `days` listed (default: the median).

    `adjustment` is the owner's own: 0.10 says this one is 10% better than the records can see. Raises
    TooFewSales under 5 sales, BadQuestion for a level outside 0-1, negative days, or an adjustment outside
    -0.9 to 3.
    """
    fit = _answerable(fits, level, days, adjustment)
    factor = 1 + adjustment
    given = None if days is None else float(days)
    spread = fit.distribution(piece, days=given)
    low, high = spread.interval(level)
    columns = fit.columns(piece, days=given)
    reasons = reasons_table(fit, columns, level=level)
    average = _average_price(fit, columns, reasons)
    _settle_combination(reasons, spread.mid / average)
    if adjustment:
        own = ("your own adjustment", "", 100 * adjustment, np.nan, np.nan)
        reasons.loc[len(reasons)] = own
    share, idea = idea_sentence(fit, spread, piece, factor=factor, currency=fits.settings.currency)
    return PriceEstimate(
        piece=piece,
        low=low * factor,
        mid=spread.mid * factor,
        high=high * factor,
        mean=spread.mean * factor,
        level=level,
        days_listed=spread.days,
        adjustment=adjustment,
        as_of=fit.as_of,
        currency=fits.settings.currency,
        average_price=average,
        share_above_idea=share,
        idea=idea,
        reasons=reasons,
        comparables=comparable_sales(fit, columns, factor=factor),
        over_days=curve_over_days(fit, piece, level=level, factor=factor),
        distribution=spread,
        notes=piece_notes(fit, piece, columns),
    )


def _answerable(fits: Priced, level: float, days: float | None, adjustment: float) -> PriceFit:
    if fits.prices is None:
        price = pd.to_numeric(fits.records.flips["sale_price"], errors="coerce")
        raise TooFewSales(
            f"There are {int((price > 0).sum())} sales with a price; an estimate needs at least "
            f"{FEWEST_SALES}. Until then the plan works from your own price idea."
        )
    if not 0 < level < 1:
        raise BadQuestion(f"level is {level}; it must be between 0 and 1, such as 0.80.")
    if days is not None and not 0 <= days <= 3650:
        raise BadQuestion(f"days is {days}; it must be from 0 to 3650.")
    if not _LEAST_ADJUSTMENT <= adjustment <= _MOST_ADJUSTMENT:
        raise BadQuestion(
            f"adjustment is {adjustment}; it must be from {_LEAST_ADJUSTMENT} to {_MOST_ADJUSTMENT:g}, where "
            "0.10 means 10% better than the records can see."
        )
    return fits.prices


def reasons_table(fit: PriceFit, columns: pd.DataFrame, *, level: float) -> pd.DataFrame:
    """What each feature adds in per cent against the average piece: feature, this_piece, effect, low, high."""
    made = fit.regressor.contributions(columns, level)
    row = columns.iloc[0]
    shown = [_shown_value(name, row, fit) for name in made["feature"]]
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
    mid = float(mixture.weights @ mixture.location[:, 0])
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


def _shown_value(name: str, row: pd.Series, fit: PriceFit) -> str:
    if name == COMBINATION:
        return ""
    if name in ("years_before", "time_of_year"):
        day = fit.sale_day
        return f"at {day:%Y-%m-%d}" if name == "years_before" else f"{day:%B}"
    value = row[name]
    if pd.isna(value):
        return "not stated"
    if name == "size_cuft":
        return f"{value:.1f} cu ft"
    return str(value) if isinstance(value, str) else f"{value:g}"


def curve_over_days(
    fit: PriceFit, piece: Piece, *, level: float, factor: float = 1.0
) -> pd.DataFrame:
    """The range at several days listed within what the sales cover: days_listed, low, mid, high."""
    known = pd.to_numeric(fit.sales["days_listed"], errors="coerce").dropna()
    least, most = (float(known.min()), float(known.max())) if len(known) else (7.0, 90.0)
    inside = [d for d in _USUAL_DAYS if least <= d <= most]
    days = sorted({round(d) for d in (*inside, fit.reference_days)})
    table = pd.concat([fit.columns(piece, days=float(d)) for d in days], ignore_index=True)
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
