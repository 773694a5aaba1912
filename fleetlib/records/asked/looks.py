"""What the cells of one column look like: days, money, hours, kinds of piece, and which role suits several of them.

Nothing is decided here by one cell: shares of filled cells, the order of two columns along the rows, and where a
column is filled. The cut-offs are our own, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import combinations, pairwise, permutations

import numpy as np

from fleetlib.base.currencies import SIGNS
from fleetlib.records.files.not_pieces import TOTALS
from fleetlib.records.files.text_columns import TextColumn
from fleetlib.records.files.two_in_one import amount_and_day
from fleetlib.records.parsing.amounts import read_hours, read_prices
from fleetlib.records.parsing.cuts import price_after, says_off, says_to
from fleetlib.records.parsing.dates import read_dates
from fleetlib.records.parsing.inside import is_a_paint_colour
from fleetlib.records.parsing.near_days import has_no_year, month_and_year
from fleetlib.records.parsing.numbers import plain
from fleetlib.records.parsing.outcomes import state_said
from fleetlib.records.parsing.vocabulary import known_words, look_up, may_be, word_key

MOST_ROWS = 1500  # enough to tell by
_MOST_COLUMNS = 5
LIKE = 0.6  # the share of filled cells that must be of a sort
_SOME_ROWS, _COME_AGAIN, _LONG = (
    0.3,
    0.9,
    30,
)  # of the rows; different texts of the filled cells; letters
_FIRST_TEXTS = 60  # that many tell whether a column holds amounts and days
_HOURS = 24  # the middle of a column of hours is no more
_FAR = 1e6  # a price from which any amount can come off
_SELDOM = 0.2  # of the rows: a slip or two; our own, no source
_FIGURE = re.compile(r"\d")
_DATED = re.compile(r"\d{1,2}\W{1,3}\w+\W{1,3}(?:19|20)?\d\d|(?:19|20)\d\d\W\w+\W\d{1,2}")
_SHORTEST_STATE = 4  # letters, more than "yes"
CLEAR = 0.5  # by so much one order of roles must suit better than the next
_SIGNED = re.compile("|".join(re.escape(s) for s in SIGNS if not s.isalpha()))
_BOX = re.compile(r"\d[\"' ]*(?:cm|in)?[wdh]? ?(?:[x×*]|by) ?\d+.*?(?:[x×*]|by) ?\d", re.IGNORECASE)
_WORD = re.compile(r"[^\W\d_]{2,}")
_BARE = re.compile(r"\d+[.]\d+|\d+/\d+")
_MAY_BE_ANYTHING = re.compile(
    r"\d+[.]\d+|1/2|[12]/3|[13]/4|[1357]/8|\d\d?/16"
)  # 3.50, 1/2; not 27/4
_WITH_YEAR = re.compile(r"\d{1,2}([./-])\d{1,2}\1(?:\d\d)?\d\d")
_TIMED = re.compile(r"\d ?(?:h|hr|hrs|hours?|m|mins?|minutes?)\b|^\d{1,2}:\d\d$", re.IGNORECASE)


@dataclass(frozen=True, eq=False)
class Look:
    """The first rows of one column, and what they look like; `own` are the person's words for kinds."""

    cells: TextColumn
    as_of: date
    currency: str
    own: Mapping[str, str]

    @cached_property
    def _first(self) -> tuple[np.ndarray, np.ndarray]:
        return np.unique(self.cells.codes[:MOST_ROWS], return_inverse=True)

    @cached_property
    def codes(self) -> np.ndarray:
        """Which of `texts` stands in each of the first rows."""
        return self._first[1]

    @cached_property
    def texts(self) -> list[str]:
        """The different texts of the first rows."""
        return [self.cells.texts[i].strip() for i in self._first[0]]

    @cached_property
    def filled(self) -> np.ndarray:
        """Which of the first rows hold something."""
        return np.asarray(self._rows([float(bool(t)) for t in self.texts]) > 0)

    @property
    def filled_share(self) -> float:
        """The share of the rows in which it holds something, 0 where there are no rows."""
        return float(self.filled.mean()) if len(self.filled) else 0.0

    @cached_property
    def days(self) -> np.ndarray:
        """Days as numbers, NaN where a cell is no day; an order that nothing settles is read month first."""
        found = read_dates(self.texts, as_of=self.as_of)
        if found.asked:
            found = read_dates(self.texts, day_first=False, as_of=self.as_of)
        days = [
            np.nan
            if c.value is None or t.isdigit()
            else float(date.fromisoformat(str(c.value)).toordinal())
            for c, t in zip(found.cells, self.texts, strict=True)
        ]
        return self._rows(days)

    @cached_property
    def amounts(self) -> np.ndarray:
        """Amounts of money, NaN where a cell is none."""
        found = read_prices(self.texts, currency=self.currency)
        return self._rows([np.nan if p.cell.value is None else float(p.cell.value) for p in found])

    @cached_property
    def hours(self) -> np.ndarray:
        """Hours, NaN where a cell is none."""
        return self._rows(
            [np.nan if c.value is None else float(c.value) for c in read_hours(self.texts)]
        )

    def _rows(self, values: Sequence[float]) -> np.ndarray:
        return np.asarray(np.array([*values, np.nan])[self.codes])

    def share(self, values: np.ndarray) -> float:
        """The share of filled cells that are among `values`."""
        return float((~np.isnan(values[self.filled])).mean()) if self.filled.any() else 0.0

    def holding(self, holds: Callable[[str], object]) -> float:
        """The share of filled cells whose text `holds`."""
        return self.share(self._rows([1.0 if t and holds(t) else np.nan for t in self.texts]))

    @cached_property
    def is_days(self) -> bool:
        """Most filled cells are days, with a year or without; 3/8 counts beside a 12/28/24 alone."""
        named = self._named_days(_BARE)
        return self.share(self.days) >= LIKE or self.share(np.fmax(self.days, named)) >= LIKE

    @cached_property
    def any_days(self) -> np.ndarray:
        """Days as numbers, 1 for one without a year, which a column that says nothing else may hold as 27/4."""
        return np.asarray(np.fmax(self.days, self._named_days(_MAY_BE_ANYTHING)))

    def _named_days(self, but: re.Pattern[str]) -> np.ndarray:
        dated = any(_WITH_YEAR.fullmatch(t) for t in self.texts)
        named = (
            (has_no_year(t) and (dated or not but.fullmatch(t))) or month_and_year(t) is not None
            for t in self.texts
        )
        return self._rows([1.0 if is_day else np.nan for is_day in named])

    @cached_property
    def is_money(self) -> bool:
        """Most filled cells are amounts, none of which is a day or a count from 1 on."""
        if self.is_days or self.share(self.amounts) < LIKE or self.is_timed:
            return False
        known = self.amounts[~np.isnan(self.amounts)]
        counted = len(known) > 2 and bool((np.diff(known) == 1).all())
        return self.is_signed or (not counted and float(np.median(known)) >= 5)

    @cached_property
    def is_day_numbers(self) -> bool:
        """Every filled cell is five digits, as spreadsheets count days."""
        return all(len(t) == 5 and t.isdigit() for t in self.texts if t)

    @cached_property
    def is_signed(self) -> bool:
        """Some cell bears the sign of a currency."""
        return any(_SIGNED.search(t) for t in self.texts)

    @cached_property
    def is_timed(self) -> bool:
        """Most filled cells say hours or minutes."""
        return self.holding(_TIMED.search) >= LIKE

    @cached_property
    def is_states(self) -> bool:
        """Most filled cells say where a piece stands, not all by yes and no alone."""
        if all(len(t) < _SHORTEST_STATE for t in self.texts):
            return False
        return self.holding(state_said) >= LIKE

    @cached_property
    def is_sizes(self) -> bool:
        """Most filled cells hold two or three outside measures, such as 46x18x34."""
        return self.holding(_BOX.search) >= LIKE

    @property
    def _different(self) -> int:
        """How many different texts there are, whatever their case."""
        return len({t.casefold() for t in self.texts if t})

    @cached_property
    def is_words(self) -> bool:
        """Short words without a figure in most filled cells, of which some come again."""
        if self.filled_share < _SOME_ROWS:
            return False
        again = self._different <= _COME_AGAIN * int(self.filled.sum())
        short = self.holding(lambda t: len(t) < _LONG and not _FIGURE.search(t))
        return again and short >= LIKE

    @property
    def is_prose(self) -> bool:
        """Several words in most filled cells (in "x 300" there is none), and no amount of money in any."""
        said = self.holding(lambda t: len(_WORD.findall(t)) > 1)
        return said >= LIKE > self.share(self.amounts) == 0

    @cached_property
    def is_marks(self) -> bool:
        """A few short words that stand for something: each in two rows or more on the average."""
        return self.is_words and 2 * self._different <= int(self.filled.sum())

    def parted_by(self, other: Look) -> bool:
        """Each of its words stands nearly always where `other` is filled or nearly never, and there are both sorts."""
        n = min(len(self.codes), len(other.codes))
        sorts = set()
        for code, text in enumerate(self.texts):
            here = other.filled[:n][self.codes[:n] == code]
            if text and len(here) > 1:
                share = float(here.mean())
                if _SELDOM < share < 1 - _SELDOM:
                    return False
                sorts.add(share > 0.5)
        return len(sorts) == 2

    @cached_property
    def is_small(self) -> bool:
        """Bare numbers as hours are: few, and some of them no whole ones."""
        known = self.hours[~np.isnan(self.hours)]
        if self.is_signed or self.is_days or not len(known) or self.share(self.hours) < LIKE:
            return False
        return float(np.median(known)) <= _HOURS and bool((known % 1 > 0).mean() > 1 - _COME_AGAIN)

    @cached_property
    def is_dated(self) -> bool:
        """Most filled cells hold a day's number beside a year, or beside one for a month, in whatever words."""
        return self.holding(_DATED.fullmatch) >= LIKE

    @cached_property
    def is_off(self) -> bool:
        """Most filled cells say how much was taken off a price: `-30, -50`, `-10%`."""
        return self.holding(says_off) >= LIKE

    @cached_property
    def is_cuts(self) -> bool:
        """Most filled cells say how a price came down, by how much or to what: `a 360, a 330`."""
        return self.holding(lambda t: says_off(t) or says_to(t)) >= LIKE

    def is_small_beside(self, other: Look, got: Look | None) -> bool:
        """Its cells are amounts, alone or behind each other, far below those of `other` along the rows, and those that
        it sold for, `got`, in the rows that hold them."""
        off = self._rows(
            [_FAR - left if (left := price_after(t, _FAR)) else np.nan for t in self.texts]
        )
        some = bool((off > 0).any())  # nothing but 0 says that none came down
        price = (
            got is not None
            and bool(_both(off, got.amounts).any())
            and not _far_below(off, got.amounts)
        )
        return some and not price and self.share(off) >= LIKE and _far_below(off, other.amounts) > 0

    @cached_property
    def is_priced_days(self) -> bool:
        """Most of the first filled cells hold an amount and a day."""
        first = [t for t in self.texts if t][:_FIRST_TEXTS]
        return bool(first) and sum(map(bool, map(amount_and_day, first))) >= LIKE * len(first)

    def words(self, column: str) -> float:
        """The share of filled cells that are known words of `column`, or the person's own; totals do not count."""
        known = {*known_words(column), *self.own.values()} - {"unknown"}
        own = self.own if column == "furniture_type" else {}

        def is_known(text: str) -> bool:
            word = look_up(column, text, own)
            return word.value in known or bool(word.question)

        others = 1 - self.holding(lambda t: TOTALS.fullmatch(plain(t)))
        return self.holding(is_known) / others if others else 0.0

    @cached_property
    def kinds_named(self) -> float:
        """The share of filled cells that name a known kind of piece among other words: "four drawer dresser"."""
        return self.holding(lambda t: may_be("furniture_type", t))

    def names(self, column: str) -> float:
        """The share of filled cells that name a known word of `column` among others: "stripped, clear wax"."""
        known = set(known_words(column))

        def names_one(text: str) -> bool:
            parts = [p for p in _PARTS.split(text) if p and not is_a_paint_colour(word_key(p))]
            words = [look_up(column, part) for part in parts]
            return any(w.value in known or w.question for w in words)

        return self.holding(names_one)


