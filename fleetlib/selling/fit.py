"""How long a piece will sit: weekly chance of selling from sold and unsold listings.

    eta_it = a + a_type + f(log(ask_it / m_i) - rho z_i) + gam log t + B u_i ,   h = 1 - exp(-exp(eta))
    z_i    = log(gut_i / m_i) - its mean over past listings ,   u_i ~ N(0, s^2)

m: the usual sale price; gut: the owner's own price idea. The idea is a *signal* of what the records cannot
see: better pieces are asked more *and* sell faster, so a plain regression of sold-this-week on asking price
badly understates how strongly price moves sales. rho = 1: the idea is the value; rho = 0: it says nothing.
Each listing's u is integrated out (11-point Gauss-Hermite); the rest is the mode of the posterior under the
stated assumptions, with its curvature (Laplace).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import pandas as pd
from scipy.special import ndtri

from fleetlib.base.kept_numbers import Numbers, kept
from fleetlib.selling.hazard import Hazard
from fleetlib.selling.likelihood import price_response
from fleetlib.selling.posterior import (
    ASSUMED,
    DRAWS,
    FRAILTY,
    LEVEL,
    SENSITIVITY,
    SHOP,
    SIGNAL,
    WEEK,
    Assumptions,
    SellingData,
    Valued,
    curvature,
    posterior_draws,
    posterior_mode,
    selling_data,
)
from fleetlib.selling.sale_to_ask import Haggle, fit_haggle
from fleetlib.selling.weeks_at_risk import DATED, Listings
from fleetlib.shown.sheet import Facts, Notes, Sheet, Shown, Table

Learned = Literal["assumed", "partly learned", "learned"]
ValueFrom = Literal["usual price", "gut price"]

FEWEST_SOLD = 12  # below this the owner's own idea is the value
FEWEST_CHANGES = 8  # below this many listings with dated price changes, sensitivity is assumed
HALF_TAUGHT = 4  # so many listings with dated changes take B halfway from its safer side
# Equally likely kinds of a type never listed, in an order that has nothing to do with B, by which draws are sorted.
_ANY_TYPE = ndtri((np.random.default_rng(0).permutation(DRAWS) + 0.5) / DRAWS)
# The upper half of a normal distribution, in another such order.
_ANY_ERROR = ndtri(0.5 + (np.random.default_rng(1).permutation(DRAWS) + 0.5) / DRAWS / 2)
_LEANING = (
    "With so few sales, plans weigh the quarter of what may be true of your buyers in which they bring least: asking "
    "too much costs more than asking too little. From 60 sales on the average alone decides.",
)
LEAST_LEARNED = 0.2  # share of its sd that the assumption about B keeps when no change is dated


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class SellingTimeFit(Shown):
    """The shop's own pace of selling.

    best: shape (6 + types,), the posterior mode of (a, B, gam, rho, log s, curvature, a_type...).
    draws: (12, 6 + types), equally likely alternatives from the posterior: the range of every chance sold.
    types: furniture types with their own pace, in the order of a_type. information: 1 - (posterior sd of
    B / prior sd)^2, from 0 (assumed) to 1 (learned). learned: the same in a word, "assumed", "partly
    learned" or "learned". value_from: "usual price" or, with fewer than 12 sold, "gut price". weeks_seen:
    listing-weeks used. sold, unsold: listings used. cap: the highest ask as log(ask / anchored value); tried: what
    98 in 100 past asks stayed under. usual_ask:
    the mean of that over all past listing-weeks. haggle: what buyers pay of the ask. log_evidence: how well the
    listings agree with the assumptions (Laplace's approximation, up to a constant): of two sets of assumptions with
    the same spreads, the one with the larger figure.
    """

    best: np.ndarray = field(repr=False)
    draws: np.ndarray = field(repr=False)
    types: tuple[str, ...] = field(repr=False)
    information: float
    learned: Learned
    haggle: Haggle = field(repr=False)
    value_from: ValueFrom
    sold: int
    unsold: int
    weeks_seen: int = field(repr=False)
    signal_mean: float = field(repr=False)
    signal_var: float = field(repr=False)
    cap: float = field(repr=False)
    tried: float = field(repr=False)
    usual_ask: float = field(repr=False)
    assumed: Assumptions = field(repr=False)
    log_evidence: float = field(repr=False)
    notes: tuple[str, ...] = field(default=(), repr=False)

    @property
    def leaning(self) -> np.ndarray:
        """What plans are made for: with few sales `best` moved to where buyers mind the price more.

        By `Assumptions.lean`; the rest of it moves as it goes with B over the draws.
        """
        sds = self.assumed.lean * max(0.0, 1 - self.sold / self.assumed.lean_sales)
        away = self.draws - self.draws.mean(axis=0)
        b = away[:, SENSITIVITY]
        return np.asarray(self.best + sds * (b @ away) / np.sqrt(len(b) * (b @ b)))

    @property
    def caution(self) -> float:
        """How much the worst quarter of the draws counts where a plan is chosen: half at first, less with each sale."""
        return self.assumed.caution * max(0.0, 1 - self.sold / self.assumed.lean_sales)

    def hazard(
        self,
        furniture_type: str,
        usual_price: float,
        gut_price: float | None = None,
        *,
        draw: int | None = None,
        sensitivity_factor: float = 1.0,
    ) -> Hazard:
        """The weekly chance of selling one piece.

        usual_price, gut_price: money; without a gut price the value is less certain and the plan says so.
        draw: one of the alternatives 0..11 instead of what plans are made for (`leaning`). sensitivity_factor: B times
        this, with the rate of sale at the usual past ask unchanged.
        """
        theta = self.leaning if draw is None else self.draws[draw]
        kap, _, _ = curvature(theta, self.assumed)
        B, rho = float(theta[SENSITIVITY]), float(theta[SIGNAL])
        s = float(np.exp(theta[FRAILTY]))
        value, z = usual_price, 0.0
        if gut_price is None or not np.isfinite(gut_price):
            s = float(np.hypot(s, rho * np.sqrt(self.signal_var)))
        elif self.value_from == "gut price":
            value = gut_price
        else:
            z = float(np.log(gut_price / usual_price)) - self.signal_mean
        kind = self.types.index(furniture_type) if furniture_type in self.types else None
        anchor = float(np.log(value)) + rho * z
        baseline = float(theta[LEVEL])
        if kind is not None:
            baseline += float(theta[SHOP + kind])
        elif (
            furniture_type and draw is not None
        ):  # never listed: as far from the others as types are
            baseline += self.assumed.type_sd * float(_ANY_TYPE[draw % len(_ANY_TYPE)])
        bend = price_response(np.array([self.usual_ask]), 1.0, kap)[0]
        return Hazard(
            baseline=baseline + B * (1.0 - sensitivity_factor) * float(bend[0]),
            sensitivity=B * sensitivity_factor,
            curvature=kap,
            week_exponent=float(theta[WEEK]),
            log_anchor=anchor,
            frailty_sd=s,
            share_paid=self.haggle.share_paid,
            highest_ask=float(np.exp(anchor + self.cap)),
            highest_tried=float(np.exp(anchor + self.tried)),
        )

    def drawn_hazards(
        self,
        furniture_type: str,
        usual_price: float,
        gut_price: float | None = None,
        *,
        doubt: float = 0.0,
    ) -> list[Hazard]:
        """Equally likely alternatives of `hazard`: for the range of every chance sold.

        doubt: standard deviation of the log of usual_price. Each of the 12 draws of the shop's pace stands twice,
        with a usual price so much above and below; its size is spread over the draws and has nothing to do with B.
        Where the own price is the value, the usual price doesn't matter.
        """
        made = []
        for draw in range(len(self.draws)):
            off = doubt * float(_ANY_ERROR[draw % len(_ANY_ERROR)])
            for sign in (-1.0, 1.0) if doubt > 0 else (1.0,):
                usual = usual_price * float(np.exp(sign * off))
                made.append(self.hazard(furniture_type, usual, gut_price, draw=draw))
        return made

    @property
    def table(self) -> pd.DataFrame:
        """What was fitted, one row each: what, value, low, high (the range of the 12 draws), meaning."""
        rows = [
            (
                "price response",
                self.best[SENSITIVITY],
                self.draws[:, SENSITIVITY],
                "per cent fewer buyers a week for one per cent more asked, around the usual price",
            ),
            (
                "your own price idea",
                self.best[SIGNAL],
                self.draws[:, SIGNAL],
                "1: it sees all that the records can't; 0: it adds nothing to them",
            ),
            (
                "quality nobody recorded",
                np.exp(self.best[FRAILTY]),
                np.exp(self.draws[:, FRAILTY]),
                "spread of value left unseen, as a share of the price",
            ),
            (
                "interest in week 8",
                np.exp(self.best[WEEK] * np.log(8)),
                np.exp(self.draws[:, WEEK] * np.log(8)),
                "as a share of the first week's, at the same price",
            ),
        ]
        return pd.DataFrame(
            [(n, float(v), float(d.min()), float(d.max()), m) for n, v, d, m in rows],
            columns=["what", "value", "low", "high", "meaning"],
        )

    def _facts(self) -> list[tuple[str, str]]:
        bought = self.haggle.share_paid
        return [
            ("Listings", f"{self.sold + self.unsold}, of which {self.sold} sold"),
            ("Weeks on the market", f"{self.weeks_seen}"),
            ("Price response", f"{self.learned} ({self.information:.0%} from your own listings)"),
            ("Buyers pay", f"{bought:.0%} of the last asking price on average"),
        ]

    def _shown(self) -> pd.DataFrame:
        shown = self.table
        for column in ("value", "low", "high"):
            shown[column] = [f"{v:.2f}" for v in shown[column]]
        return shown

    def sheet(self) -> Sheet:
        """What was learned from how many listings, and each figure with its range."""
        parts = (Facts(tuple(self._facts())), Table(self._shown()), Notes(self.notes))
        return Sheet("How long pieces sit", parts)


def eight_in_ten(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Low and high ends that hold 8 in 10 of what the equally likely rows (draws, ...) were drawn from.

    The ends allow for how few the draws are: of n of them the lowest is exceeded n times in n + 1 (Weibull's plotting
    position).
    """
    low, high = np.quantile(values, (0.1, 0.9), axis=0, method="weibull")
    return low, high


def fit_selling_time(listings: Listings, *, assumed: Assumptions = ASSUMED) -> SellingTimeFit:
    """Fit the weekly chance of selling; works, leaning on the assumptions, for any number of listings."""
    table = listings.table
    sold = int(table["sold"].sum())
    value_from: ValueFrom = "usual price" if sold >= FEWEST_SOLD else "gut price"
    gut = table["gut_price"].to_numpy(float)
    usual = table["usual_price"].to_numpy(float)
    m = np.where(np.isfinite(usual), usual, gut)
    if value_from == "gut price":
        m = np.where(np.isfinite(gut), gut, usual)
    with np.errstate(invalid="ignore"):
        raw = np.log(gut / m)
    signal = np.isfinite(raw) & np.isfinite(usual)
    mean = float(raw[signal].mean()) if signal.any() and value_from == "usual price" else 0.0
    z = np.where(signal & (value_from == "usual price"), raw - mean, 0.0)
    var = float(z[signal].var()) if signal.sum() > 2 and value_from == "usual price" else 0.2**2
    used = (table["weeks"].to_numpy() > 0) & np.isfinite(m)
    types = tuple(sorted(table.loc[used, "furniture_type"].unique()))
    data = selling_data(listings, used, Valued(m, z, np.isfinite(gut), var), types=types)
    dated = _share_dated(table)
    changed = int((table["changed"] & table["asks_from"].eq(DATED)).sum())
    assumed = _held_to(assumed, dated, changed)
    found = kept(
        "pace of selling",
        (data, assumed),
        lambda: _posterior(data, assumed),
        numbers=lambda made: made,
        again=lambda made: made,
    )
    best, draws, sd_b = found["best"], found["draws"], float(found["sd of B"])
    prior_sd = float(np.mean(assumed.sensitivity[1:]))
    information = float(np.clip(1 - (sd_b / prior_sd) ** 2, 0.0, 1.0))
    learned = _learned(information, changed)
    dear = data.x - best[SIGNAL] * data.z[data.layout.listing] if used.any() else np.zeros(0)
    nearly_all = float(np.quantile(dear, 0.98)) if len(dear) else assumed.tried
    reach = assumed.reach / float(best[SENSITIVITY]) * sold / (sold + assumed.reach_sales)
    cap = min(max(nearly_all, assumed.tried) + reach, assumed.most_reach)
    return SellingTimeFit(
        best=best,
        draws=draws,
        types=types,
        information=information,
        learned=learned,
        haggle=fit_haggle(listings),
        value_from=value_from,
        sold=sold,
        unsold=len(table) - sold,
        weeks_seen=int(table.loc[used, "weeks"].sum()),
        signal_mean=mean,
        signal_var=var,
        cap=cap,
        tried=nearly_all,
        usual_ask=float(np.mean(dear)) if len(dear) else 0.0,
        assumed=assumed,
        log_evidence=float(found["log evidence"]),
        notes=listings.notes
        + _notes(learned, bool(table["changed"].any()), sold, len(table) - sold, dated)
        + (_LEANING if sold < assumed.lean_sales and assumed.lean else ()),
    )


def _posterior(data: SellingData, assumed: Assumptions) -> Numbers:
    """Mode, draws, sd of B and log evidence, by name: what is kept from run to run."""
    best, hessian, log_evidence = posterior_mode(data, assumed)
    draws, sd_b = posterior_draws(best, hessian, data, assumed)
    told = {"sd of B": np.array(sd_b), "log evidence": np.array(log_evidence)}
    return {"best": best, "draws": draws, **told}


def _notes(
    learned: Learned, came_down: bool, sold: int, unsold: int, dated: float
) -> tuple[str, ...]:
    notes = []
    if sold < FEWEST_SOLD:
        so_far = (
            f"Only {sold} of your listings with their days on record {'has' if sold == 1 else 'have'} sold"
            if sold
            else "None of your listings with their days on record has sold"
        )
        notes.append(
            f"{so_far}; until {FEWEST_SOLD} have, your own gut price stands for "
            "the value of a piece."
        )
    if not came_down:
        notes.append("No asking price on record ever changed.")
    elif dated < 0.5:
        notes.append(
            "Most of your markdowns have no date, so they teach little about how buyers answer a price; write "
            "down the day of each."
        )
    if learned == "assumed":
        notes.append(
            "How strongly price moves your sales is assumed, not learned: it takes about a hundred listings, asked "
            "now higher, now lower, until most of it is."
        )
    elif learned == "partly learned":
        notes.append("How strongly price moves your sales is partly learned, partly assumed.")
    if sold and not unsold:
        notes.append(
            "Nothing unsold is on record. If some pieces never sold, enter them: without them every piece "
            "looks quicker to sell than it is."
        )
    return tuple(notes)


def _share_dated(table: pd.DataFrame) -> float:
    """Of the weeks of listings whose price came down, the share with dated changes; 1 where none did."""
    came_down = (table["last_ask"] < 0.995 * table["first_ask"]).to_numpy()
    weeks = table["weeks"].to_numpy() * came_down
    dated = table["asks_from"].eq(DATED).to_numpy()
    return float(weeks[dated].sum() / weeks.sum()) if weeks.sum() else 1.0


def _held_to(assumed: Assumptions, dated: float, changed: int) -> Assumptions:
    """The assumption about B, by how far a shop's markdowns can teach it.

    dated: share of the weeks of marked-down listings with dated changes. Asks that are filled in say when a
    piece sold, not what buyers made of each price; taken at their word they would teach a wrong B, and more
    surely so the more of them there are. So the sd shrinks with that share. changed: listings with dated
    changes; the fewer, the nearer the mean is to its safer side.
    """
    mean, below, above = assumed.sensitivity
    taught = dated * changed / (changed + HALF_TAUGHT)
    kept = LEAST_LEARNED + (1 - LEAST_LEARNED) * dated
    mean = assumed.untaught + (mean - assumed.untaught) * taught
    return replace(assumed, sensitivity=(mean, kept * below, kept * above))


def _learned(information: float, changed: int) -> Learned:
    if information < 0.4 or changed < FEWEST_CHANGES:
        return "assumed"
    return "partly learned" if information <= 0.65 else "learned"
