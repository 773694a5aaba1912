"""What a person's own sheet met on its first day, each kept as it is now read."""

import re

import numpy as np
import pytest

from fleetlib.base.errors import BadRecords
from fleetlib.base.settings import read_settings
from fleetlib.records.cleaning.clean import read_finds, read_flips
from fleetlib.records.folder import read_records
from fleetlib.records.log.append import SavedAdvice, append_advice
from tests.records.test_corpus import AS_OF


def written(tmp_path, name: str, text: str):
    place = tmp_path / name
    place.write_text(text, encoding="utf-8")
    return place


@pytest.mark.parametrize("kind", ["Kind of furniture", "Type", "What kind"])
def test_an_item_column_of_numbers_names_the_piece_and_is_never_its_kind(tmp_path, kind) -> None:
    place = written(
        tmp_path, "flips.csv", f"Item,{kind},Sold for\n1,dresser,250\n2,desk,180\nTOTALS,,430\n"
    )
    flips = read_flips(place).flips
    assert flips["furniture_type"].tolist() == ["dresser", "desk"]
    assert flips["piece"].tolist() == ["1", "2"]


def test_numbers_beside_a_piece_and_a_kind_are_carried_along(tmp_path) -> None:
    place = written(
        tmp_path, "flips.csv", "Item,piece,type,Sold for\n1,A-1,dresser,250\n2,A-2,desk,180\n"
    )
    flips = read_flips(place).flips
    assert flips["piece"].tolist() == ["A-1", "A-2"]
    assert flips["Item"].tolist() == ["1", "2"]


def test_numbers_stay_the_kind_where_nothing_else_says_it(tmp_path) -> None:
    place = written(tmp_path, "flips.csv", "Item,Sold for\n1,250\n2,180\n")
    assert read_flips(place).flips["furniture_type"].tolist() == ["1", "2"]


@pytest.mark.parametrize(
    "heading", ["Asked", "Asking", "Price", "They want", "asking price", "buy price"]
)
def test_what_is_asked_for_a_find_is_what_it_would_cost(tmp_path, heading) -> None:
    place = written(tmp_path, "finds.csv", f"type,{heading}\ndresser,$60\ndesk,free\n")
    assert read_finds(place).flips["buy_price"].tolist() == [60.0, 0.0]


def test_saving_advice_changes_no_later_answer_for_a_piece_without_a_listing_day(tmp_path) -> None:
    written(
        tmp_path,
        "flips.csv",
        "piece,type,asking price,sold for\nA-1,sideboard,520,\nA-2,desk,,180\n",
    )
    before = read_records(tmp_path, as_of=AS_OF).flips
    assert before["gut_price"].iloc[0] == 520
    append_advice(
        tmp_path,
        SavedAdvice(
            on=AS_OF, piece="A-1", low=1.0, mid=2.0, high=3.0, level=0.8, days_listed=20.0, gut_price=520.0,
            asking_price=600.0, floor=1.0, expected_net=1.0, expected_days=1.0, plan=[],
        ),
    )  # fmt: skip
    after = read_records(tmp_path, as_of=AS_OF).flips
    assert np.array_equal(after["gut_price"], before["gut_price"], equal_nan=True)


def test_a_kind_that_is_not_known_is_said_and_the_nearest_one_suggested(tmp_path) -> None:
    rows = "type,sold for\nnightsands (pair),90\nthingamajig,40\ndresser,250\n"
    found = read_flips(written(tmp_path, "flips.csv", f"type,sold for\n{rows}"))
    assert any(
        '"nightsands (pair)" is kept as typed; did you mean "nightstand"' in n for n in found.notes
    )
    assert any("not known, kept as typed (line 4: thingamajig)" in n for n in found.notes)


def test_a_pair_of_nitestands_is_two_nightstands(tmp_path) -> None:
    flips = read_flips(
        written(tmp_path, "flips.csv", "type,sold for\nnitestands (pair),90\n")
    ).flips
    assert (flips["furniture_type"][0], flips["pieces_in_lot"][0]) == ("nightstand", 2)


def test_a_file_named_where_a_folder_is_meant_is_read_with_what_lies_beside_it(tmp_path) -> None:
    place = written(tmp_path, "flips.csv", "type,sold for\ndresser,250\n")
    (place.parent / "events.csv").write_text(
        "on,piece,event,amount,note\n2026-01-02,dresser-250,offer,90,\n"
    )
    found = read_records(place)
    assert found.folder == place.parent and len(found.flips) == 1 and len(found.logged) == 1


def test_a_folder_called_like_a_record_is_not_to_be_renamed(tmp_path) -> None:
    (tmp_path / "flips.csv").mkdir()
    with pytest.raises(BadRecords, match=r"is a folder\. Move it away") as refused:
        read_records(tmp_path)
    assert "rename" not in str(refused.value)


def test_the_line_that_settles_a_word_of_two_meanings_can_be_written_as_it_is_said(
    tmp_path,
) -> None:
    place = written(tmp_path, "flips.csv", "type,sold for\nbuffet,250\n")
    asked = " ".join(read_flips(place).notes)
    column, line = re.search(
        r"under the line (\[[\w.]+\]), write (\w+ = \"[^\"]+\")", asked
    ).groups()
    settings = read_settings(written(tmp_path, "settings.toml", f"{column}\n{line}\n"))
    assert read_flips(place, settings=settings).flips["furniture_type"].tolist() == ["sideboard"]


def test_several_times_in_one_cell_are_refused_with_what_to_write(tmp_path) -> None:
    place = written(tmp_path, "flips.csv", "type,sold for,hours\ndresser,250,15-18\n")
    assert any("write one number of hours" in why for why in read_flips(place).changes["why"])
