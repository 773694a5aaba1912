"""Many shops priced at once: the numbers of each alone, whatever the others are like, and nothing written to them."""

import shutil
from pathlib import Path

import pandas as pd
import pytest

from fleetlib.base.errors import MissingRecords
from fleetlib.cli import main
from fleetlib.desk.many_shops import price_shops, shop_folders
from fleetlib.shop import open_shop

HEAD = "piece,furniture_type,wood,buy_price,hours,listed_on,first_price,sold_on,sale_price\n"
KINDS = ("dresser", "desk", "bookcase")


def shop(parent: Path, name: str, sold: int, dear: float) -> Path:
    """A shop whose pieces bring `dear` times what another's do; two stand listed."""
    place = parent / name
    place.mkdir(parents=True)
    rows = []
    for n in range(sold + 2):
        ask = round(dear * (150 + 60 * (n % 3) + 7 * (n % 5)))
        listed = pd.Timestamp("2026-01-05") + pd.Timedelta(days=6 * n)
        end = f"{listed + pd.Timedelta(days=9 + n % 11):%Y-%m-%d},{round(0.93 * ask)}"
        ends = end if n < sold else ","
        rows.append(f"P-{n},{KINDS[n % 3]},oak,40,{5 + n % 4},{listed:%Y-%m-%d},{ask},{ends}\n")
    (place / "flips.csv").write_text(HEAD + "".join(rows), encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def parent(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("school")
    shop(made, "Ash", 14, 1.0)
    shop(made, "Birch", 9, 2.5)
    broken = made / "Cedar"
    broken.mkdir()
    (broken / "flips.csv").write_text("one,two\n1,2\n", encoding="utf-8")
    (made / "notes").mkdir()
    return made


def test_each_shop_gets_the_numbers_it_gets_alone_and_none_holds_another_back(parent: Path) -> None:
    before = {p: p.read_bytes() for p in parent.rglob("*") if p.is_file()}
    heard: list[tuple[int, int]] = []
    made = price_shops(shop_folders(parent), jobs=2, told=lambda *count: heard.append(count))
    assert heard == [(1, 3), (2, 3), (3, 3)]
    assert made.priced == ("Ash", "Birch")
    assert [name for name, _ in made.refused] == ["Cedar"]
    for name in made.priced:
        alone = open_shop(parent / name).advise_all().table
        own = made.table[made.table["shop"] == name].drop(columns=["shop", "currency"])
        pd.testing.assert_frame_equal(
            own.reset_index(drop=True), alone.reset_index(drop=True), check_exact=True
        )
    assert {p: p.read_bytes() for p in parent.rglob("*") if p.is_file()} == before


def test_the_command_says_a_line_a_shop_and_saves_every_piece(
    parent: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    school = tmp_path / "school"
    shutil.copytree(parent / "Ash", school / "Ash")
    assert main(["shops", str(school), "--save", str(tmp_path / "all")]) == 0
    said = capsys.readouterr().out
    assert "Ash" in said and "worth together" in said
    saved = pd.read_csv(tmp_path / "all" / "shops.csv")
    assert list(saved["shop"]) == ["Ash", "Ash"]
    assert (saved["low"] <= saved["mid"]).all() and (saved["mid"] <= saved["high"]).all()


def test_pieces_of_a_shop_without_a_sale_are_worth_what_is_not_known(tmp_path: Path) -> None:
    """Without sales there is no estimate, and not known is not nothing."""
    shop(tmp_path, "Elm", 0, 1.0)
    said = str(price_shops([tmp_path / "Elm"], jobs=1))
    assert "Elm" in said and "$0" not in said


def test_a_folder_without_shops_is_refused_with_what_to_name(tmp_path: Path) -> None:
    with pytest.raises(MissingRecords, match="Name the folder in which the shops"):
        shop_folders(tmp_path)
    with pytest.raises(MissingRecords, match="cannot be looked into"):
        shop_folders(tmp_path / "none")
