"""A word left blank or never seen is the average of the stated ones, with a wider range, in every model and column."""

import numpy as np
import pandas as pd
import pytest

from fleetlib.price.fit import fit_prices
from fleetlib.records.piece import Piece
from fleetlib.records.schema.columns import COLUMNS
from fleetlib.work.hours import fit_hours
from fleetlib.work.materials import usual_materials
from tests.histories import AS_OF, flips_of
from tests.invented_flips import piece

WORDS = {
    "finish": ("oil", "paint", "wax"), "condition": ("no damage", "some damage", "heavy damage"),
    "route": ("clean up", "repair", "strip"), "construction": ("solid", "veneer", "laminate"),
    "wood": ("oak", "pine", "walnut"), "furniture_type": ("desk", "dresser", "hutch"),
}  # fmt: skip
OF_HOURS = [c.name for c in COLUMNS if "hours" in c.tells and c.kind == "word" and c.name in WORDS]
TIMES = (0.6, 1.0, 1.8)


def shop(column, *, blank=0.2, lost=0, seed=0):
    """60 pieces whose hours, materials and price go by the word of `column`, a fifth of them without one."""
    rng = np.random.default_rng(seed)
    rows = []
    for i in range(60):
        k = i % 3
        t = TIMES[k] * np.exp(0.1 * rng.standard_normal())
        row = {"furniture_type": "desk", column: WORDS[column][k]}
        if rng.random() < blank and column != "furniture_type":
            row[column] = None
        rows.append(piece(row.pop("furniture_type"), 200 * t, 8 * t, materials_cost=20 * t, **row))
    for _ in range(lost):
        row = {"hours": 1.0, "materials_cost": 1.0, "withdrawn_on": "2026-05-01"}
        rows.append({"furniture_type": "desk", "bought_on": "2026-04-01", "buy_price": 40.0} | row)
    return flips_of(rows)


def asked(column, word):
    cells = {"furniture_type": "desk", column: word}
    return Piece(**cells)


@pytest.mark.parametrize("column", OF_HOURS)
@pytest.mark.parametrize("word", [None, "never seen"])
def test_hours(column, word):
    if column == "furniture_type" and word is None:
        pytest.skip("a piece always has a type")
    fit = fit_hours(shop(column))
    known = [asked(column, w) for w in WORDS[column]]
    average = np.mean([fit.expected(p) for p in known])
    assert fit.expected(asked(column, word)) == pytest.approx(average, rel=0.1)
    widths = [np.log(np.divide(*fit.interval(p)[::-1])) for p in [*known, asked(column, word)]]
    assert widths[-1] > 1.2 * max(widths[:-1])


@pytest.mark.parametrize("column", ["finish", "condition", "route"])
@pytest.mark.parametrize("word", [None, "never seen"])
def test_materials(column, word):
    made = usual_materials(shop(column))
    average = np.mean([made.of(asked(column, w)) for w in WORDS[column]])
    assert made.of(asked(column, word)) == pytest.approx(average, rel=0.1)


@pytest.mark.parametrize("column", ["finish", "wood"])
def test_prices(column):
    fit = fit_prices(shop(column), as_of=AS_OF)
    known = [asked(column, w) for w in WORDS[column]]
    usual = fit.usual([*known, asked(column, None), asked(column, "never seen")])
    assert usual[:3].min() < min(usual[3:]) and max(usual[3:]) < usual[:3].max()
    widths = [
        np.subtract(*fit.distribution(p).interval(0.8)[::-1]) / u
        for p, u in zip(known, usual, strict=False)
    ]
    open_ = [fit.distribution(asked(column, w)).interval(0.8) for w in (None, "never seen")]
    assert min((hi - lo) / u for (lo, hi), u in zip(open_, usual[3:], strict=True)) > max(widths)


def test_pieces_given_up_on_the_bench_teach_nothing():
    with_, without = shop("finish", lost=6), shop("finish")
    for word in (*WORDS["finish"], None, "never seen"):
        p = asked("finish", word)
        assert fit_hours(with_).expected(p) == pytest.approx(fit_hours(without).expected(p))
        assert usual_materials(with_).of(p) == pytest.approx(usual_materials(without).of(p))
    assert pd.isna(with_["listed_on"]).sum() == 6
