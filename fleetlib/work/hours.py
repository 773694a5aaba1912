"""Hands-on hours a piece takes: learned from past pieces, never drying time."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from scipy.special import stdtr, stdtrit

from fleetlib.base.errors import TooFewSales
from fleetlib.base.level import USUAL_LEVEL, check_level
from fleetlib.records.asked.usual_sizes import BANDS
from fleetlib.records.schema.columns import COLUMNS, INCHES_IN_A_CUBIC_FOOT
from fleetlib.work.whole_jobs import whole_jobs

if TYPE_CHECKING:
    from fleetlib.records.piece import Piece

LEAST_PIECES = 5
FEW_PIECES = 15
LIKELY_DRYING = (
    60.0  # hands-on hours for one piece above which drying time was probably counted (practice)
)
_FACTORS = tuple(c.name for c in COLUMNS if "hours" in c.tells and c.kind == "word")
# How much levels differ, relative to the spread between like pieces; tried at each of _SCALES times this.
_SPREADS = dict.fromkeys(_FACTORS, 0.75) | {"furniture_type": 1.5, "construction": 0.5}
_SCALES = (0.25, 0.5, 1.0, 2.0)
_FEWER_SCALES = (0.35, 1.0, 2.0)  # with more than three factors at work, to keep the grid small
_BLANK = ""  # what is not stated is a level of its own where it is learned from
# Slopes on log size and log count: (usual value, spread relative to the noise of about .3). No outside support.
_SLOPES = {"size": (0.35, 1.0), "count": (0.8, 1.0)}
_NOISE, _NOISE_PIECES = 0.35, 4.0  # sd of log hours expected before any record, worth four pieces

# What trade guides say a whole job takes (charge / rate; no data): weak, so a factor of 1.5 either way.
GUIDES: Mapping[str, float] = {"chair": 4.0, "dresser": 10.0, "armoire": 17.0}
_GUIDE_SD = 0.4
_GUIDE_GONE = 30  # pieces: by then the own record alone speaks
_GUIDE_MIDDLE = math.log(8.0)
_GUIDE_BY_SIZE = 0.6  # log hours by log usual size between kinds, read off the three


@dataclass(frozen=True, eq=False, slots=True)
class HoursFit:
    """What past pieces say about the hours of the next one.

    `pieces` is how many taught it, `log_sd` the spread of log hours between pieces alike on paper,
    `smear` Duan's factor from median to mean at that spread, `levels` the words seen for each factor ("" where
    some pieces do not state it), `shares` how often each is stated. A word not stated, or never seen, is the
    average of the stated ones, and its range is wider by how much they differ. `leaning`: how far it still leans
    on trade guides, from 1 without pieces to 0 from 30 on.
    """

    pieces: int
    log_sd: float
    smear: float
    levels: dict[str, tuple[str, ...]]
    shares: dict[str, tuple[float, ...]]
    notes: tuple[str, ...]
    _grid: tuple[_Weighted, ...]
    _centres: tuple[float, float]
    _df: float
    leaning: float = 0.0

    @property
    def told_by(self) -> str:
        """Where an expectation is from, in words."""
        if self.pieces >= LEAST_PIECES:
            return "your records"
        own = {0: "", 1: " and your one piece with hours"}
        return "trade guides" + own.get(self.pieces, f" and your {self.pieces} pieces with hours")

    @property
    def guides_note(self) -> tuple[str, ...]:
        """That the hours lean on guides, where nearly all is theirs."""
        return self.notes if self.leaning and self.pieces < LEAST_PIECES else ()

    def __repr__(self) -> str:
        return f"HoursFit(pieces={self.pieces}, log_sd={self.log_sd:.2f})"

    def expected(self, piece: Piece) -> float:
        """The average hours such pieces take: the median times Duan's factor."""
        row, known, _ = self._row(piece)
        means = [math.exp(float(row @ g.coefficients)) * self._lift(g, known) for g in self._grid]
        weights = [g.weight for g in self._grid]
        return (
            float(np.average(means, weights=weights))
            * math.exp(self._offset(row, piece))
            * self.smear
        )

    def interval(self, piece: Piece, level: float = USUAL_LEVEL) -> tuple[float, float]:
        """`level` of such pieces (8 of 10 by default) take hours between these two."""
        check_level(level)
        mid, sd = self._log(piece)
        reach = float(stdtrit(self._df, 0.5 + level / 2)) * sd
        return math.exp(mid - reach), math.exp(mid + reach)

    def sample(
        self, piece: Piece, rng: np.random.Generator, n: int, *, above: float = 0.0
    ) -> np.ndarray:
        """`n` draws of the whole hours of `piece`, given that it takes more than `above` (already spent)."""
        mid, sd = self._log(piece)
        start = 0.0
        if above > 0:
            start = min(float(stdtr(self._df, (math.log(above) - mid) / sd)), 1 - 1e-6)
        drawn = stdtrit(self._df, start + (1 - start) * rng.random(n))
        return np.asarray(np.maximum(np.exp(mid + sd * np.clip(drawn, -4.0, 4.0)), above))

    def remaining(self, piece: Piece, spent: float, rng: np.random.Generator, n: int) -> np.ndarray:
        """`n` draws of the hours still to go after `spent`: never below half an hour."""
        return np.maximum(self.sample(piece, rng, n, above=spent) - max(spent, 0.0), 0.5)

    def expected_draws(
        self, pieces: Sequence[Piece], rng: np.random.Generator, n: int
    ) -> np.ndarray:
        """(n, pieces) draws of the *expected* hours: what the records leave open about the averages.

        Drawn together, so that the difference between two finishes of one piece is as sure as it really is.
        """
        rows = [self._row(p) for p in pieces]
        X = np.array([r for r, _, _ in rows])
        offset = np.array([self._offset(r, p) for r, p in zip(X, pieces, strict=True)])
        which = rng.choice(len(self._grid), size=n, p=[g.weight for g in self._grid])
        drawn = np.empty((n, len(pieces)))
        for k, g in enumerate(self._grid):
            here = np.flatnonzero(which == k)
            spread = np.linalg.cholesky(g.noise * g.covariance)
            effects = g.coefficients + rng.standard_normal((len(here), X.shape[1])) @ spread.T
            unseen = np.sqrt([g.noise * self._extra(g, known, size) for _, known, size in rows])
            own = rng.standard_normal((len(here), len(pieces))) * unseen
            drawn[here] = effects @ X.T + offset + own
            drawn[here] += np.log([self._lift(g, known) for _, known, _ in rows])
        return np.exp(drawn) * self.smear

    def _lift(self, g: _Weighted, known: tuple[bool, ...]) -> float:
        """From exp(average effect) to the average of exp(effect), over the words of each factor not known."""
        lift, at = 1.0, 1
        for c, k in zip(_FACTORS, known, strict=True):
            here = g.coefficients[at : at + len(self.levels[c])]
            at += len(self.levels[c])
            share = np.array(self.shares[c])
            if not k and share.sum() > 0:
                lift *= float(share @ np.exp(here - share @ here))
        return lift

    def _row(self, piece: Piece) -> tuple[np.ndarray, tuple[bool, ...], float]:
        """The design row of a piece, which of its words were seen, and its log size."""
        words = {c: _word(getattr(piece, c)) for c in _FACTORS}
        size = _log_size(piece.width_in, piece.depth_in, piece.height_in)
        counts = np.array([_log_count(piece)])
        sizes = _filled(np.array([size]), [words], self.leaning)
        row = _design([words], self.levels, sizes, counts, self._centres)[0]
        known = _known([words], self.levels)[0]
        at = 1
        for c, k in zip(_FACTORS, known, strict=True):
            if not k:
                row[at : at + len(self.levels[c])] = self.shares[c]
            at += len(self.levels[c])
        return row, known, size

    def _offset(self, row: np.ndarray, piece: Piece) -> float:
        return float(_offset(row)) + _guided(_word(piece.furniture_type), self.leaning)

    def _extra(self, g: _Weighted, known: tuple[bool, ...], size: float) -> float:
        """Variance, in units of the noise, for words never seen and a size not given."""
        words = sum(
            (_SPREADS[c] * s) ** 2
            for c, s, k in zip(_FACTORS, g.scales, known, strict=True)
            if not k and sum(self.shares[c]) > 0
        )
        lacks = math.isnan(size) and not math.isnan(self._centres[0])
        return words + (_SLOPES["size"][1] ** 2 * 0.25 if lacks else 0.0)

    def _log(self, piece: Piece) -> tuple[float, float]:
        """Location and spread of log hours: t with the fit's degrees of freedom."""
        row, known, size = self._row(piece)
        mids, variances, weights = [], [], []
        for g in self._grid:
            mids.append(float(row @ g.coefficients) + self._offset(row, piece))
            open_ = float(row @ g.covariance @ row) + self._extra(g, known, size)
            variances.append(g.noise * (1 + open_))
            weights.append(g.weight)
        mid = float(np.average(mids, weights=weights))
        var = float(np.average(np.array(variances) + (np.array(mids) - mid) ** 2, weights=weights))
        return mid, max(math.sqrt(var), 0.05)


