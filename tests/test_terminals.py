"""Every command in terminals of any width and in those that cannot show every letter."""

from __future__ import annotations

import io
import os
import re
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import fleetlib as fl
from fleetlib import cli
from fleetlib.desk.method import method
from fleetlib.shown.html_blocks import USUAL_WIDTH, use_width
from fleetlib.week.piece import story
from tests.test_every_result import AS_OF, a_record, results

WIDTHS = (60, 80, 120, 160)
FOREIGN = "Łódź-ß-日"  # neither ascii nor code page 1252 holds all of it


@pytest.fixture(autouse=True)
def _usual_width_after() -> Iterator[None]:
    yield
    use_width(USUAL_WIDTH)


class Terminal(io.TextIOWrapper):
    """A terminal that shows the letters of one encoding and refuses any other."""

    def __init__(self, encoding: str) -> None:
        super().__init__(io.BytesIO(), encoding=encoding, errors="strict")

    def isatty(self) -> bool:
        return True

    def shown(self) -> str:
        self.flush()
        return self.buffer.getvalue().decode(self.encoding)  # type: ignore[attr-defined]


def too_wide(text: str, width: int) -> list[str]:
    return [line for line in text.split("\n") if len(line) > width]


@pytest.fixture(scope="module")
def answers(demo_fits) -> dict[str, object]:
    """Every answer that the demo shop gives, by its question; a listing is apart, since it is to be pasted."""
    shop = fl.Shop(demo_fits.records)
    shop._fits = demo_fits
    made = {
        name: ask()
        for name, ask in results(shop)
        if name not in ("listing", "benchmark")  # pasted; as wide as its figures
        and (not name.startswith("review") or "2026Q3" in name)
    }
    listed = shop.flips.loc[shop.flips["status"] == "listed", "piece"].iloc[0]
    return made | {
        "earnings by two columns": shop.earnings(("furniture_type", "finish")),
        "days by finish": shop.days_and_space(("finish",)),
        "best buys": shop.best_buys(shop.records.folder / "finds.csv", cash=300, hours=25),
        "a plan with an offer": shop.plan(listed, offer=150),
        "a piece's story": story(shop.records, listed),
        "cautions": fl.all_cautions(),
    }


@pytest.mark.parametrize("width", WIDTHS)
def test_no_answer_runs_over_the_terminal_and_wide_ones_use_it(
    answers: dict[str, object], width: int
) -> None:
    use_width(width)
    texts = {name: str(made) for name, made in answers.items()}
    assert {name: lines for name, text in texts.items() if (lines := too_wide(text, width))} == {}
    widest = max(len(line) for line in texts["advise_all"].split("\n"))
    assert widest > width - 20  # the sentences at least go to the end of it


@pytest.mark.parametrize("width", WIDTHS)
def test_the_method_fits_but_for_its_tables_and_equations(width: int) -> None:
    use_width(width)
    parts = [p for p in str(method()).split("\n\n") if too_wide(p, width)]
    assert [p for p in parts if not re.search(r"^[ |*-]|  ", p, re.M)] == []


def test_no_word_and_no_amount_of_a_table_is_broken_at_60_letters(
    answers: dict[str, object],
) -> None:
    use_width(160)
    names = set(str(answers["advise_all"]).split())
    use_width(60)
    told = str(answers["advise_all"])
    for word in ("sideboard", "nightstand", "markdown", "dresser", "mahogany"):
        assert word in names and word in told
    assert {w for w in names if w.startswith(("$", "*$"))} <= set(told.split())


COMMANDS = (
    "--version", "--help", "price --help", "check", "today", "price", "price --piece P-1", "earnings --by type,finish",
    "days --by finish", "buy", "listing P-1", "review", f"piece {FOREIGN}", "help", "help lowest offer", "method",
    "log", "backup", "export --to OUT", "start NEW", "start NEW --notebooks", "check --answer 9z",
    "price --piece nothing",
)  # fmt: skip
TO_PASTE = ("listing",)


@pytest.fixture
def foreign_shop(tmp_path: Path) -> Path:
    """A small shop whose pieces, kinds and channels hold letters that few terminals show."""
    shop = tmp_path / "shop"
    shop.mkdir()
    record = (
        a_record(12, 3, 17).replace("desk", "Küchentisch aus Łódź").replace("P-2,", f"{FOREIGN},")
    )
    (shop / "flips.csv").write_text(record, encoding="utf-8")
    (shop / "settings.toml").write_text(
        f'as_of = {AS_OF}\ncurrency = "PLN"\nshop_name = "{FOREIGN}"\n', encoding="utf-8"
    )
    (shop / "finds.csv").write_text(
        f"piece,furniture_type,wood,buy_price\n{FOREIGN},dresser,oak,40\n", encoding="utf-8"
    )
    (shop / "inbox.txt").write_text(f"worked {FOREIGN} 30 min sand\n{FOREIGN}\n", encoding="utf-8")
    return shop


@pytest.mark.parametrize(("encoding", "width"), [("ascii", 60), ("cp1252", 160)])
def test_every_command_answers_in_a_terminal_that_lacks_letters(
    foreign_shop: Path, monkeypatch: pytest.MonkeyPatch, encoding: str, width: int
) -> None:
    monkeypatch.chdir(foreign_shop)
    monkeypatch.setattr(shutil, "get_terminal_size", lambda *_: os.terminal_size((width, 24)))
    monkeypatch.setattr("builtins.input", lambda *_: "n")
    wide: dict[str, list[str]] = {}
    for command in COMMANDS:
        out, err = Terminal(encoding), Terminal(encoding)
        monkeypatch.setattr(sys, "stdout", out)
        monkeypatch.setattr(sys, "stderr", err)
        words = command.replace("OUT", str(foreign_shop.parent / "out")).split()
        words = [str(foreign_shop.parent / "new") if w == "NEW" else w for w in words]
        try:
            status = cli.main(words)
        except SystemExit as ended:  # argparse's own help
            status = int(ended.code or 0)
        said = out.shown() + err.shown()
        assert status in (0, 2), command
        assert said.strip(), command
        assert "Traceback" not in said, command
        if not command.startswith((*TO_PASTE, "method", "--version")):
            wide[command] = [
                line
                for line in too_wide(out.shown(), width)
                if str(foreign_shop.parent) not in line
            ]
    assert {command: lines for command, lines in wide.items() if lines} == {}
