"""Columns of words with the person's own vocabulary."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from fleetlib.base.settings import Settings, settings_from
from fleetlib.records.cleaning.clean import read_flips
from fleetlib.records.parsing.outcomes import outcome_said, remark_said
from fleetlib.records.parsing.words import read_types, read_words


def test_a_channel_keeps_its_first_spelling_or_that_of_the_settings() -> None:
    found = read_words("channel", ["Market hall", "market Hall", "MARKET HALL"], Settings())
    assert [c.value for c in found.cells] == ["Market hall"] * 3
    own = settings_from({"fee_share": {"Market Hall": 0.1}})
    found = read_words("channel", ["market hall"], own)
    assert found.cells[0].value == "Market Hall"


def test_a_count_is_taken_out_only_where_the_rest_is_a_kind() -> None:
    found = read_types(["pair of credenzas", "2 whatnots", "set of 4 chests", "desk"], Settings())
    assert [c.value for c in found.cells] == ["sideboard", "2 whatnots", "chest", "desk"]
    assert found.counts == [2.0, 2.0, 4.0, None]  # an unknown kind's count is kept beside its words
    behind = read_types(["dining chairs set (4)", "bar stools, set (3)"], Settings())
    assert [c.value for c in behind.cells] == ["chair", "stool"]
    found = read_types(["set (4) chairs", "(2) nightstands", "lot (3) chests"], Settings())
    assert [c.value for c in found.cells] == ["chair", "nightstand", "chest"]
    assert found.counts == [4.0, 2.0, 3.0]
    assert read_types(["lot 12 chest"], Settings()).counts == [None]  # the number of a lot
    own = settings_from({"words": {"furniture_type": {"whatnots": "corner shelf"}}})
    found = read_types(["2 whatnots"], own)
    assert (found.cells[0].value, found.counts) == ("corner shelf", [2.0])


def test_unknown_is_a_wood_but_no_kind_of_piece() -> None:
    assert read_words("wood", ["unknown"], Settings()).cells[0].value == "unknown"
    assert read_words("wood", ["?"], Settings()).cells[0].value is None
    assert read_types(["unknown"], Settings()).cells[0].value is None


def test_suggestions_and_two_meanings_are_listed_with_what_was_kept(tmp_path: Path) -> None:
    (tmp_path / "x.csv").write_text("type,price\nnightstan,1\nbuffet,2\ndesk,3\n")
    changes = read_flips(tmp_path / "x.csv", as_of=date(2026, 9, 30)).changes
    assert changes[["line", "was", "now", "why"]].values.tolist() == [
        [2, "nightstan", "nightstan", 'kept as typed; did you mean "nightstand"?'],
        [3, "buffet", "buffet", "kept as typed; it has two meanings"],
    ]


def test_a_name_of_spaces_and_breaks_only_is_no_name(tmp_path: Path) -> None:
    (tmp_path / "x.csv").write_text('type,piece,price\ndesk,"\n",1\ndesk," A  1\n",2\n')
    found = read_flips(tmp_path / "x.csv", as_of=date(2026, 9, 30))
    assert found.flips["piece"].tolist() == ["desk got 1", "A 1"]


def test_many_near_misses_do_not_drown_the_notes(tmp_path: Path) -> None:
    rows = "".join(f"dresse{chr(97 + k)},1\n" for k in range(17))
    (tmp_path / "x.csv").write_text("type,price\n" + rows)
    found = read_flips(tmp_path / "x.csv", as_of=date(2026, 9, 30))
    assert sum("did you mean" in n for n in found.notes) == 10
    assert "furniture_type: 7 more words are near a known one; see the changes." in found.notes


@pytest.mark.parametrize(
    ("said", "cell", "remark"),
    [
        ("mirror cracked in the van, broke it for parts", None, "scrapped"),
        ("firewood now", "scrapped", "scrapped"),
        ("fell off the trailer", "scrapped", None),
        ("broken", "scrapped", None),
        ("made a firewood rack", None, None),
        ("bought for parts", None, None),
        ("broke even", None, None),
    ],
)
def test_what_was_broken_up_is_heard_in_a_cell_and_in_a_remark(said, cell, remark) -> None:
    assert (outcome_said(said), remark_said(said)) == (cell, remark)


@pytest.mark.parametrize(
    ("typed", "finish"),
    [
        ("weiß lackiert", "paint"),
        ("blanc laqué", "paint"),
        ("gelakt zwart", "paint"),
        ("lackiert", "lacquer"),
        ("schwarz klarlack", "lacquer"),
        ("white lacquer", "lacquer"),
    ],
)
def test_a_lacquer_of_a_colour_is_a_paint_where_the_word_says_no_more(typed, finish) -> None:
    assert read_words("finish", [typed], Settings()).cells[0].value == finish
