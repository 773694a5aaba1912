"""Which finish to give a piece: the same piece under each finish the shop has sold."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from fleetlib.base.errors import BadQuestion, FleetError
from fleetlib.base.money import format_money
from fleetlib.base.said import percent
from fleetlib.buying.find_value import FindValue, value_find
from fleetlib.finish.before_price import (
    FinishEffects,
    finish_effects,
    per_cent,
    prices_as_found,
)
from fleetlib.pay.rates import FEWEST
from fleetlib.records.own_groups import REST, group_names
from fleetlib.records.piece import Piece
from fleetlib.shown.sheet import Notes, Sheet, Shown, Table
from fleetlib.work.materials import UsualMaterials, usual_materials

if TYPE_CHECKING:
    from fleetlib.fits import Fits

_DRAWS = 10_000
_SEED = 2026
ALIKE = 0.03  # a spread of usual prices below this is hardly a difference
WENT_WITH, TOO_FEW = "went with it", "too few to say"
LIMIT = (
    "you did not give finishes at random: if your better pieces got one finish, part of what it seems to bring "
    "is those pieces, so this says what went with a finish and not what it brings. What settles it: note your own "
    "price of a piece as found, in the column found price or the entry that you bought it (bought NAME for 80 "
    "gut_price=300), or finish a few like pieces by turns"
)
TOLD = (
    "what a finish does to the price is told by the pieces whose price you noted as found, before any finish: of two "
    "pieces priced alike, the finish was not chosen by anything else you wrote down"
)


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class FinishChoice(Shown):
    """The same piece under each finish, the best pay per hour first. Money in `currency`.

    `table` columns: finish, sold (pieces sold with it), price (usual sale price), price_low and price_high (8
    times out of 10, what the finish itself leaves open), hours, materials, days (on the market), net (expected
    under the plan), profit, per_hour with per_hour_low and per_hour_high (8 times out of 10), effect (what the finish
    itself does to the log price, against the average of those told; missing where it is not identified), chance_best,
    says. Only finishes whose effect is identified (`finish/before_price.py`) have a chance of being best.
    `groups`: for each of the settings' groups of finishes, grouping, group, finishes, sold (adds up to the
    table's), per_hour (of its finishes, each counting as often as it sold), chance_best (that its average
    finish pays best, of groups sold at least 3 times), says.
    """

    piece: Piece
    table: pd.DataFrame = field(repr=False)
    currency: str
    notes: tuple[str, ...] = field(default=(), repr=False)
    groups: pd.DataFrame = field(default_factory=lambda: _no_groups(), repr=False)
    length_unit: str = "in"

    def groups_shown(self) -> pd.DataFrame:
        """The owner's own groups of finishes as printed."""
        g = self.groups
        return pd.DataFrame(
            {
                "group": g["group"],
                "finishes": g["finishes"],
                "sold": g["sold"],
                "an hour": [format_money(v, self.currency) for v in g["per_hour"]],
                "best": [
                    percent(p) if p == p else s
                    for p, s in zip(g["chance_best"], g["says"], strict=True)
                ],
            }
        )

    def shown(self) -> pd.DataFrame:
        """The table as printed."""
        t, c = self.table, self.currency
        return pd.DataFrame(
            {
                "finish": t["finish"],
                "sold": t["sold"],
                "price": [format_money(v, c) for v in t["price"]],
                "hours": [f"{h:.1f}" for h in t["hours"]],
                "materials": [format_money(v, c) for v in t["materials"]],
                "days": t["days"].round(),
                "profit": [format_money(v, c) for v in t["profit"]],
                "an hour": [format_money(v, c) for v in t["per_hour"]],
                "best": [
                    percent(p) if p == p else s
                    for p, s in zip(t["chance_best"], t["says"], strict=True)
                ],
            }
        )

    def sheet(self) -> Sheet:
        """Each finish, the owner's own groups of them, and what to mind."""
        own = Table(self.groups_shown(), "By your own groups")
        piece = replace(self.piece, finish=None).said(unit=self.length_unit)
        title = f"Which finish for: {piece}"
        return Sheet(title, (Table(self.shown()), own, Notes(self.notes)))


