"""What was worked out once is taken from the cache to the last digit, and a cache can do no harm."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fleetlib.base import kept_numbers
from fleetlib.base.kept_numbers import Numbers, kept, numbers_kept_for, told_by
from fleetlib.plan.case import Case
from fleetlib.price import own_price
from fleetlib.price.regression import pool, regression
from fleetlib.selling import fit as selling
from fleetlib.shop import open_shop
from fleetlib.trust import backtest

DEMO = Path(__file__).resolve().parents[2] / "data_demo"
SHELF = kept_numbers._Shelf  # before the tests' own takes its place
AWKWARD = np.array([0.1 + 0.2, np.pi * 1e-300, -0.0, np.inf, -np.inf, np.nan, 1e308, 5e-324])


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("FLEETLIB_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr(kept_numbers, "_Shelf", SHELF)


def the_file(tmp_path: Path) -> Path:
    (made,) = (tmp_path / "cache" / "numbers").iterdir()
    return made


def ask(shop: Path, given: object = 1, makes: np.ndarray = AWKWARD) -> tuple[np.ndarray, bool]:
    """What is kept for `given`, and whether it had to be worked out."""
    worked = []

    def work() -> np.ndarray:
        worked.append(1)
        return makes

    def again(numbers: Numbers) -> np.ndarray:
        return numbers["x"]

    with numbers_kept_for(shop):
        made = kept("test", given, work, numbers=lambda x: {"x": x}, again=again)
    return made, bool(worked)


def test_a_kept_number_is_the_one_worked_out_to_the_last_bit(tmp_path):
    assert ask(tmp_path)[1]
    found, worked = ask(tmp_path)
    assert not worked
    assert found.tobytes() == AWKWARD.tobytes()
    with numbers_kept_for(None):
        assert kept("test", 1, lambda: 7, numbers=dict, again=lambda n: 0) == 7


@dataclass
class _Told:
    x: object
    y: object = None


@pytest.mark.parametrize(
    "one, other",
    [
        (1, 1.0),
        (1.0, 1.0 + 2**-52),
        ("1", 1),
        (("a", "b"), ("ab",)),
        ((1, (2, 3)), (1, 2, 3)),
        (date(2026, 1, 1), date(2026, 1, 2)),
        (None, ""),
        (np.zeros((2, 3)), np.zeros((3, 2))),
        (np.zeros(2), np.zeros(2, dtype=int)),
        (np.array([0.0]), np.array([-0.0])),
        (_Told(1), _Told(None, 1)),
        ({"a": 1}, {"a": 2}),
        (frozenset("a"), frozenset("ab")),
        (np.zeros((0, 3)), np.zeros((0, 2))),
    ],
)
def test_another_content_is_another_question(tmp_path, one, other):
    assert ask(tmp_path, one)[1]
    assert ask(tmp_path, other)[1]
    assert not ask(tmp_path, one)[1]


def test_tables_are_told_apart_by_order_names_kinds_and_every_cell(tmp_path):
    table = pd.DataFrame(
        {"a": [1.0, np.nan], "b": ["x", None], "on": pd.to_datetime(["2026-01-01", None])}
    )
    others = [
        table[::-1],
        table[["b", "a", "on"]],
        table.rename(columns={"a": "c"}),
        table.fillna({"b": "None"}),
        table.assign(a=[1, 2]),
        table.assign(on=table["on"] + pd.Timedelta(days=1)),
        table.head(1),
    ]  # fmt: skip
    for one in (table, *others):
        assert ask(tmp_path, told_by(one))[1]
        assert not ask(tmp_path, told_by(one.copy()))[1]


def test_what_has_no_content_of_its_own_is_worked_out_each_time(tmp_path):
    for given in (object(), np.array([object()]), lambda: None):
        assert ask(tmp_path, given)[1] and ask(tmp_path, given)[1]


def harmed(text: str) -> dict[str, str]:
    """The file as it may not be."""
    head, body = text.splitlines()
    told = json.loads(head)
    older = json.dumps(told | {"made by": "another kit"})
    key = body.partition(" ")[0]

    def forged(numbers: str) -> str:
        line = f"{key} {numbers}"
        return f"{json.dumps(told | {'sum': kept_numbers._sum(line)})}\n{line}\n"

    return {
        "no JSON, of the right sum": forged("7 8"),
        "deep, of the right sum": forged("[" * 100_000),
        "a number, of the right sum": forged("7"),
        "a row, of the right sum": forged("[1,2]"),
        "others, of the right sum": forged('{"y": 7}'),
        "cut off": text[: len(text) // 2],
        "a digit changed": text.replace("0.30000000000000004", "0.30000000000000001"),
        "empty": "",
        "of an older kit": f"{older}\n{body}\n",
        "foreign": "PK\x03\x04 not ours",
        "a list": f"{head}\n[1]\n",
        "deep": "[" * 100_000,
        "large": " " * (kept_numbers.MOST_BYTES + 2),
        "not a head": f"7\n{body}\n",
    }


def test_a_broken_foreign_or_old_file_is_passed_over_and_replaced(tmp_path):
    ask(tmp_path)
    text = the_file(tmp_path).read_text()
    kinds = harmed(text)
    assert len(set(kinds.values()) - {text}) == len(kinds)
    for kind, wrong in kinds.items():
        the_file(tmp_path).write_text(wrong)
        assert ask(tmp_path)[1], kind
        assert not ask(tmp_path)[1], kind


def test_numbers_of_another_shape_than_the_question_has_are_not_used(tmp_path):
    with numbers_kept_for(tmp_path):
        for again in (lambda n: n["x"].reshape(3), lambda n: n["y"]):
            for _ in range(2):
                made = kept("t", 1, lambda: 7, numbers=lambda x: {"x": np.array(x)}, again=again)
                assert made == 7


def test_a_file_that_is_loaded_runs_nothing(tmp_path):
    """JSON with nothing but numbers: no pickle, no code, whatever stands in it."""
    ask(tmp_path)
    body = the_file(tmp_path).read_text().splitlines()[1]
    entry = json.loads(body.partition(" ")[2])
    assert set(entry) == {"x"}
    assert all(isinstance(v, int | float) for part in entry["x"] for v in part)
    source = Path(kept_numbers.__file__).read_text()
    assert not [w for w in ("pickle", "eval(", "exec(", "np.load") if w in source]


@pytest.mark.skipif(os.name == "nt", reason="links ask for rights there")
@pytest.mark.parametrize("which", ["the file", "the folder"])
def test_no_link_is_followed_to_read_or_to_write(tmp_path, which):
    ask(tmp_path)
    kept_file = the_file(tmp_path)
    target = tmp_path / "elsewhere"
    place = kept_file if which == "the file" else kept_file.parent
    place.rename(target)
    place.symlink_to(target)
    was = {p: p.read_bytes() for p in (target.iterdir() if target.is_dir() else [target])}
    assert ask(tmp_path)[1]
    assert ask(tmp_path, 2)[1]
    assert {p: p.read_bytes() for p in was} == was
    assert place.is_symlink()


@pytest.mark.skipif(os.name == "nt", reason="modes mean little there")
def test_a_cache_that_cannot_be_written_is_no_error(tmp_path, monkeypatch):
    monkeypatch.setenv("FLEETLIB_CACHE", str(tmp_path / "file" / "cache"))
    (tmp_path / "file").write_text("a file where the folder would be")
    assert ask(tmp_path)[1] and ask(tmp_path)[1]


def test_it_stays_small_and_what_was_asked_last_stays(tmp_path, monkeypatch):
    monkeypatch.setattr(kept_numbers, "MOST_KEPT", 3)
    for given in (1, 2, 3):
        ask(tmp_path, given)
    with numbers_kept_for(tmp_path):
        for given in (1, 4):
            kept("test", given, lambda: AWKWARD, numbers=lambda x: {"x": x}, again=lambda n: n["x"])
    assert ask(tmp_path, 2)[1]
    assert not ask(tmp_path, 1)[1]
    monkeypatch.setattr(kept_numbers, "MOST_BYTES", 5000)
    for given in range(30):
        ask(tmp_path, given, np.arange(100) / 7)
    assert the_file(tmp_path).stat().st_size <= 5000
    monkeypatch.setattr(kept_numbers, "MOST_SHOPS", 2)
    for shop in ("a", "b", "c"):
        ask(tmp_path / shop)
    assert len(list((tmp_path / "cache" / "numbers").iterdir())) == 2


def test_work_that_is_stopped_keeps_what_was_done_before(tmp_path):
    def stop() -> np.ndarray:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), numbers_kept_for(tmp_path):
        kept("test", 1, lambda: AWKWARD, numbers=lambda x: {"x": x}, again=lambda n: n["x"])
        kept("test", 2, stop, numbers=lambda x: {"x": x}, again=lambda n: n["x"])
    assert not ask(tmp_path, 1)[1]
    assert ask(tmp_path, 2)[1]


QUESTIONS: dict[str, Callable] = {
    "price": lambda shop: shop.advise_all(),
    "one piece": lambda shop: shop.advise(shop.piece()),
    "review": lambda shop: shop.review("2026-Q3"),
}


def refuse(*args: object, **kwargs: object) -> None:
    raise AssertionError("worked out again")


@pytest.mark.slow
def test_every_answer_is_the_same_with_the_cache_and_nothing_is_fitted_for_it(
    tmp_path, monkeypatch
):
    shop = tmp_path / "shop"
    shop.mkdir()
    for name in ("flips.csv", "events.csv", "settings.toml", "supplies.csv", "advice_log.csv"):
        shutil.copy(DEMO / name, shop)
    before = {p.name: p.read_bytes() for p in shop.iterdir()}
    first = {name: str(ask(open_shop(shop))) for name, ask in QUESTIONS.items()}
    for module in (pool, regression):
        monkeypatch.setattr(module, "find_mode", refuse)
    monkeypatch.setattr(selling, "posterior_mode", refuse)
    monkeypatch.setattr(backtest, "regression_of", refuse)
    monkeypatch.setattr(own_price, "_equally_likely_sets", refuse)
    assert {name: str(ask(open_shop(shop))) for name, ask in QUESTIONS.items()} == first
    monkeypatch.setattr(Case, "best_path", refuse)
    assert str(open_shop(shop).advise_all()) == first["price"]
    monkeypatch.setenv("FLEETLIB_CACHE", str(tmp_path / "empty"))
    with pytest.raises(AssertionError, match="worked out again"):
        open_shop(shop).advise_all()
    assert {p.name: p.read_bytes() for p in shop.iterdir()} == before


def test_another_process_finds_what_one_kept(tmp_path):
    code = "from pathlib import Path; import sys; from fleetlib.base.kept_numbers import _maker; print(_maker())"
    made = {
        subprocess.run([sys.executable, "-c", first + code], capture_output=True, text=True, check=True).stdout
        for first in ("", "import scipy.linalg\n", "import pandas, scipy.optimize\n")
    }  # fmt: skip
    assert made == {f"{kept_numbers._maker()}\n"}
