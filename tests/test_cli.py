"""The command line: what it prints, how it refuses, what it writes."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from fleetlib import cli
from fleetlib.base.kit import demo_folder
from fleetlib.base.saving import LOCK


def run(capsys, *arguments: str) -> tuple[int, str, str]:
    status = cli.main(list(arguments))
    said = capsys.readouterr()
    return status, said.out, said.err


def narrow(text: str) -> bool:
    return all(len(line) <= 80 for line in text.split("\n"))


def test_price_prints_every_piece_on_hand_within_eighty_columns(capsys) -> None:
    from fleetlib.shop import open_shop

    status, out, err = run(capsys, "price", str(demo_folder()))
    assert (status, err) == (0, "")
    assert narrow(out)
    flips = open_shop(demo_folder()).flips
    on_hand = flips.loc[flips["status"].isin(["listed", "in work"]), "piece"]
    assert len(on_hand) > 15
    for name in on_hand:
        assert f"\n{name} " in out
    for heading in ("low", "mid", "high", "ask", "next markdown", "lowest"):
        assert heading in out


def test_price_of_one_piece_is_the_whole_advice(capsys) -> None:
    status, out, _ = run(capsys, "price", str(demo_folder()), "--piece", _listed_piece())
    assert status == 0
    assert narrow(out)
    assert "8 times out of 10" in out
    assert "Take care" in out


def test_each_of_three_commands_about_a_piece_names_the_other_two(capsys) -> None:
    answers = {
        ("piece", "A-257"): ["price --piece A-257", "today"],
        ("price", "--piece", "A-257"): ["piece A-257", "today"],
        ("today",): ["piece NAME", "price --piece NAME"],
    }
    for words, others in answers.items():
        status, out, _ = run(capsys, *words)
        assert status == 0
        last = " ".join(out.split())
        for other in others:
            assert f"fleetlib {other}" in last


def test_no_folder_means_this_one_else_the_demo_and_it_is_said(
    capsys, tmp_path, monkeypatch
) -> None:
    monkeypatch.chdir(tmp_path)
    _, out, _ = run(capsys, "check")
    assert "invented demo shop" in out
    (tmp_path / "flips.csv").write_text("furniture_type,sale_price\ndresser,250\n")
    _, out, _ = run(capsys, "check")
    assert "invented demo shop" not in out


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (None, "flips.csv"),
        ("", "empty"),
        ("furniture_type,wood\ndresser,oak\n", "price"),
        ("just some words\nmore words\n", "flips.csv"),
    ],
    ids=["no file", "empty file", "no price column", "no table"],
)
@pytest.mark.parametrize("command", ["check", "price"])
def test_bad_input_is_one_sentence_on_stderr_and_status_two(
    capsys, tmp_path, command, content, says
) -> None:
    if content is not None:
        (tmp_path / "flips.csv").write_text(content)
    status, out, err = run(capsys, command, str(tmp_path))
    assert status == 2
    assert out == ""
    assert says in err
    assert err.startswith("fleetlib: ")
    assert err.count("\n") == 1
    assert "Traceback" not in err


def test_an_unknown_piece_names_the_nearest(capsys) -> None:
    status, _, err = run(capsys, "price", str(demo_folder()), "--piece", _listed_piece() + "x")
    assert status == 2
    assert _listed_piece() in err


def test_start_makes_a_shop_once_and_never_overwrites(capsys, tmp_path) -> None:
    place = tmp_path / "my-shop"
    status, out, _ = run(capsys, "start", str(place))
    assert status == 0
    assert "flips.xlsx" in out
    assert {"flips.xlsx", "settings.toml"} <= {p.name for p in place.iterdir()}
    before = {p.name: p.read_bytes() for p in place.iterdir()}
    status, _, err = run(capsys, "start", str(place))
    assert status == 2
    assert "nothing was written" in err
    assert {p.name: p.read_bytes() for p in place.iterdir()} == before


@pytest.mark.parametrize("demo", [False, True], ids=["blank", "demo"])
def test_a_start_that_was_cut_off_is_finished_and_anothers_folder_is_not(
    capsys, tmp_path, demo
) -> None:
    place, more = tmp_path / "my-shop", ["--demo"] if demo else []
    run(capsys, "start", str(place), *more)
    whole = {p.name: p.read_bytes() for p in place.iterdir()}
    names = sorted(whole)
    for kept in (1, len(names) // 2, len(names) - 1):
        for name in names[kept:]:
            (place / name).unlink()
        (place / ".fleetlib-999999999-x.part").write_text("cut off")
        status, _, err = run(capsys, "start", str(place), *more)
        assert (status, err) == (0, "")
        assert {p.name: p.read_bytes() for p in place.iterdir()} == whole
    (place / names[0]).unlink()
    (place / "flips.csv").write_text("mine")
    status, _, err = run(capsys, "start", str(place), *more)
    if demo:
        assert (status, "already holds flips.csv; nothing was written" in err) == (2, True)
    else:  # their own record is no reason against a shop round it
        assert (status, err) == (0, "") and (place / "flips.csv").read_text() == "mine"
    assert (place / names[0]).exists() != demo


def test_newer_notebooks_are_laid_beside_changed_ones_never_over_them(capsys, tmp_path) -> None:
    place = tmp_path / "my-shop"
    run(capsys, "start", str(place))
    (launch,) = place.glob("Open the weekly page.*")
    (place / "5_review_the_quarter.ipynb").unlink()
    page = place / "every_week.ipynb"
    changed = page.read_text().replace("# Every week", "# My own weeks")
    page.write_text(changed)
    page.with_name("2_price_a_piece.ipynb").write_text("not a notebook any more")
    answered = (place / "3_see_what_earns_most.ipynb").read_text().replace("null", "7")
    (place / "3_see_what_earns_most.ipynb").write_text(answered)
    launch.write_text("of an older kit")
    before = {p.name: p.read_bytes() for p in place.iterdir()}
    status, out, _ = run(capsys, "start", str(place), "--notebooks")
    assert (status, launch.name in out) == (0, True)
    after = {p.name: p.read_bytes() for p in place.iterdir()}
    laid = {n for n in after if before.get(n) != after[n]}
    assert laid == {
        "5_review_the_quarter.ipynb",
        "every_week (new).ipynb",
        "2_price_a_piece (new).ipynb",
        launch.name,
    }
    assert set(before) < set(after)
    status, out, _ = run(capsys, "start", str(place), "--notebooks")
    assert "are those of this fleetlib" in out
    assert {p.name: p.read_bytes() for p in place.iterdir()} == after
    status, _, err = run(capsys, "start", str(tmp_path / "none"), "--notebooks")
    assert (status, "flips.csv" in err) == (2, True)


def test_a_demo_shop_can_be_started_and_priced(capsys, tmp_path) -> None:
    run(capsys, "start", str(tmp_path / "shop"), "--demo")
    status, out, _ = run(capsys, "price", str(tmp_path / "shop"))
    assert status == 0
    assert "lowest offer" in out


def test_earnings_buy_and_review_answer_on_the_demo(capsys) -> None:
    for arguments in (
        ["earnings"],
        ["earnings", "--by", "type,finish"],
        ["buy"],
        ["review", "--quarter", "2026-Q3"],
    ):
        status, out, err = run(capsys, arguments[0], str(demo_folder()), *arguments[1:])
        assert (status, err) == (0, ""), arguments
        assert narrow(out), arguments
        assert len(out) > 200, arguments


def test_asking_writes_nothing_and_saving_writes_where_told(capsys, tmp_path) -> None:
    run(capsys, "start", str(tmp_path / "shop"), "--demo")
    before = {p.name: p.read_bytes() for p in (tmp_path / "shop").iterdir()}
    run(capsys, "price", str(tmp_path / "shop"), "--piece", _listed_piece())
    assert {p.name: p.read_bytes() for p in (tmp_path / "shop").iterdir()} == before
    run(
        capsys,
        "price",
        str(tmp_path / "shop"),
        "--piece",
        _listed_piece(),
        "--save",
        str(tmp_path / "out"),
    )
    assert {p.suffix for p in (tmp_path / "out").iterdir()} >= {".html", ".ics"}
    after = {p.name: p.read_bytes() for p in (tmp_path / "shop").iterdir()}
    changed = {n for n in after if after[n] != before.get(n)} - {LOCK}
    assert changed == {"advice_log.csv"}


def test_output_cut_short_by_its_reader_is_no_error() -> None:
    command = f"{sys.executable} -m fleetlib check {demo_folder()} | head -1"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True)
    assert "Traceback" not in done.stderr


def _listed_piece() -> str:
    from fleetlib.shop import open_shop

    flips = open_shop(Path(demo_folder())).flips
    return str(flips.loc[flips["status"] == "listed", "piece"].iloc[0])


def test_the_demo_that_came_with_the_kit_is_never_logged_to(capsys, tmp_path) -> None:
    before = {p.name: p.read_bytes() for p in demo_folder().iterdir() if p.is_file()}
    folder, name = str(demo_folder()), _listed_piece()
    _, out, _ = run(capsys, "price", folder, "--piece", name, "--save", str(tmp_path))
    assert "Not logged" in out
    assert {p.suffix for p in tmp_path.iterdir()} == {".html", ".ics"}
    assert {p.name: p.read_bytes() for p in demo_folder().iterdir() if p.is_file()} == before


def test_a_page_is_written_even_when_the_reader_of_the_output_leaves(tmp_path) -> None:
    page = tmp_path / "review.html"
    command = f"{sys.executable} -m fleetlib review {demo_folder()} --save {page} | head -1"
    subprocess.run(["bash", "-c", command], capture_output=True, check=True)
    assert "</html>" in page.read_text()


def test_a_started_folder_holds_notebooks_without_the_demos_answers(capsys, tmp_path) -> None:
    import json

    run(capsys, "start", str(tmp_path / "own"))
    run(capsys, "start", str(tmp_path / "demo"), "--demo")
    own, demo = ((tmp_path / n / "2_price_a_piece.ipynb").read_text() for n in ("own", "demo"))
    assert "A-253" in demo
    code = [c for c in json.loads(own)["cells"] if c["cell_type"] == "code"]
    assert not any(c["outputs"] or "A-253" in "".join(c["source"]) for c in code)
    assert any("shop.piece(NAME)" in "".join(c["source"]) for c in code)
    assert (tmp_path / "own" / "finds.csv").is_file()


@pytest.mark.parametrize(
    ("option", "typed"), [("--cash", "lots"), ("--hours", "all day"), ("--cash", "40-60")]
)
def test_an_amount_that_is_none_is_named_with_its_remedy(capsys, option, typed) -> None:
    status, out, err = run(capsys, "buy", str(demo_folder()), option, typed)
    assert (status, out) == (2, "")
    assert f'"{typed}"; write one amount' in err


def test_columns_may_be_called_what_people_call_them(capsys) -> None:
    _, plain, _ = run(capsys, "earnings", str(demo_folder()), "--by", "furniture_type")
    _, spoken, _ = run(capsys, "earnings", str(demo_folder()), "--by", "Type")
    assert plain == spoken


def test_no_command_at_all_is_answered_with_the_help(capsys) -> None:
    status, out, _ = run(capsys)
    assert status == 2
    assert "commands:" in out


def test_the_version_says_which_python_and_where(capsys) -> None:
    status, out, _ = run(capsys, "--version")
    assert status == 0
    assert out.startswith("fleetlib 0.")
    assert f"Python {sys.version.split()[0]}" in out
    assert str(Path(cli.__file__).parent) in out


def test_a_word_is_explained_and_an_unknown_one_is_refused(capsys) -> None:
    assert run(capsys, "help", "lowest", "offer")[1].startswith("lowest offer: ")
    assert run(capsys, "help")[1].count("\n") > 15
    status, _, err = run(capsys, "help", "kurtosis")
    assert (status, "kurtosis" in err) == (2, True)


def test_a_backup_is_written_beside_the_shop_and_laid_down_again(capsys, tmp_path) -> None:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "flips.csv").write_text("furniture_type,sale_price\ndresser,250\n")
    status, out, _ = run(capsys, "backup", str(tmp_path / "shop"))
    (made,) = tmp_path.glob("shop-*.zip")
    assert (status, str(made.resolve()) in out) == (0, True)
    status, out, _ = run(capsys, "start", str(tmp_path / "again"), "--from", str(made))
    assert (status, "2 files" in out) == (0, True)
    assert run(capsys, "start", str(tmp_path / "again"), "--from", str(made))[0] == 2


def test_a_shop_inside_fleetlibs_own_folder_is_refused_with_a_better_place(capsys) -> None:
    place = Path(cli.__file__).resolve().parent.parent / "my-shop"
    status, _, err = run(capsys, "start", str(place))
    assert (status, place.exists()) == (2, False)
    assert "Documents" in err


def test_a_listing_is_printed_for_a_piece_by_its_name(capsys) -> None:
    status, out, err = run(
        capsys, "listing", "A-257", "--in", str(demo_folder()), "--flaws", "one scratch"
    )
    assert (status, err) == (0, "")
    assert "Not perfect: one scratch." in out
    assert "Photographs" in out


@pytest.mark.parametrize(
    ("command", "says"),
    [(("listing", "A-113"), "Photographs to take"), (("days", "--by", "finish"), "place-weeks")],
)
def test_a_listing_and_the_days_are_saved_as_a_page_that_says_the_same(
    capsys, tmp_path, command, says
) -> None:
    page = tmp_path / "page.html"
    where = ["--in", str(demo_folder())] if command[0] == "listing" else [str(demo_folder())]
    status, out, err = run(capsys, *command, *where, "--save", str(page))
    assert (status, err) == (0, "")
    assert str(page) in out
    assert says in out and says in page.read_text("utf-8")
    status, _, err = run(capsys, *command, *where, "--save", str(tmp_path / "page.doc"))
    assert status == 2 and "one that ends on .html" in err


def test_what_is_saved_for_all_pieces_has_an_index_whose_links_lead_somewhere(tmp_path) -> None:
    import re

    from tests.test_other_systems import a_shop

    shop, out = a_shop(tmp_path / "shop"), tmp_path / "out"
    assert cli.main(["price", str(shop), "--save", str(out)]) == 0
    links = re.findall(r'href="([^"]+)"', (out / "today.html").read_text(encoding="utf-8"))
    assert {link.split("-")[0] for link in links} == {"advice", "tag", "tags.html"}
    assert all((out / link).is_file() for link in links)


def started(*arguments: str, **more) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, as a person starts it."""
    return subprocess.run(
        [sys.executable, "-m", "fleetlib", *arguments],
        stderr=subprocess.PIPE,
        text=True,
        timeout=120,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parent.parent)},
        **more,
    )