def finish_choice(fits: Fits, piece: Piece) -> FinishChoice:
    """Price, hours, materials, days and pay of `piece` under each finish the shop has sold.

    The piece's own gut price, hours and materials, where given, are for its own finish (or for none in
    particular) and are moved to the others in the proportions the records show. chance_best counts what
    the records leave open about each finish's price and hours; what is unknown about the piece itself is
    the same under every finish.

    Raises BadQuestion when no finish is on record for a sold piece, or nothing says hours or price.
    """
    flips = fits.records.flips
    sold = flips.loc[flips["status"] == "sold", "finish"].dropna().astype(str).value_counts()
    if sold.empty:
        raise BadQuestion(
            "No sold piece on record has a finish, so finishes cannot be compared. Fill in the finish column."
        )
    usual = usual_materials(flips)
    finds: dict[str, FindValue] = {}
    problem: FleetError | None = None
    for finish in sorted(sold.index):
        try:
            finds[finish] = value_find(fits, _under(fits, piece, finish, usual), usual=usual)
        except FleetError as refused:
            problem = refused
    if not finds:
        assert problem is not None
        raise problem
    names = list(finds)
    counts = np.array([int(sold[f]) for f in names])
    errors = _price_errors(fits, names)
    told = _told(fits, names)
    finds = _held_to(finds, told)
    buy = piece.buy_price or 0.0
    rows = []
    for name, n, error in zip(names, counts, errors, strict=True):
        v = finds[name]
        reach = 1.2816 * error
        known = told is not None and name in told.finishes
        says = "" if known else WENT_WITH
        rows.append(
            {
                "finish": name,
                "sold": n,
                "price": v.case.usual,
                "price_low": v.case.usual * math.exp(-reach),
                "price_high": v.case.usual * math.exp(reach),
                "hours": v.hours,
                "materials": v.materials,
                "days": v.outcomes.expected_days,
                "net": v.expected_net,
                "profit": v.profit(buy),
                "per_hour": v.profit(buy) / v.hours,
                "effect": told.mean[told.finishes.index(name)] if told and known else math.nan,
                "chance_best": math.nan,
                "says": says if n >= FEWEST else TOO_FEW,
            }
        )
    table = pd.DataFrame(rows)
    rates = _drawn_rates(fits, finds, told, errors, buy)
    table["per_hour_low"], table["per_hour_high"] = np.quantile(rates, [0.1, 0.9], axis=0)
    sure = np.where(table["effect"].notna(), counts, 0)
    table["chance_best"] = _chances(rates, sure)
    groups = _own_groups(fits, table, rates)
    few = table["sold"] < FEWEST
    table = table.iloc[np.lexsort((-table["per_hour"], few))].reset_index(drop=True)
    settings = fits.settings
    notes = _notes(fits, piece, table)
    return FinishChoice(piece, table, settings.currency, notes, groups, settings.length_unit)


def _under(fits: Fits, piece: Piece, finish: str, usual: UsualMaterials) -> Piece:
    """The piece with another finish; the owner's own figures are moved in the records' proportions."""
    other = replace(piece, finish=finish)
    gut, hours, materials = piece.gut_price, piece.hours, piece.materials_cost
    if gut and fits.prices is not None:
        own, changed = fits.prices.usual([piece, other])
        gut *= float(changed / own)
    if hours and fits.hours is not None:
        hours *= fits.hours.expected(other) / fits.hours.expected(piece)
    if materials and usual.average > 0:
        kind = piece.furniture_type
        materials *= usual.cost(kind, finish) / usual.cost(kind, piece.finish)
    return replace(other, gut_price=gut, hours=hours, materials_cost=materials)


def _price_errors(fits: Fits, finishes: list[str]) -> np.ndarray:
    """Standard error of each finish's log effect on price; 0 without a price fit."""
    if fits.prices is None:
        return np.zeros(len(finishes))
    effects = fits.prices.regressor.effects(0.80)
    own = effects[effects["feature"] == "finish"].set_index("setting")
    ends = np.log1p(own[["low", "high"]] / 100)
    errors = (ends["high"] - ends["low"]) / (2 * 1.2816)
    return np.asarray(
        errors.reindex(finishes).fillna(float(errors.max()) if len(errors) else 0.0).to_numpy()
    )


def _told(fits: Fits, names: list[str]) -> FinishEffects | None:
    """The effects of finishes on the price where the prices as found tell them, and a price fit is there to correct."""
    if fits.prices is None:
        return None
    flips = fits.records.flips
    sold = flips[["sale_price", "finish"]].assign(as_found=prices_as_found(fits.records))
    return finish_effects(sold[sold["finish"].isin(names)])


def _held_to(finds: dict[str, FindValue], told: FinishEffects | None) -> dict[str, FindValue]:
    """The finds with the usual prices of the told finishes apart by their own effects, their average as it was."""
    if told is None:
        return finds
    weights = np.array(told.sales) / sum(told.sales)
    logs = np.log([finds[f].case.usual for f in told.finishes])
    moved = np.exp(told.mean - (logs - weights @ logs))
    made = dict(finds)
    for finish, factor in zip(told.finishes, moved, strict=True):
        v = finds[finish]
        made[finish] = replace(
            v,
            case=replace(v.case, usual=v.case.usual * factor),
            expected_net=v.expected_net * factor,
        )
    return made


