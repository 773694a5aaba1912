"""The rows of one piece are found by its name, in whatever case, in the table at hand and no other."""

import gc

import numpy as np
import pandas as pd

from fleetlib.records import rows_by_name
from fleetlib.records.rows_by_name import once_of, rows_named


def test_rows_are_found_in_whatever_case() -> None:
    table = pd.DataFrame({"piece": ["A-1", "b", "a-1", "STRASSE"]})
    assert rows_named(table, "A-1").tolist() == [0, 2]
    assert rows_named(table, "B").tolist() == [1]
    assert rows_named(table, "straße").tolist() == [3]
    assert rows_named(table, "c").tolist() == []


def test_another_table_and_a_longer_one_are_looked_through_anew() -> None:
    rng = np.random.default_rng(3)
    for _ in range(60):  # tables come and go at the same place in memory
        table = pd.DataFrame({"piece": rng.permutation(["x", "y", "z"])})
        assert rows_named(table, "y").tolist() == [table["piece"].tolist().index("y")]
    table.loc[3] = ["Y"]
    assert rows_named(table, "y").tolist()[-1] == 3


def test_a_table_is_sorted_out_once_and_nothing_of_it_outlives_it() -> None:
    asked: list[int] = []

    def sort_out(table: pd.DataFrame) -> int:
        asked.append(len(table))
        return len(table)

    held = len(rows_by_name._looked_up)
    table = pd.DataFrame({"piece": ["x", "y"]})
    assert [once_of(table, sort_out) for _ in range(3)] == [2, 2, 2]
    assert asked == [2]
    assert rows_named(table, "x").tolist() == [0]
    del table
    gc.collect()
    assert len(rows_by_name._looked_up) <= held