@pytest.mark.skipif(os.name == "nt", reason="needs /dev/full")
def test_an_output_that_is_full_or_closed_is_no_traceback() -> None:
    with Path("/dev/full").open("w") as full:
        ended = started("check", str(demo_folder()), stdout=full)
    assert (ended.returncode, ended.stderr) == (
        2,
        "fleetlib: The answer could not be written out: No space left on device.\n",
    )
    ended = started("help", stdout=None, preexec_fn=lambda: os.close(1))
    assert (ended.returncode, ended.stderr) == (0, "")


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps a folder that is in use")
def test_a_working_folder_that_was_removed_is_said(tmp_path) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    code = "import os, sys; os.chdir(sys.argv[1]); os.rmdir(sys.argv[1])\n"
    code += "from fleetlib.cli import main; sys.exit(main(['check']))"
    ended = subprocess.run(
        [sys.executable, "-c", code, str(gone)], capture_output=True, text=True, timeout=60
    )
    assert ended.returncode == 2
    assert "is no longer there" in ended.stderr
    assert ended.stderr.count("\n") == 1


def test_an_argument_that_cannot_be_seen_is_refused(capsys) -> None:
    status, out, err = run(capsys, "check", "a\x1b[2J\u202eb")
    assert (status, out) == (2, "")
    assert "U+001B" in err
    assert "\x1b" not in err
    assert "\u202e" not in err


