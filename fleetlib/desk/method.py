"""The method on one page, for a statistician to referee: its equations and sources come from the code's docstrings.

Nothing is said here twice: each part names the modules and functions that do the work, and shows what these say of
themselves, so that a changed model changes its page.
"""

from __future__ import annotations

import inspect
import re
from dataclasses import dataclass, field
from importlib import import_module

import pandas as pd

from fleetlib.shown.html_blocks import escape, fill, text_notes, text_table, wrap
from fleetlib.trust.benchmarks import benchmark

# Chapter -> where each part's words stand: a module, or a module and one of its names.
CHAPTERS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "What a piece sells for",
        (
            "price.features", "price.regression.kernels", "price.regression.pool:fit_pool",
            "price.regression.restricted_likelihood", "price.regression.noise", "price.regression.priors",
            "price.priors", "price.regression.pool:doubted", "price.regression.pool:heavy_tailed_mode",
            "price.regression.pool:predictive", "price.regression.pool:left_out_t",
            "price.regression.mixture:Mixture",
        ),
    ),
    (
        "How long it takes to sell at a price",
        (
            "selling.weeks_at_risk:listing_histories", "selling.hazard:Hazard", "selling.likelihood",
            "selling.likelihood:price_response", "selling.posterior:Assumptions", "selling.posterior:posterior_mode",
            "selling.posterior:posterior_draws", "selling.kaplan_meier:survival_curve",
        ),
    ),
    (
        "What to ask, when to come down, which offer to take",
        (
            "plan.solver.worth_and_chance_sold",
            "plan.solver.dynamic_program", "plan.solver.local_search",
            "plan.offers:lowest_offers", "plan.outcomes:outcomes",
        ),
    ),
    ("How many hours it takes", ("work.hours:fit_hours", "work.hours:smearing", "work.hours:HoursFit")),
    (
        "What the hours and the places earn",
        (
            "pay.ratio", "pay.ratio:fieller", "pay.rates:pay_rates", "pay.shrinkage:pooled_variances",
            "pay.shrinkage:shrink", "pay.shrinkage:chance_best", "pay.stages:stage_days", "pay.work_order:what_next",
        ),
    ),
    ("Which finds to take", ("buying.best_set:best_set",)),
    (
        "How it is graded",
        (
            "trust.backtest:from_the_others", "trust.backtest:from_earlier_sales", "trust.borrowing:both_ways",
            "trust.ratio_study",
        ),
    ),
)  # fmt: skip
ASSUMED = (
    "One seller's own sales speak for the next one: what buyers paid before, they would pay again, but for a drift "
    "in the level of prices that the record itself shows.",
    "What is recorded of a piece carries what buyers see; the rest is spread, and widens every range.",
    "Finishes, channels and asking prices were chosen by the seller, not at random: what goes with them is not what "
    "they cause.",
    "Given the asks, weeks on the market are alike but for what the hazard says; buyers of different pieces do not "
    "compete with each other.",
    "What second-hand furniture is asked in general is borrowed until the own sales outweigh it; borrow = false in the "
    "settings leaves it out, and the accuracy of the early prices is counted both ways.",
    "Each prior says beside it where it comes from. Some were settled while looking at the simulated markets they are "
    "measured in (the developers' page says which), so those measurements lean to their side.",
)
_MEASURED = ("price", "newcomers", "markdowns")


@dataclass(frozen=True, slots=True)
class Part:
    """One module or function: where it stands in the code, and what it says of itself."""

    where: str
    words: str


@dataclass(frozen=True, eq=False, slots=True)
class Method:
    """The method: `chapters` of parts, `assumed` in sentences, and the tables `measured` by command."""

    chapters: tuple[tuple[str, tuple[Part, ...]], ...] = field(repr=False)
    assumed: tuple[str, ...] = ASSUMED
    measured: tuple[tuple[str, pd.DataFrame, tuple[str, ...]], ...] = field(default=(), repr=False)

    @property
    def table(self) -> pd.DataFrame:
        """One row a part: chapter, where, words."""
        rows = [(name, p.where, p.words) for name, parts in self.chapters for p in parts]
        return pd.DataFrame(rows, columns=["chapter", "where", "words"])

    def __str__(self) -> str:
        lines = ["The method", "", "Assumed", text_notes(self.assumed)]
        for name, parts in self.chapters:
            lines += ["", name, "=" * len(name)]
            for part in parts:
                lines += ["", part.where, "-" * len(part.where), _filled(part.words)]
        for name, table, notes in self.measured:
            lines += ["", f"Measured: {name}", text_table(table), text_notes(notes)]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        said = "".join(f"<li>{escape(line)}</li>" for line in self.assumed)
        blocks = [f"<h4>Assumed</h4><ul>{said}</ul>"]
        for name, parts in self.chapters:
            blocks.append(f"<h4>{escape(name)}</h4>")
            blocks += [
                f"<h5><code>{escape(p.where)}</code></h5>"
                f'<pre style="white-space:pre-wrap" tabindex="0">{escape(p.words)}</pre>'
                for p in parts
            ]
        for name, table, notes in self.measured:
            blocks.append(f"<h4>Measured: {escape(name)}</h4>")
            blocks.append(
                f'<pre style="overflow:auto" tabindex="0">{escape(text_table(table, width=160))}</pre>'
            )
            blocks += [f"<p>{escape(note)}</p>" for note in notes]
        return wrap(*blocks, heading="The method")


def method() -> Method:
    """The method, gathered from the docstrings of the code that is installed, with what was measured of it."""
    chapters = tuple(
        (
            name,
            tuple(Part(f"fleetlib.{where.replace(':', '.')}", _words(where)) for where in places),
        )
        for name, places in CHAPTERS
    )
    shown = [(name, benchmark(name)) for name in _MEASURED]
    return Method(chapters, measured=tuple((name, made.table, made.notes) for name, made in shown))


def _filled(words: str) -> str:
    """Words broken into lines that fit; tables, lists and equations stay as they are."""
    parts = words.split("\n\n")
    plain = [not re.search(r"^[ |*-]|  ", part, re.M) for part in parts]
    return "\n\n".join(fill(p) if told else p for p, told in zip(parts, plain, strict=True))


def _words(where: str) -> str:
    module, _, name = where.partition(":")
    found = import_module(f"fleetlib.{module}")
    return inspect.getdoc(getattr(found, name) if name else found) or ""
