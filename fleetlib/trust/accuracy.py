"""How good the prices have been on the owner's own sales, and how that compares with their own idea.

Two checks, never the flattering one that shows the model the answer: each sale estimated from all the
others, and each past quarter priced by what was known before it. For each: how many sales fell inside
their own range, the usual error, the lean, and the ratio study of the appraisal standard.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from fleetlib.base.errors import TooFewSales
from fleetlib.base.quarters import quarter_of
from fleetlib.base.said import change
from fleetlib.fits import Fits
from fleetlib.price.fit import FEWEST_SALES
from fleetlib.shown.sheet import Notes, Part, Said, Sheet, Shown, Table
from fleetlib.trust.backtest import from_earlier_sales, from_the_others
from fleetlib.trust.borrowing import borrowing_note, both_ways
from fleetlib.trust.own_price import against_own_price, own_price_note
from fleetlib.trust.ratio_study import TOO_FEW, ratio_study

OTHERS, EARLIER = "each sale from the others", "each quarter from what came before"
SAYS_FEW = "too few to judge"
_Z = 1.959964  # of a normal, 19 times out of 20


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class AccuracyStudy(Shown):
    """The tool's own grade.

    table: one row per check and group (check, by, group, sales, inside_80, inside_80_low, inside_80_high,
    inside_95, inside_95_low, inside_95_high, median_error, bias, median_ratio, median_ratio_low, ..., cod,
    cod_low, ..., prd, ..., prb, ..., says). Shares and errors are shares of the price (0.12 = 12%); cod in
    per cent; the ends of ranges hold 19 times out of 20; `says` is "too few to judge" under 15 sales.

    gut: the tool against the owner's own price on the same sales (check, way, sales, median_error, bias,
    closer: how often that way was closer to the sale price than the tool). sales, backtest: sale by sale
    (piece, furniture_type, sold_on, sale_price, estimate, low_80, high_80, low_95, high_95, gut_price,
    gut_scaled, sales_known). ways: the early sales priced with and without borrowing (way, sales, inside_80,
    median_error, bias).
    """

    table: pd.DataFrame = field(repr=False)
    gut: pd.DataFrame = field(repr=False)
    sales: pd.DataFrame = field(repr=False)
    backtest: pd.DataFrame = field(repr=False)
    ways: pd.DataFrame = field(repr=False)
    currency: str
    notes: tuple[str, ...] = ()

    def sentence(self) -> str:
        """The grade in one sentence, from the stricter check that has enough sales."""
        for check in (EARLIER, OTHERS):
            row = self._whole(check)
            if row is not None and row["sales"] >= TOO_FEW:
                return (
                    f"Of {row['sales']:.0f} sales, {check}: {row['inside_80']:.0%} fell inside their 80% range and "
                    f"{row['inside_95']:.0%} inside their 95% range; half of the estimates were within "
                    f"{row['median_error']:.0%} of the price."
                )
        return f"Under {TOO_FEW} sales could be checked: too few to judge how good the prices are."

    def shown(self) -> pd.DataFrame:
        """The table as printed: rounded, ranges in one cell, groups too small said so."""
        rows = []
        for _, r in self.table.iterrows():
            row = {"check": r["check"], "group": r["group"], "sales": int(r["sales"])}
            few = r["sales"] < TOO_FEW
            row["in 80%"] = SAYS_FEW if few else _range(r, "inside_80", "{:.0%}")
            row["in 95%"] = "" if few else _range(r, "inside_95", "{:.0%}")
            row["usual error"] = "" if few else f"{r['median_error']:.0%}"
            row["lean"] = "" if few else change(100 * r["bias"])
            row["ratio"] = "" if few else _range(r, "median_ratio", "{:.2f}")
            row["COD"] = "" if few else _range(r, "cod", "{:.0f}")
            row["PRD"] = "" if few else _range(r, "prd", "{:.2f}")
            row["PRB"] = "" if few else _range(r, "prb", "{:+.2f}")
            rows.append(row)
        return pd.DataFrame(rows)

    def gut_shown(self) -> pd.DataFrame:
        """The comparison with the owner's own price, rounded."""
        g = self.gut
        return pd.DataFrame(
            {
                "check": g["check"],
                "way": g["way"],
                "sales": g["sales"].astype(int),
                "usual error": [f"{v:.0%}" for v in g["median_error"]],
                "lean": [change(100 * v) for v in g["bias"]],
                "closer than the tool": ["" if v != v else f"{v:.0%}" for v in g["closer"]],
            }
        )

    def _whole(self, check: str) -> pd.Series | None:
        rows = self.table[(self.table["check"] == check) & (self.table["by"] == "all")]
        return None if rows.empty else rows.iloc[0]

    def by_check(self) -> list[tuple[str, pd.DataFrame, str]]:
        """Each check with its printed rows that are enough to judge by, and a sentence naming those that aren't."""
        made = []
        for check in (OTHERS, EARLIER):
            here = self.table["check"] == check
            enough = self.shown()[(here & (self.table["says"] == "")).to_numpy()]
            few = self.table[here & (self.table["says"] == SAYS_FEW)]
            listed = ", ".join(
                f"{g} {n:.0f}" for g, n in zip(few["group"], few["sales"], strict=True)
            )
            sentence = f"{SAYS_FEW.capitalize()} (sales): {listed}." if listed else ""
            if here.any():
                made.append((check.capitalize(), enough.drop(columns="check"), sentence))
        return made

    def sheet(self) -> Sheet:
        """The grade in a sentence, each check's table, and the comparison with the owner's own price."""
        parts: list[Part] = [Said((self.sentence(),))]
        for check, enough, few in self.by_check():
            narrow = ("group", "sales", "in 80%", "usual error", "lean", "COD", "PRB")
            parts += [Table(enough, check, narrow=narrow), Said((few,) if few else ())]
        parts += [Table(self.gut_shown(), "Against your own price"), Notes(self.notes)]
        return Sheet("How good the prices have been", tuple(parts))