def test_a_name_beyond_every_limit_is_one_sentence(capsys, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    for arguments in (
        ["check", "n" * 300],
        ["buy", str(demo_folder()), "--finds", "n" * 300],
        ["start", "n" * 300],
        ["backup", "n" * 300],
        ["lab", "n" * 300],
        ["start", "new", "--from", "n" * 300],
        ["export", str(demo_folder()), "--to", "n" * 300],
    ):
        status, _, err = run(capsys, *arguments)
        assert (status, err.count("\n")) == (2, 1), arguments
        assert "too long" in err, arguments
        assert "Traceback" not in err


def test_letters_beyond_the_terminal_are_question_marks(tmp_path) -> None:
    (tmp_path / "flips.csv").write_text(
        "piece,type,sale price\nŁódź-1,desk,100\n,x,\n", encoding="utf-8"
    )
    ended = subprocess.run(
        [sys.executable, "-m", "fleetlib", "piece", "Łódź-1", "--in", str(tmp_path)],
        capture_output=True,
        timeout=60,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )
    assert ended.returncode == 0
    assert b"?" in ended.stdout
    assert ended.stderr == b""


def test_a_file_without_a_kind_says_the_line_that_mends_it(tmp_path, capsys) -> None:
    (tmp_path / "flips.csv").write_text(
        "Stock,Got,Sold on\nqwerty,300,2026-03-04\ndask,90,2026-03-05\n"
    )
    assert cli.main(["check", str(tmp_path)]) == 2
    said = capsys.readouterr().err
    assert said.rstrip().endswith('fleetlib check FOLDER --answer "Stock=type"')
    assert cli.main(["check", str(tmp_path), "--answer", "stock=blorb"]) == 2
    assert "no column" in capsys.readouterr().err and not (tmp_path / "answers.csv").exists()
    assert cli.main(["check", str(tmp_path), "--answer", "stock=type"]) == 0
    assert "2 rows read, 2 kept" in capsys.readouterr().out


def test_a_file_without_prices_says_the_line_that_mends_it(tmp_path, capsys) -> None:
    (tmp_path / "flips.csv").write_text("Type,Cash in hand\ndesk,x 300\nchair,x 90\n")
    assert cli.main(["check", str(tmp_path)]) == 2
    assert capsys.readouterr().err.rstrip().endswith('--answer "Cash in hand=sale price"')
