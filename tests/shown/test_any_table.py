"""A table of the records, shown: nothing lost without saying so, nothing from the records trusted."""

import pandas as pd
import pytest

from fleetlib.base.errors import BadQuestion
from fleetlib.shown.any_table import show
from fleetlib.trust.benchmarks import benchmark


def test_only_the_first_rows_are_shown_and_the_rest_is_counted():
    shown = show(pd.DataFrame({"sale_price": range(2000)}), rows=3)
    assert list(shown.table["sale price"]) == [0, 1, 2]
    assert "1,997 more rows" in str(shown)
    assert "1,997 more rows" in shown._repr_html_()


def test_one_row_is_shown_as_names_and_values_without_the_missing_ones():
    shown = show(pd.Series({"furniture_type": "desk", "wood": None, "sale_price": 120.0}))
    assert shown.table.to_numpy().tolist() == [["furniture type", "desk"], ["sale price", 120.0]]
    assert "more row" not in str(shown)


def test_what_the_records_say_is_escaped():
    page = show(pd.DataFrame({"notes": ["<script>x</script>"]}))._repr_html_()
    assert "<script>" not in page
    assert "&lt;script&gt;" in page


def test_a_benchmark_that_is_not_there_is_refused_by_name():
    with pytest.raises(BadQuestion, match='no benchmark "luck"'):
        benchmark("luck")


def test_the_price_benchmark_is_handed_on_with_where_it_is_from():
    shown = benchmark("price")
    table = shown.table
    ours, usual = (table[table["method"] == m].set_index("n") for m in ("pooled", "OLS + t"))
    assert (usual["score 80"] == 1.0).all(), "everything is a ratio to ordinary least squares"
    assert (ours["score 80"] < 1.0).all()
    assert "bench_price" in " ".join(shown.notes)
