"""What every notebook keeps to: short, stored with its outputs, private, and read aloud truthfully."""

import ast
import html
import json
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
START = "0_start_here.ipynb"
ASKING = [path for path in NOTEBOOKS if path.name != START]
SIX = [
    path for path in ASKING if path.name[0].isdigit()
]  # the weekly page is worked with, not read
KEPT_METADATA = {
    "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}
each = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
each_of_six = pytest.mark.parametrize("path", SIX, ids=lambda p: p.stem)
each_that_asks = pytest.mark.parametrize("path", ASKING, ids=lambda p: p.stem)


def cells(path: Path, kind: str) -> list[dict]:
    stored = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [cell for cell in stored if cell["cell_type"] == kind]


def source(cell: dict) -> str:
    return "".join(cell["source"])


def is_form(cell: dict) -> bool:
    return "form" in cell["metadata"].get("tags", [])


def shown(path: Path) -> str:
    """All text of a notebook's outputs, pictures' words included and tags left out."""
    parts = []
    for cell in cells(path, "code"):
        for output in cell["outputs"]:
            held = output.get("data", {})
            for kind in ("text/plain", "text/html"):
                parts.append("".join(held.get(kind, [])))
            parts.append("".join(output.get("text", [])))
    text = re.sub(r"data:image/png;base64,[\w+/=]+", "", " ".join(parts))
    return html.unescape(re.sub(r"<(?!img)[^>]*>", " ", text))


def test_there_is_a_start_page_and_six_numbered_notebooks():
    numbers = [path.name[0] for path in NOTEBOOKS if re.match(r"\d_", path.name)]
    assert numbers == list("0123456")


@each
def test_counts_run_from_one_and_what_should_answer_has_its_answer_stored(path):
    code = cells(path, "code")
    assert [cell["execution_count"] for cell in code] == list(range(1, len(code) + 1))
    for cell in code:
        last = ast.parse(source(cell)).body[-1]
        if is_form(cell):
            assert cell["outputs"] == []
        elif isinstance(last, ast.Expr):
            assert cell["outputs"], source(cell)


@each
def test_nothing_was_said_on_the_side_and_nothing_failed(path):
    for cell in cells(path, "code"):
        for output in cell["outputs"]:
            assert output["output_type"] != "error"
            assert output.get("name") != "stderr"


@each
def test_cells_are_short_and_hold_no_programming(path):
    for cell in cells(path, "code"):
        lines = [line for line in source(cell).splitlines() if line.strip()]
        assert 1 <= len(lines) <= 15
        for node in ast.walk(ast.parse(source(cell))):
            assert not isinstance(
                node, ast.FunctionDef | ast.ClassDef | ast.For | ast.While | ast.Lambda | ast.Try
            ), source(cell)
            if isinstance(node, ast.Import):
                assert [(name.name, name.asname) for name in node.names] == [("fleetlib", "fl")]
            assert not isinstance(node, ast.ImportFrom), "a notebook imports only fleetlib as fl"


@each
def test_only_what_is_the_same_in_every_run_is_kept(path):
    notebook = json.loads(path.read_text(encoding="utf-8"))
    assert notebook["metadata"] == KEPT_METADATA
    names = [cell["id"] for cell in notebook["cells"]]
    assert len(set(names)) == len(names)
    for cell in notebook["cells"]:
        assert re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", cell["id"]), "an id in words, written once"
        assert not re.fullmatch(r"[0-9a-f]{8}", cell["id"]), "a made-up id changes when saved anew"
        assert set(cell["metadata"]) <= {"tags", "jupyter"}


@each
def test_nothing_of_the_machine_or_its_owner_is_in_the_file(path):
    text = re.sub(r"data:image/png;base64,[\w+/=]+", "", path.read_text(encoding="utf-8"))
    for pattern in (
        r"/(home|root|Users|tmp|work|usr|var|mnt|opt)/",
        r"[A-Z]:\\\\?\w",
        r"\bfile:",
        r"https?://",
        r"0x[0-9a-f]{6,}",
        r"\b[\w.]+@[\w.]+\.\w+",
        r"\b(localhost|127\.0\.0\.1|site-packages|\.venv)\b",
    ):
        found = re.search(pattern, text)
        assert not found, found


@each
def test_every_picture_has_words_that_say_the_same(path):
    for cell in cells(path, "code"):
        for output in cell["outputs"]:
            assert "image/png" not in output.get("data", {}), "the words would be lost"
            page = "".join(output.get("data", {}).get("text/html", []))
            for tag in re.findall(r"<img [^>]*>", page):
                alt = re.search(r'alt="([^"]*)"', tag)
                assert alt and len(alt.group(1)) > 40


@each_of_six
def test_a_notebook_opens_with_its_question_and_closes_with_what_would_change_the_answer(path):
    words = [source(cell) for cell in cells(path, "markdown")]
    assert words[0].startswith("# ")
    for promised in ("**The question.**", "**What you get.**", "**What you need.**"):
        assert promised in words[0]
    assert words[-1].startswith("## What would change the answer")


@each_of_six
def test_it_says_whose_records_it_stands_on(path):
    opening = next(c for c in cells(path, "code") if source(c).endswith("shop"))
    said = "".join("".join(o["data"]["text/plain"]) for o in opening["outputs"])
    assert said.startswith("Shop(the invented demo shop: ")


@each_that_asks
def test_one_line_switches_from_the_demo_to_ones_own_folder(path):
    first = source(cells(path, "code")[0])
    assert re.search(r'^FOLDER = ""', first, re.MULTILINE)
    assert sum("FOLDER =" in source(cell) for cell in cells(path, "code")) == 1


@each
def test_no_two_amounts_turn_into_a_formula(path):
    for cell in cells(path, "markdown"):
        assert "$" not in re.sub(r"`[^`]*`", "", source(cell)), "write amounts as `$5`"
    for cell in cells(path, "code"):
        for output in cell["outputs"]:
            page = "".join(output.get("data", {}).get("text/html", []))
            assert not page or "mathjax_ignore" in page or "$" not in page


@each_of_six
def test_every_amount_and_share_read_aloud_is_really_in_an_output(path):
    outputs = re.sub(r" %", "%", shown(path))
    for cell in cells(path, "markdown"):
        told = re.sub(r" %", "%", source(cell).replace("`", ""))
        for figure in re.findall(r"\$\d+(?:,\d{3})*(?:\.\d+)?|\b\d+(?:\.\d+)?%", told):
            assert re.search(rf"(?<![\d,.]){re.escape(figure)}(?![\d])", outputs), (
                f"{figure}: {told}"
            )


def test_the_start_page_links_to_each_notebook():
    told = " ".join(source(cell) for cell in cells(ROOT / "notebooks" / START, "markdown"))
    for path in SIX:
        assert f"]({path.name})" in told