_PARTS = re.compile(r"\s*(?:[,;+&/]|\band\b|\bthen\b)\s*", re.IGNORECASE)
_CHAINS = (
    ("bought_on", "listed_on", "sold_on"),
    ("bought_on", "listed_on", "withdrawn_on"),
    ("buy_price", "sale_price", "last_asking_price", "asking_price"),
    ("materials_cost", "sale_price"),
    ("materials_cost", "buy_price"),
)  # what comes first or is less stands first
_IN_ORDER = tuple(dict.fromkeys(pair for chain in _CHAINS for pair in combinations(chain, 2)))
_NEAR_EACH_OTHER = (
    ("sale_price", "asking_price"),
    ("sale_price", "last_asking_price"),
    ("last_asking_price", "asking_price"),
)
_HINTS = {
    "hours": "hour hours hrs time labour labor work worked",
    "materials_cost": "spent supplies paint hardware parts material stuff invested",
    "other_costs": "gas fuel haul hauling transport van truck",
    "buy_price": "paid cost buy bought purchase",
    "asking_price": "ask asked asking list listed tag sticker want wanted",
    "last_asking_price": "reduced dropped now lowered last cut cuts markdown markdowns reduction",
    "sale_price": "got sold sale final cash received took",
    "gut_price": "idea guess guessed instinct gut hope hoped hoping think worth value estimate",
    "selling_fees": "fee fees commission",
    "sold_on": "gone sold left out",
    "listed_on": "listed posted up online live ad advertised",
    "bought_on": "bought got found acquired",
    "withdrawn_on": "withdrawn kept pulled removed",
}