@dataclass(frozen=True, eq=False, slots=True)
class _Weighted:
    """One choice of how much types, finishes and constructions differ, with its posterior."""

    weight: float
    scales: tuple[float, ...]
    coefficients: np.ndarray
    covariance: np.ndarray
    noise: float


def smearing(standardised: np.ndarray, sd: float, *, cut: float = 3.0) -> float:
    """mean(exp(sd e)): from the median of a log prediction to its mean (Duan 1983, JASA 78, 605-610).

    `standardised` residuals e are cut at `cut` either way, so that one odd piece cannot rule the factor;
    with no cut it is Duan's own.
    """
    return float(np.exp(sd * np.clip(standardised, -cut, cut)).mean())


def fit_hours(flips: pd.DataFrame, *, borrow: bool = False) -> HoursFit:
    """Learn hours from the whole jobs in `flips` (canonical columns) that have hours above 0.

    log hours = level + type + finish + construction + slopes on log size and log pieces in the lot + noise.
    Levels are drawn toward 0 as normal effects; how much each factor matters is averaged over a small grid
    by marginal likelihood, the noise variance is integrated (a conjugate normal linear model: Gelman et
    al. 2013, *Bayesian Data Analysis* 3e, chapter 14), so predictions are t. Pieces still in work,
    or given up before they were ever for sale, are left out: their hours are not those of a whole job.

    With `borrow` the level and the kinds stand on trade guides (`GUIDES`, other kinds by their usual size between
    them), less so with every piece and no more from 30 on; without it TooFewSales is raised under five such pieces.
    """
    used = whole_jobs(flips)
    used = used[used["hours"] > 0]
    leaning = max(1 - len(used) / _GUIDE_GONE, 0.0) if borrow else 0.0
    if len(used) < LEAST_PIECES and not borrow:
        raise TooFewSales(
            f"hours are on record for {len(used)} finished pieces; {LEAST_PIECES} are needed to expect the "
            "hours of the next one. Fill in the hours column, or say the hours of the piece yourself."
        )
    y = np.log(used["hours"].to_numpy(float))
    words = [
        dict(zip(_FACTORS, map(_word, row), strict=True))
        for row in used.reindex(columns=list(_FACTORS)).itertuples(index=False, name=None)
    ]
    levels = {c: _levels([w[c] for w in words]) for c in _FACTORS}
    shares = {c: _shares([w[c] for w in words], levels[c]) for c in _FACTORS}
    sizes = np.array(
        [
            _log_size(*r)
            for r in used[["width_in", "depth_in", "height_in"]].itertuples(index=False, name=None)
        ]
    )
    counts = np.log(np.maximum(used["pieces_in_lot"].fillna(1).to_numpy(float), 1.0))
    sizes = _filled(sizes, words, leaning)
    centres = (
        float(np.nanmean(sizes)) if np.isfinite(sizes).any() else math.nan,
        float(counts.mean()) if len(counts) else 0.0,
    )
    if leaning:
        centres = (_usual_size("dresser"), 0.0)
    X = _design(words, levels, sizes, counts, centres)
    guided = np.array([_guided(w["furniture_type"], leaning) for w in words])
    grid, standardised, df = _posterior(X, y - _offset(X) - guided, levels, leaning)
    log_sd = max(math.sqrt(sum(g.weight * g.noise for g in grid)), 0.05)
    return HoursFit(
        pieces=len(used),
        log_sd=log_sd,
        smear=smearing(standardised, log_sd)
        if len(used) >= LEAST_PIECES
        else math.exp(log_sd**2 / 2),
        levels=levels,
        shares=shares,
        notes=_notes(used, standardised),
        _grid=grid,
        _centres=centres,
        _df=df,
        leaning=leaning,
    )


