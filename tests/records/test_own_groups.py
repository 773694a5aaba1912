"""The owner's own groups: rolled up, adding up, and refused where a word or a column is none."""

from pathlib import Path

import pytest

from fleetlib.base.errors import BadSettings
from fleetlib.cli import main
from fleetlib.finish.finish_choice import finish_choice
from fleetlib.fits import fit_all
from fleetlib.pay.earnings import earnings
from fleetlib.quarter.review import review
from fleetlib.quarter.types import pay_by_type, pay_shown
from fleetlib.records.folder import read_records
from fleetlib.shop import open_shop

COAT = """
[groups.coat]
column = "finish"
clear = ["Oiled", "wax", "shellac", "poly"]
painted = ["milk paint", "chalk paint"]
[groups.bulk]
column = "width_in"
small = [0, 36]
big = [36, 200]
"""


def folder_with(place: Path, settings: str) -> Path:
    """The invented demo shop's records with more settings."""
    from fleetlib.base.kit import demo_folder

    for name in ("flips.csv", "events.csv", "supplies.csv", "settings.toml"):
        (place / name).write_bytes((demo_folder() / name).read_bytes())
    own = place / "settings.toml"
    own.write_text(own.read_text(encoding="utf-8") + settings, encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def fits(tmp_path_factory):
    return fit_all(read_records(folder_with(tmp_path_factory.mktemp("own"), COAT)))


def test_every_piece_is_in_one_group_and_words_are_read_as_in_the_record(fits) -> None:
    flips = fits.records.flips
    by_hand = {"oil": "clear", "wax": "clear", "shellac": "clear", "polyurethane": "clear"}
    by_hand |= {"milk paint": "painted", "chalk-type paint": "painted", "two-tone": "the rest"}
    for finish, group in zip(flips["finish"], flips["coat"], strict=True):
        assert (finish != finish and group != group) or by_hand[finish] == group
    small = flips["width_in"] < 36
    assert (flips.loc[small, "bulk"] == "small").all()
    assert (flips.loc[flips["width_in"] >= 36, "bulk"] == "big").all()
    assert flips.loc[flips["width_in"].isna(), "bulk"].isna().all()


def test_the_pay_of_groups_adds_up_to_that_of_their_finishes(fits) -> None:
    coats, finishes = earnings(fits, by="coat").table, earnings(fits, by="finish").table
    both = earnings(fits, by=("coat", "finish")).table
    for column in ("pieces", "hours", "profit", "all_sold", "all_unsold"):
        assert coats[column].sum() == pytest.approx(finishes[column].sum())
        parts = both.groupby("coat")[column].sum()
        for coat, whole in zip(coats["coat"], coats[column], strict=True):
            assert parts[coat] == pytest.approx(whole)
    line = coats.set_index("coat").loc["clear"]
    rows = finishes[finishes["finish"].isin(["oil", "wax", "shellac", "polyurethane"])]
    assert line["per_hour"] == pytest.approx(rows["profit"].sum() / rows["hours"].sum())


def test_the_review_by_own_groups_adds_up_and_shows_twelve_months_beside(fits) -> None:
    by_coat, plain = review(fits, "2026-Q2", by="coat"), review(fits, "2026-Q2")
    for column in ("sold", "takings", "profit", "hours"):
        assert by_coat.by_type[column].sum() == pytest.approx(plain.by_type[column].sum())
    assert by_coat.table.equals(plain.table)
    assert by_coat.drift["sales"].iloc[1:].sum() == plain.drift["sales"].iloc[0]
    assert by_coat.year_pay is not None and by_coat.year_pay.by == ("coat",)
    assert plain.by_type["says"].eq("too few to say").any()
    assert (plain.by_type["year_sold"] >= plain.by_type["sold"]).all()
    assert (plain.drift["year_sales"] >= plain.drift["sales"]).all()
    for text in (str(plain), plain._repr_html_()):
        assert "in 12 months" in text
    assert max(len(line) for line in str(by_coat).splitlines()) <= 80


def test_twelve_months_by_hand_and_only_where_the_quarter_is_thin(fits) -> None:
    from datetime import date

    flips = fits.records.flips
    made = pay_by_type(flips, start=date(2026, 7, 1), end=date(2026, 9, 30)).iloc[-1]
    year = flips[flips["sold_on"].between("2025-10-01", "2026-09-30")]
    mine = year[year["furniture_type"].str.replace("_", " ") == made["type"]]
    timed = mine[(mine["hours"] > 0) & mine["profit"].notna()]
    assert made["year_sold"] == len(mine)
    assert made["year_per_hour"] == pytest.approx(timed["profit"].sum() / timed["hours"].sum())
    whole = pay_by_type(flips, start=date(2020, 1, 1), end=date(2026, 9, 30))
    rich = whole[whole["says"] == ""]
    assert "in 12 months" not in pay_shown(rich, "USD")


def test_finishes_rolled_up_count_every_sale_and_share_out_the_chances(fits) -> None:
    from fleetlib.records.piece import Piece

    made = finish_choice(fits, Piece(furniture_type="dresser", buy_price=40.0, gut_price=400.0))
    assert made.groups["sold"].sum() == made.table["sold"].sum()
    assert made.groups["chance_best"].isna().all()  # no price as found is on record
    clear = made.groups.set_index("group").loc["clear"]
    rows = made.table[made.table["finish"].isin(["oil", "wax", "shellac", "polyurethane"])]
    by_hand = (rows["per_hour"] * rows["sold"]).sum() / rows["sold"].sum()
    assert clear["per_hour"] == pytest.approx(by_hand)
    assert "painted" in str(made) and "By your own groups" in made._repr_html_()


def test_the_command_takes_the_name_of_a_group_even_where_a_heading_sounds_alike(
    tmp_path, capsys
) -> None:
    place = folder_with(tmp_path, COAT.replace("groups.coat", "groups.look"))
    assert main(["earnings", str(place), "--by", "look"]) == 0
    said = capsys.readouterr().out
    assert "painted" in said and "mid-century" not in said


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            '[groups.coat]\ncolumn = "finish"\nclear = ["shellacq"]',
            'clear holds "shellacq".*Did you mean "shellac"',
        ),
        (
            '[groups.coat]\ncolumn = "colour"\nclear = ["oil"]',
            'column is "colour", which your records',
        ),
        ('[groups.wood]\ncolumn = "finish"\nclear = ["oil"]', "is the name of a column already"),
        ('[groups.coat]\nclear = ["oil"]', "needs a line that names its column"),
        ('[groups.coat]\ncolumn = "finish"', "has no groups"),
        ('[groups.coat]\ncolumn = "finish"\nclear = "oil"', "clear needs a list"),
        ('[groups.coat]\ncolumn = "finish"\na = ["oil"]\nb = ["oiled"]', '"oiled" in both a and b'),
        ('[groups.coat]\ncolumn = "finish"\na = [1, 2]', "holds the number 1"),
        ('[groups.bulk]\ncolumn = "width_in"\na = ["oil"]', "needs two numbers"),
        ('[groups.bulk]\ncolumn = "width_in"\na = [36, 0]', "swap the two"),
        ('[groups.bulk]\ncolumn = "width_in"\na = [0, 9]\nb = [8, 20]', "a and b overlap"),
        ('groups = "coat"', "needs a part per grouping"),
    ],
)
def test_each_mistake_in_a_group_is_named_with_its_remedy(tmp_path, text, says) -> None:
    (tmp_path / "flips.csv").write_text(
        "furniture_type,finish,width_in,asking_price\ndesk,oil,40,200\n"
    )
    (tmp_path / "settings.toml").write_text(text)
    with pytest.raises(BadSettings, match=f"(?s){says}"):
        open_shop(tmp_path)