_SHORTEST_BEGINNING = 3  # letters of a word cut short
_IN_AND_OUT = {"in": "buy_price", "out": "sale_price"}  # "$ in": what went into it


def _consonants(word: str) -> str:
    """A word as it is shortened by leaving out vowels, all but a first one: paid is pd, sold sld, asking askng."""
    return word[:1] + re.sub("[aeiou]", "", word[1:])


_HINT_WORDS = {
    column: {word: _consonants(word) for word in hints.split()} for column, hints in _HINTS.items()
}


def hinted(heading: str) -> set[str]:
    """The columns that a word of `heading`, or the beginning of one, hints at."""
    words = set(re.findall(r"[a-z]+", heading.casefold()))
    money = _IN_AND_OUT if _SIGNED.search(heading) else {}
    begun = tuple(w for w in words if len(w) >= _SHORTEST_BEGINNING)  # Supp, Mat, Purch
    bare = {w for w in words if w == _consonants(w)}
    found = {
        column
        for column, hints in _HINT_WORDS.items()
        if words & hints.keys()
        or any(h.startswith(begun) or short in bare for h, short in hints.items())
    }
    came = {"bought_on"} if words == {"in"} and not money else set()
    return found | came | {column for word, column in money.items() if word in words}


def ranked_roles(
    looks: Sequence[Look],
    headings: Sequence[str],
    roles: Sequence[str],
    known: Mapping[str, Look],
) -> tuple[list[list[str]], bool]:
    """For each of `looks` the `roles` in the order in which they suit it, and whether the best is clear of the next.

    All columns are given roles together: their days or amounts must stand in the order of the trade along the rows,
    beside the columns that are `known`, and a day or price of sale is filled where there was a sale.
    """
    some, names = list(looks)[:_MOST_COLUMNS], list(headings)[:_MOST_COLUMNS]
    taken = min(len(some), len(roles))
    best: list[dict[str, float]] = [{} for _ in some]
    scores: list[float] = []
    for columns in permutations(range(len(some)), taken) if taken < len(some) else [range(taken)]:
        for given in permutations(roles, taken):
            role_of = dict(zip(columns, given, strict=True))
            score = _suits({r: some[c] for c, r in role_of.items()}, known)
            score += sum(1.0 for c, r in role_of.items() if r in hinted(names[c]))
            score -= sum(0.02 * roles.index(r) * (1 + c) for c, r in role_of.items())
            scores.append(score)
            for c, r in role_of.items():
                best[c][r] = max(score, best[c].get(r, -np.inf))
    ordered = [sorted(b, key=lambda r, b=b: -b[r]) for b in best]  # type: ignore[misc]
    ordered += [list(roles) for _ in looks[_MOST_COLUMNS:]]
    top = sorted(scores, reverse=True)
    return ordered, len(top) < 2 or top[0] - top[1] >= CLEAR


