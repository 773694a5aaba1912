"""Long work says how far it is to whoever listens, and can be stopped between two parts without harm."""

import csv
import io
import shutil
import sys
from pathlib import Path

import pytest

from fleetlib import cli
from fleetlib.base.progress import counted, telling
from fleetlib.base.saving import is_half_made

DEMO = Path(__file__).resolve().parents[2] / "data_demo"


def test_a_listener_hears_how_far_it_is_and_nobody_else_does() -> None:
    heard = []
    assert list(counted("pieces", "ab")) == ["a", "b"]
    with telling(lambda *said: heard.append(said)):
        assert list(counted("pieces", "abc")) == ["a", "b", "c"]
    list(counted("pieces", "ab"))
    assert heard == [("pieces", 0, 3), ("pieces", 1, 3), ("pieces", 2, 3)]


@pytest.mark.parametrize("terminal", [True, False])
def test_a_terminal_is_told_every_few_seconds_and_a_file_never(monkeypatch, terminal) -> None:
    out = io.StringIO()
    out.isatty = lambda: terminal  # type: ignore[method-assign]
    clock = iter([0.0, 1.0, 3.0, 4.0, 7.0])
    monkeypatch.setattr(sys, "stderr", out)
    monkeypatch.setattr(cli.time, "monotonic", lambda: next(clock))
    with telling(cli._Progress()):
        list(counted("pieces written", "abcd"))
    expected = "1 of 4 pieces written ...\n3 of 4 pieces written ...\n"
    assert out.getvalue() == (expected if terminal else "")


def test_saving_that_is_stopped_leaves_whole_pages_and_their_log(monkeypatch, tmp_path) -> None:
    shop, out = tmp_path / "shop", tmp_path / "out"
    shop.mkdir()
    rows = (DEMO / "flips.csv").read_text(encoding="utf-8").splitlines()
    (shop / "flips.csv").write_text("\n".join(rows[:20] + rows[-12:]) + "\n", encoding="utf-8")
    shutil.copy(DEMO / "settings.toml", shop)
    before = (shop / "flips.csv").read_bytes()

    def stop_at_the_third(self: object, what: str, done: int, of: int) -> None:
        if what == "pieces written" and done == 2:
            raise KeyboardInterrupt

    monkeypatch.setattr(cli._Progress, "__call__", stop_at_the_third)
    assert cli.main(["price", str(shop), "--save", str(out)]) == 130
    made = sorted(p.name for p in out.iterdir())
    assert len([n for n in made if n.startswith("advice-")]) == 2
    assert len(made) == 6 and not [n for n in made if is_half_made(n)]
    ends = {p.read_text(encoding="utf-8").split()[-1] for p in out.iterdir()}
    assert ends == {"</html>", "END:VCALENDAR"}
    with (shop / "advice_log.csv").open(encoding="utf-8", newline="") as log:
        assert len({row["piece"] for row in csv.DictReader(log)}) == 2
    assert (shop / "flips.csv").read_bytes() == before