def _posterior(
    X: np.ndarray, y: np.ndarray, levels: dict[str, tuple[str, ...]], leaning: float = 0.0
) -> tuple[tuple[_Weighted, ...], np.ndarray, float]:
    """The grid with its weights, leave-one-out standardised residuals (n,) and degrees of freedom."""
    n = len(y)
    made = []
    told = [len(levels[c]) > 1 for c in _FACTORS]
    scales_tried = _SCALES if sum(told) <= 3 else _FEWER_SCALES
    for scales in product(*(scales_tried if t else (1.0,) for t in told)):
        # The general level is left free but for what the guides say of it.
        precision = [max(1e-6, leaning * (_NOISE / _GUIDE_SD) ** 2)]
        for c, s in zip(_FACTORS, scales, strict=True):
            precision += [(_SPREADS[c] * s) ** -2.0] * len(levels[c])
        precision += [_SLOPES[k][1] ** -2.0 for k in ("size", "count")]
        lam = np.array(precision)
        inner = X.T @ X + np.diag(lam)
        cov = np.linalg.inv(inner)
        beta = cov @ (X.T @ y)
        rest = float(y @ y - y @ (X @ beta)) + _NOISE_PIECES * _NOISE**2
        df = n - 1 + _NOISE_PIECES
        log_like = (
            0.5 * np.log(lam).sum() - 0.5 * np.linalg.slogdet(inner)[1] - 0.5 * df * math.log(rest)
        )
        hat = np.einsum("ij,jk,ik->i", X, cov, X)
        left = (y - X @ beta) / np.maximum(1 - hat, 0.02)
        spread = np.sqrt(rest / df / np.maximum(1 - hat, 0.02))
        made.append((float(log_like), scales, beta, cov, rest / df, left / spread))
    top = max(m[0] for m in made)
    raw = np.array([math.exp(m[0] - top) for m in made])
    keep = raw > 0.01
    weights = raw[keep] / raw[keep].sum()
    kept = [m for m, k in zip(made, keep, strict=True) if k]
    grid = tuple(
        _Weighted(float(w), m[1], m[2], m[3], m[4]) for w, m in zip(weights, kept, strict=True)
    )
    standardised = np.average([m[5] for m in kept], axis=0, weights=weights)
    return grid, standardised, n - 1 + _NOISE_PIECES