def _suits(given: Mapping[str, Look], known: Mapping[str, Look]) -> float:
    """How well the columns suit the roles they are given."""
    every = {**known, **given}
    score = 0.0
    for first, later in _IN_ORDER:
        if first in every and later in every and (first in given or later in given):
            score += _in_order(first, every[first], every[later])
    score -= sum(
        _far_below(every[less].amounts, every[more].amounts)
        for less, more in _NEAR_EACH_OTHER
        if less in every and more in every and (less in given or more in given)
    )
    sold = every.get("sale_price") if "sold_on" in given else every.get("sold_on")
    for role in ("sold_on", "sale_price"):
        if role in given:
            score += 2 * (_alike(given[role].filled, sold.filled) if sold else _partly(given[role]))
            score -= _UNSOLD * _without(given[role].filled, sold.filled) if sold else 0.0
    for role in ("bought_on", "listed_on", "asking_price", "buy_price"):
        if role in given:
            score -= _partly(given[role])
    if "withdrawn_on" in given and (left := every.get("sale_price") or every.get("sold_on")):
        both = given["withdrawn_on"].filled & left.filled
        score -= 2 * float(both.mean() if len(both) else 0.0)
    return score


def _in_order(column: str, first: Look, later: Look) -> float:
    """From -1 to 1: in how many rows the two stand in order."""
    money = column.endswith(("price", "cost"))
    a, b = (first.amounts, later.amounts) if money else (first.days, later.days)
    n = min(len(a), len(b))
    both = ~np.isnan(a[:n]) & ~np.isnan(b[:n])
    if not both.any():
        return 0.0
    a, b = a[:n][both], b[:n][both]
    return float((a < b).mean() - (a > b).mean())


