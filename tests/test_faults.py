"""A few of each kind of fault on every run; `tests/bench_faults.py` makes as many as are asked for."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.fault_processes import full_disk, kills, no_permission, writers
from tests.fault_trials import HARMED, Tally, command, harm, lost, manners

COUNTS = {
    "flips": 40,
    "events": 30,
    "settings": 40,
    "answers": 20,
    "workbooks": 20,
    "finds": 6,
    "prices": 2,
}


def survived(made: Tally) -> None:
    if made.skipped:
        pytest.skip(f"{made.kind}: {made.skipped}")
    assert made.tried
    assert made.survived == made.tried, "\n".join(made.failures)


@pytest.mark.parametrize("kind", list(HARMED))
def test_a_harmed_file_is_read_or_refused_in_one_sentence(kind: str, tmp_path: Path) -> None:
    survived(harm(kind, COUNTS[kind], tmp_path))


@pytest.mark.parametrize(
    ("kind", "seed"),
    [
        ("flips", 101132),
        ("flips", 101225),
        ("flips", 102298),
        ("flips", 103068),
        ("flips", 105184),
        ("flips", 109341),
        ("prices", 105007),
        ("finds", 202004),
    ],
)
def test_what_once_did_not_survive_does(kind: str, seed: int, tmp_path: Path) -> None:
    survived(harm(kind, 1, tmp_path, seed=seed))


def test_a_kill_at_any_moment_loses_and_tears_nothing() -> None:
    survived(kills(15))


def test_eight_writers_and_their_undos_lose_nothing_and_take_nothing_twice() -> None:
    survived(writers(80, 16))


def test_a_full_disk_keeps_what_it_was_told_is_kept() -> None:
    survived(full_disk(45))


def test_without_permission_every_command_is_one_sentence() -> None:
    survived(no_permission())


def test_the_trials_can_fail(tmp_path: Path, monkeypatch) -> None:
    """A fault that nobody caught, a lost row and an unsaid code are told from what survived."""
    from fleetlib.records.cleaning import clean

    (tmp_path / "flips.csv").write_text("type,sale price\ndesk,3\n")
    sound = command("check", str(tmp_path))
    assert manners(sound) == ""
    assert sound.records is not None
    assert lost(b"desk, q001z", sound.records) == ["q001z"]
    for wrong in (
        replace(sound, code=1),
        replace(sound, code=2, err="fleetlib: one.\ntwo\n"),
        replace(sound, err="a warning"),
        replace(sound, out="\x1b[2J"),
        replace(sound, seconds=3.0),
    ):
        assert manners(wrong)

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("on purpose")

    monkeypatch.setattr(clean, "derive", broken)
    assert manners(command("check", str(tmp_path))).startswith("traceback: ZeroDivisionError")