def _design(
    words: Sequence[dict[str, str]],
    levels: dict[str, tuple[str, ...]],
    sizes: np.ndarray,
    counts: np.ndarray,
    centres: tuple[float, float],
) -> np.ndarray:
    """Rows (n, 1 + levels + 2): ones, a column for each level seen, centred log size and log count."""
    parts = [np.ones((len(words), 1))]
    for c in _FACTORS:
        block = np.array([[float(w[c] == v) for v in levels[c]] for w in words])
        parts.append(block.reshape(len(words), len(levels[c])))
    parts.append(np.nan_to_num(sizes - centres[0])[:, None])
    parts.append((counts - centres[1])[:, None])
    return np.hstack(parts)


def _offset(rows: np.ndarray) -> Any:
    """The part of log hours that the usual slopes explain before anything is learned."""
    return rows[..., -2] * _SLOPES["size"][0] + rows[..., -1] * _SLOPES["count"][0]


def _guided(kind: str, leaning: float) -> float:
    """What trade guides say of a kind's log hours at a dresser's size, as far as they are leant on."""
    if not leaning:
        return 0.0
    apart = (_usual_size(kind) if kind in BANDS else _usual_size("dresser")) - _usual_size(
        "dresser"
    )
    said = math.log(GUIDES["dresser"]) + _GUIDE_BY_SIZE * apart
    said = math.log(GUIDES[kind]) if kind in GUIDES else min(said, math.log(GUIDES["armoire"]))
    said = said if kind in BANDS else _GUIDE_MIDDLE
    return _GUIDE_MIDDLE + leaning * (said - _GUIDE_MIDDLE) - leaning * _SLOPES["size"][0] * apart