def accuracy(fits: Fits) -> AccuracyStudy:
    """Grade the price model on the shop's own sales. Raises TooFewSales under 5 sales."""
    if fits.prices is None or len(fits.prices.sales) < FEWEST_SALES:
        raise TooFewSales(
            "There are under 5 sales with a price, so there is nothing to grade yet. Enter sale_price for more "
            "sold pieces."
        )
    others = from_the_others(fits.prices)
    earlier = from_earlier_sales(fits.records.listings, borrow=fits.settings.borrow)
    ways = both_ways(fits.records.listings, earlier, borrow=fits.settings.borrow)
    rows = [
        {"check": check, **_grade(by, group, some)}
        for check, sales in ((OTHERS, others), (EARLIER, earlier))
        for by, group, some in _groups(sales, with_quarters=check == EARLIER)
    ]
    gut = [
        row
        for check, s in ((OTHERS, others), (EARLIER, earlier))
        for row in against_own_price(check, s)
    ]
    return AccuracyStudy(
        table=pd.DataFrame(rows),
        gut=pd.DataFrame(gut, columns=["check", "way", "sales", "median_error", "bias", "closer"]),
        sales=others,
        backtest=earlier,
        ways=ways,
        currency=fits.settings.currency,
        notes=(*_notes(others, earlier), *borrowing_note(ways), *own_price_note(gut)),
    )


def _groups(sales: pd.DataFrame, *, with_quarters: bool) -> Iterator[tuple[str, str, pd.DataFrame]]:
    """All sales, then by price band, by type (most sales first); for the backtest, by what was known, by quarter."""
    if sales.empty:
        return
    yield "all", "all sales", sales
    # Bands by estimate and price together: by price alone the cheap sales would look over-estimated and the
    # dear ones under-estimated whatever the estimates (Standard on Ratio Studies, on PRB).
    middle = np.sqrt(sales["estimate"] * sales["sale_price"])
    cuts = np.quantile(middle, [1 / 3, 2 / 3])
    band = np.digitize(middle, cuts)
    for k, name in enumerate(("cheapest third", "middle third", "dearest third")):
        if (band == k).any():
            yield "price band", name, sales[band == k]
    counts = sales["furniture_type"].value_counts(sort=False)
    for kind in sorted(counts.index, key=lambda k: (-counts[k], str(k))):
        yield "type", str(kind).replace("_", " "), sales[sales["furniture_type"] == kind]
    if with_quarters:
        known = sales["sales_known"].to_numpy()
        for few, name in ((True, "under 30 sales known then"), (False, "30 or more known then")):
            if ((known < 30) == few).any():
                yield "known then", name, sales[(known < 30) == few]
        quarter = [str(quarter_of(d.date())) for d in sales["sold_on"]]
        for name in sorted(set(quarter)):
            yield "quarter", name, sales[np.array(quarter) == name]


