"""A refusal is one sentence wherever it is shown."""

import pytest
from IPython.core.interactiveshell import InteractiveShell

import fleetlib as fl
from fleetlib.base.errors import FleetError


@pytest.mark.parametrize(
    "kind", [FleetError, *FleetError.__subclasses__()], ids=lambda k: k.__name__
)
def test_a_refusal_says_its_sentence_and_nothing_else(kind):
    assert str(kind("There is no piece A-1.")) == "There is no piece A-1."


def test_a_notebook_shows_the_sentence_without_the_code_it_came_through(capsys):
    shell = InteractiveShell.instance()
    try:
        shell.run_cell("import fleetlib as fl\nfl.open_shop('no-such-folder')")
    finally:
        InteractiveShell.clear_instance()
    shown = capsys.readouterr().out
    assert "no-such-folder" in shown
    assert "Traceback" not in shown
    assert "read_records" not in shown


def test_an_empty_folder_name_means_the_usual_place(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    assert fl.open_shop("").records.folder.name == "data_demo"
