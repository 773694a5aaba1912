"""The usual cost of materials by type and finish."""

import math

import pandas as pd
import pytest

from fleetlib.work.materials import usual_materials


def _flips(rows: list[tuple[str, str, float | None, str]]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["furniture_type", "finish", "materials_cost", "status"])


def test_factor_of_a_type_by_hand() -> None:
    made = usual_materials(
        _flips([("chair", "oil", 10.0, "sold"), ("dresser", "oil", 30.0, "listed")])
    )
    # average 20; chair (10 + 3*20)/(4*20) = .875, dresser 1.125; both finishes as their types expect
    assert made.by_type == pytest.approx({"chair": 0.875, "dresser": 1.125})
    # the finish: (10/17.5 + 30/22.5 + 3)/5 = .9810; the factors give 19.62 a piece, and the level puts 20 back
    oil = (10 / 17.5 + 30 / 22.5 + 3) / 5
    assert made.level == pytest.approx(1 / oil)
    assert made.cost("chair", "wax") == pytest.approx(17.5 / oil)
    assert made.cost("chair", "oil") + made.cost("dresser", "oil") == pytest.approx(40)


def test_unfinished_work_does_not_count() -> None:
    made = usual_materials(
        _flips([("chair", "oil", 10.0, "sold"), ("chair", "oil", 2.0, "in work")])
    )
    assert made.average == 10.0
    assert made.pieces == 1


def test_no_materials_on_record_has_no_average() -> None:
    assert math.isnan(usual_materials(_flips([("chair", "oil", None, "sold")])).average)