def in_steps(looks: Sequence[Look]) -> bool:
    """Whether columns of amounts are filled from left to right and fall from one to the next, but for a slip or two."""
    n = min(len(k.codes) for k in looks)
    falls, rows = 0, 0
    for first, later in pairwise(looks):
        here = later.filled[:n]
        falls += int((here & (first.amounts[:n] > later.amounts[:n])).sum())
        rows += int(here.sum())
    later_ones = [int(k.filled.sum()) for k in looks]
    return falls >= _STEPS * rows > 0 and later_ones == sorted(later_ones, reverse=True)


_STEPS = 0.9  # of the rows; our own, no source


def _alike(a: np.ndarray, b: np.ndarray) -> float:
    n = min(len(a), len(b))
    return float((a[:n] == b[:n]).mean()) - 0.5 if n else 0.0


_UNSOLD = 8  # a price in an eighth of the rows without a sale weighs as much as two columns in order; our own


def _far_below(a: np.ndarray, b: np.ndarray) -> float:
    """2 where the amounts of `a` are far below those of `b` along the rows, as no price asked or got is, else 0."""
    both = _both(a, b)
    shares = a[: len(both)][both] / b[: len(both)][both]
    return 2.0 if both.any() and float(np.median(shares)) < _FAR_BELOW else 0.0


def _both(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    n = min(len(a), len(b))
    return np.asarray(~np.isnan(a[:n]) & (b[:n] > 0))


_FAR_BELOW = 0.4  # of the other; our own, no source


def _without(a: np.ndarray, b: np.ndarray) -> float:
    """The share of rows in which `a` holds something and `b` does not."""
    n = min(len(a), len(b))
    return float((a[:n] & ~b[:n]).mean()) if n else 0.0


def _partly(look: Look) -> float:
    """Half where the column is blank in some of the rows, as a day of sale is."""
    return 0.5 if 1 - look.filled_share > 0.02 else 0.0
