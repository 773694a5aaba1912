"""Each different text of a record is read once, and let go of when the reading ends."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from fleetlib.records.cleaning.clean import clean_table
from fleetlib.records.files.reading import table_from_text
from fleetlib.records.folder import read_records
from fleetlib.records.parsing import amounts, dates, once
from tests.bench_records import AS_OF, untidy_csv

DEMO = Path(__file__).parents[2] / "data_demo"


def held() -> int:
    """How many texts are held."""
    return sum(clear.__self__.cache_info().currsize for clear in once._kept)  # type: ignore[attr-defined]


def counted(monkeypatch: pytest.MonkeyPatch, module: object, name: str) -> Counter[str]:
    """How often the function `name` of `module` is called with each text from now on."""
    calls: Counter[str] = Counter()
    work: Callable[[str], object] = getattr(module, name)

    def counting(text: str) -> object:
        calls[text] += 1
        return work(text)

    monkeypatch.setattr(module, name, counting)
    return calls


def test_a_cell_that_several_questions_look_at_is_read_once(monkeypatch) -> None:
    priced = counted(monkeypatch, amounts, "_without_day")
    called_wrong = counted(monkeypatch, dates, "_what_is_wrong")
    table = table_from_text(untidy_csv(60), name="flips.csv")
    clean_table(table, as_of=AS_OF)
    for calls in (priced, called_wrong):
        assert len(calls) > 20
        assert set(calls.values()) == {1}


def test_an_amount_that_comes_again_counts_as_often_as_it_stands(monkeypatch) -> None:
    priced = counted(monkeypatch, amounts, "_without_day")
    once.forget()
    read = amounts.read_money(["$1,5", "$1.5"] + ["$2.25"] * 9)
    assert priced == {"$1,5": 1, "$1.5": 1, "$2.25": 1}
    assert read[0].why == "uses the comma as the decimal mark, unlike the rest of the column"
    assert [c.value for c in read[1:]] == [1.5] + [2.25] * 9


def test_nothing_of_a_record_is_held_once_it_is_read() -> None:
    read_records(DEMO)
    assert not held()
    amounts.read_money(["about 450"])
    assert held()
    with pytest.raises(Exception, match="no folder"):
        read_records(DEMO / "nowhere")
    assert not held()
