"""The method page: every part says something, and what it says is what the code says of itself."""

import inspect
from importlib import import_module

import pytest

from fleetlib.cli import main
from fleetlib.desk.method import CHAPTERS, method


@pytest.mark.parametrize("where", [w for _, places in CHAPTERS for w in places])
def test_each_part_is_the_docstring_of_the_code_that_does_it(where: str) -> None:
    module, _, name = where.partition(":")
    found = import_module(f"fleetlib.{module}")
    words = inspect.getdoc(getattr(found, name) if name else found)
    assert words and len(words) > 60
    told = method().table.set_index("where")["words"]
    assert told[f"fleetlib.{where.replace(':', '.')}"] == words


def test_the_page_holds_equations_sources_assumptions_and_what_was_measured() -> None:
    text = str(method())
    for said in (
        "Fieller 1954",
        "t^2 s_bb",
        "Assumed",
        "Measured: price",
        "Measured: newcomers",  # prices with and without what is borrowed
        "python -m tests.bench_price",
        "Greenwood",
    ):
        assert said in text


def test_it_is_written_as_a_page_by_command(tmp_path, capsys) -> None:
    page = tmp_path / "method.html"
    assert main(["method", "--save", str(page)]) == 0
    assert "What a piece sells for" in capsys.readouterr().out
    html = page.read_text(encoding="utf-8")
    assert (
        "<script" not in html
        and "Fieller 1954" in html
        and "http" not in html.split("<body", 1)[1][:200]
    )