def _usual_size(kind: str) -> float:
    """log cubic feet of a kind of BANDS at its usual size."""
    return _log_size(*(math.sqrt(low * high) for low, high in BANDS[kind]))


def _filled(sizes: np.ndarray, words: Sequence[dict[str, str]], leaning: float) -> np.ndarray:
    """Log sizes, those not given at the kind's usual one while guides are leant on."""
    if not leaning:
        return sizes
    kinds = [w["furniture_type"] for w in words]
    usual = [_usual_size(k if k in BANDS else "dresser") for k in kinds]
    return np.where(np.isfinite(sizes), sizes, np.array(usual))


def _known(
    words: Sequence[dict[str, str]], levels: dict[str, tuple[str, ...]]
) -> list[tuple[bool, ...]]:
    return [tuple(w[c] != _BLANK and w[c] in levels[c] for c in _FACTORS) for w in words]


def _levels(words: Sequence[str]) -> tuple[str, ...]:
    """The different words, "" among them; none where nobody states one."""
    return tuple(sorted(set(words))) if any(words) else ()


def _shares(words: Sequence[str], levels: tuple[str, ...]) -> tuple[float, ...]:
    """How often each level is stated, adding up to 1 over the stated ones; 0 for "not stated"."""
    counts = np.array([0.0 if v == _BLANK else float(words.count(v)) for v in levels])
    return tuple(float(s) for s in counts / max(counts.sum(), 1.0))


def _word(value: object) -> str:
    return value if isinstance(value, str) else ""


def _log_size(width: Any, depth: Any, height: Any) -> float:
    """log cubic feet; NaN where a side is missing."""
    sides = [math.nan if s is None else float(s) for s in (width, depth, height)]
    volume = math.prod(sides) / INCHES_IN_A_CUBIC_FOOT
    return math.log(volume) if volume > 0 else math.nan


def _log_count(piece: Piece) -> float:
    count = piece.pieces_in_lot
    return math.log(max(float(count), 1.0)) if count is not None and count == count else 0.0


def _notes(used: pd.DataFrame, standardised: np.ndarray) -> tuple[str, ...]:
    notes = []
    if len(used) < LEAST_PIECES:
        notes.append(
            f"hours lean on trade guides (chair {GUIDES['chair']:g}, dresser {GUIDES['dresser']:g}, armoire "
            f"{GUIDES['armoire']:g}) until five of your finished pieces have theirs: give or take half"
        )
    elif len(used) < FEW_PIECES:
        notes.append(
            f"only {len(used)} finished pieces have hours; expect the hours of the next one loosely"
        )
    long = used[used["hours"] > LIKELY_DRYING]
    for piece, hours in zip(long["piece"], long["hours"], strict=True):
        notes.append(
            f"{piece} has {hours:g} hours; hands-on hours leave out drying, check this one"
        )
    odd = used[(np.abs(standardised) > 4) & (used["hours"] <= LIKELY_DRYING)]
    for piece, hours in zip(odd["piece"], odd["hours"], strict=True):
        notes.append(f"{piece} has {hours:g} hours, far from pieces like it; check this one")
    return tuple(notes)