def _grade(by: str, group: str, sales: pd.DataFrame) -> dict[str, Any]:
    price, made = sales["sale_price"].to_numpy(float), sales["estimate"].to_numpy(float)
    off = np.log(made / price)
    row: dict[str, Any] = {"by": by, "group": group, "sales": len(sales)}
    for level in ("80", "95"):
        inside = (price >= sales[f"low_{level}"].to_numpy()) & (
            price <= sales[f"high_{level}"].to_numpy()
        )
        low, high = share_range(int(inside.sum()), len(sales))
        row |= {
            f"inside_{level}": inside.mean(),
            f"inside_{level}_low": low,
            f"inside_{level}_high": high,
        }
    row["median_error"] = float(np.median(np.abs(made / price - 1)))
    row["bias"] = float(np.expm1(off.mean()))
    study = ratio_study(made, prices=price)
    for name, value, ends in (
        ("median_ratio", study.median, study.median_range),
        ("cod", study.cod, study.cod_range),
        ("prd", study.prd, study.prd_range),
        ("prb", study.prb, study.prb_range),
    ):
        row |= {name: value, f"{name}_low": ends[0], f"{name}_high": ends[1]}
    row["says"] = "" if study.enough else SAYS_FEW
    return row


def share_range(hits: int, of: int) -> tuple[float, float]:
    """The range of a share of `hits` out of `of`, 19 times out of 20 (Wilson 1927, J. Am. Stat. Assoc. 22: 209)."""
    if of == 0:
        return float("nan"), float("nan")
    share, k = hits / of, _Z**2 / of
    middle = (share + k / 2) / (1 + k)
    reach = np.sqrt(share * (1 - share) * k + k * k / 4) / (1 + k)
    return max(0.0, float(middle - reach)), min(1.0, float(middle + reach))


def _range(row: pd.Series, name: str, form: str) -> str:
    low, high = row[f"{name}_low"], row[f"{name}_high"]
    text = form.format(row[name])
    return (
        text
        if low != low or high != high
        else f"{text} ({form.format(low)} to {form.format(high)})"
    )


def _notes(others: pd.DataFrame, earlier: pd.DataFrame) -> tuple[str, ...]:
    notes = [
        "80% range, 95% range: a good tool has about that share of sales inside, not more and not less. Ranges in "
        "brackets hold 19 times out of 20.",
        "Usual error: half of the estimates were closer than this. Lean: how far the estimates are too high (+) or "
        "too low (-) on the whole.",
        "Ratio is estimate / sale price; COD its usual distance from its middle in per cent; PRD above 1 and PRB below "
        "0 mean dear pieces are estimated too low against cheap ones. The published pass marks are for real estate "
        "and are not borrowed.",
        "Read PRB for all sales. Inside one type or band the estimates are nearly alike, so whatever the records "
        "cannot see pulls it far below 0 there.",
        "A sale estimated from the others knows how long it sat and how prices went afterwards; a quarter priced from "
        "what came before knows neither, as on the day you ask.",
    ]
    dateless = int(others["sold_on"].isna().sum())
    if dateless:
        notes.append(
            f"{dateless} sales without a date could not be priced from what came before them."
        )
    if earlier.empty:
        notes.append(
            "No quarter had 5 sales before it, so nothing could be priced from what came before."
        )
    if len(others) < TOO_FEW:
        notes.append(
            f"{len(others)} sales: {SAYS_FEW}. From {TOO_FEW} on these figures begin to say something."
        )
    if not others["gut_price"].gt(0).any():
        notes.append(
            "No sold piece has a price of your own from before any advice, so the tool has nothing to be held against."
        )
    return tuple(notes)