def _drawn_rates(
    fits: Fits,
    finds: dict[str, FindValue],
    told: FinishEffects | None,
    errors: np.ndarray,
    buy: float,
) -> np.ndarray:
    """Draws (n, k) of what an hour pays under each finish, given what the records leave open."""
    rng = np.random.default_rng(_SEED)
    values = list(finds.values())
    nets = np.array([v.expected_net for v in values])
    costs = np.array([v.materials + v.other + buy for v in values])
    off = errors * rng.standard_normal((_DRAWS, len(values)))
    if told is not None:
        own = told.draws(rng, _DRAWS) - told.mean
        for j, finish in enumerate(told.finishes):
            off[:, list(finds).index(finish)] = own[:, j]
    drawn = nets * np.exp(off)
    if fits.prices is not None:
        drawn *= np.exp(fits.prices.log_sd * rng.standard_normal((_DRAWS, 1)))
    hours = np.tile([v.hours for v in values], (_DRAWS, 1))
    if fits.hours is not None:
        pieces = [v.piece for v in values]
        expected = fits.hours.expected_draws(pieces, rng, _DRAWS)
        hours *= expected / np.array([fits.hours.expected(p) for p in pieces])
    rates: np.ndarray = (drawn - costs) / hours
    return rates


def _chances(rates: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """The chance (k,) that each column of `rates` pays best; NaN where fewer than 3 sales tell of it."""
    compared = counts >= FEWEST
    chances = np.full(len(counts), math.nan)
    if compared.sum() >= 2:
        best = rates[:, compared].argmax(axis=1)
        chances[compared] = np.bincount(best, minlength=int(compared.sum())) / len(rates)
    return chances


def _own_groups(fits: Fits, table: pd.DataFrame, rates: np.ndarray) -> pd.DataFrame:
    """The finishes rolled up by each of the settings' groupings of finishes; one row a group."""
    rows = []
    names, per_hour = table["finish"].tolist(), table["per_hour"].to_numpy(float)
    counts, known = table["sold"].to_numpy(int), table["effect"].notna().to_numpy()
    for grouping, part_of in group_names(fits.settings, "finish").items():
        parts = np.array([part_of.get(name, REST) for name in names])
        kinds = list(dict.fromkeys(parts))
        weights = np.array([np.where(parts == k, counts, 0.0) for k in kinds])
        sold = weights.sum(axis=1)
        weights = weights / sold[:, None]
        told = np.array([known[parts == k].all() for k in kinds])
        chances = _chances(rates @ weights.T, np.where(told, sold, 0))
        for k, kind in enumerate(kinds):
            rows.append(
                {
                    "grouping": grouping,
                    "group": kind,
                    "finishes": ", ".join(
                        n for n, p in zip(names, parts, strict=True) if p == kind
                    ),
                    "sold": int(sold[k]),
                    "per_hour": float(weights[k] @ per_hour),
                    "chance_best": chances[k],
                    "says": ("" if told[k] else WENT_WITH) if sold[k] >= FEWEST else TOO_FEW,
                }
            )
    made = pd.DataFrame(rows, columns=list(_no_groups().columns))
    return made.sort_values(["grouping", "per_hour"], ascending=[True, False], ignore_index=True)


def _no_groups() -> pd.DataFrame:
    return pd.DataFrame(
        columns=["grouping", "group", "finishes", "sold", "per_hour", "chance_best", "says"]
    )


def _notes(fits: Fits, piece: Piece, table: pd.DataFrame) -> tuple[str, ...]:
    best = table.iloc[0]
    pay = format_money(best["per_hour"], fits.settings.currency)
    known = table[table["effect"].notna()]
    if known.empty:
        notes = [f"most an hour went with {best['finish']}: {pay}", LIMIT]
    else:
        top = known.sort_values("chance_best").iloc[-1]
        effects = ", ".join(
            f"{n} {per_cent(e)}" for n, e in zip(known["finish"], known["effect"], strict=True)
        )
        notes = [
            f"{top['finish']} has the best chance to pay best, {percent(top['chance_best'])}, of those told",
            f"{TOLD}: {effects}, against their average",
        ]
        if len(known) < len(table):
            notes.append(LIMIT)
    few = table[table["sold"] < FEWEST]
    if len(few):
        notes.append(
            f"sold fewer than {FEWEST} times, so too few to say: {', '.join(few['finish'])}"
        )
    if piece.buy_price is None:
        notes.append("no buy price is given; profit is before what you pay for the piece")
    if fits.prices is None:
        notes.append(
            "there are too few sales to see what a finish does to the price: your gut price stands for every "
            "finish, and only hours and materials differ"
        )
    apart = table["price"].max() / table["price"].min() - 1
    if fits.prices is not None and len(table) > 1 and apart < ALIKE:
        notes.append("your sales show hardly any difference in price between these finishes")
    return tuple(notes)
