"""The house rules that a reader relies on: imports point down, every module says what it is about."""

import ast
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "fleetlib"
# Imports point to the left: a question may use the answers before it, never those after it.
ORDER = [
    "base",
    "shown",
    "records",
    "work",
    "price",
    "selling",
    "fits",
    "plan",
    "pay",
    "buying",
    "finish",
    "trust",
    "care",
    "books",
    "quarter",
    "week",
    "shop",
    "desk",
    "cli",
]
PICTURES = ("picture", "chart_style", "chart_paper", "chart_rows")


def folder(dotted: str) -> str:
    part = dotted.split(".")[1] if "." in dotted else "__init__"
    return "cli" if part in ("__init__", "__main__") else part


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def is_module(dotted: str) -> bool:
    place = ROOT / dotted.replace(".", "/")
    return place.with_suffix(".py").is_file() or (place / "__init__.py").is_file()


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports(path: Path) -> list[ast.Import | ast.ImportFrom]:
    return [n for n in ast.walk(tree(path)) if isinstance(n, ast.Import | ast.ImportFrom)]


@cache
def imports_of(path: Path) -> list[str]:
    found = []
    for node in imports(path):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "fleetlib":
            whole = [f"{node.module}.{a.name}" for a in node.names]
            found += [name if is_module(name) else node.module or "" for name in whole]
        if isinstance(node, ast.Import):
            found += [a.name for a in node.names if a.name.split(".")[0] == "fleetlib"]
    return found


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_imports_point_down(path: Path) -> None:
    own = folder(name_of(path))
    for target in imports_of(path):
        if own != "cli":
            assert target != "fleetlib", f"{name_of(path)} imports the package root"
        assert ORDER.index(folder(target)) <= ORDER.index(own), f"{name_of(path)} imports {target}"


def test_the_rooms_of_the_records_stand_below_its_loose_files() -> None:
    rooms = ["schema", "parsing", "files", "asked", "cleaning", "log"]
    assert {
        p.name for p in (PACKAGE / "records").iterdir() if (p / "__init__.py").is_file()
    } == set(rooms)

    def floor(dotted: str) -> int:
        part = dotted.split(".")[2]
        return rooms.index(part) if part in rooms else len(rooms)

    for path in (PACKAGE / "records").rglob("*.py"):
        for target in imports_of(path):
            if target.startswith("fleetlib.records."):
                assert floor(target) <= floor(name_of(path)), f"{name_of(path)} imports {target}"


@pytest.mark.parametrize("room", ["price.regression", "plan.solver"])
def test_the_mathematics_knows_no_furniture(room: str) -> None:
    own, known = (
        f"fleetlib.{room}",
        ("fleetlib.base.", "fleetlib.shown.", "fleetlib.selling.market"),
    )
    for path in (PACKAGE / room.replace(".", "/")).glob("*.py"):
        for target in imports_of(path):
            assert target.startswith((own, *known)), f"{name_of(path)} imports {target}"


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_only_pictures_know_matplotlib(path: Path) -> None:
    named = {a.name for n in imports(path) if isinstance(n, ast.Import) for a in n.names}
    named |= {n.module or "" for n in imports(path) if isinstance(n, ast.ImportFrom)}
    if {n.split(".")[0] for n in named} & {"matplotlib", "seaborn"}:
        assert path.stem.startswith(PICTURES), f"{name_of(path)} draws"


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_every_module_opens_with_what_it_is_about(path: Path) -> None:
    assert ast.get_docstring(tree(path))


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_every_public_function_and_class_says_what_it_means(path: Path) -> None:
    for node in tree(path).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            assert ast.get_docstring(node), f"{path.name}: {node.name}"


def test_modules_do_not_go_round_in_a_circle() -> None:
    graph = {name_of(p): set(imports_of(p)) for p in modules()}
    done: set[str] = set()

    def walk(name: str, above: tuple[str, ...]) -> None:
        assert name not in above, " -> ".join((*above, name))
        if name in done:
            return
        for target in graph.get(name, ()):
            if target in graph:
                walk(target, (*above, name))
        done.add(name)

    for name in graph:
        walk(name, ())


def test_asking_the_command_line_for_help_loads_nothing_heavy() -> None:
    heavy = "{'pandas', 'numpy', 'scipy', 'sklearn', 'statsmodels', 'seaborn', 'matplotlib', 'openpyxl'}"
    code = f"import sys, fleetlib.cli; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("word", ["price", "earnings", "review", "buy"])
def test_an_answer_needs_neither_the_drawing_nor_the_statistics_libraries(word: str) -> None:
    spare = "{'scipy.stats', 'sklearn', 'statsmodels', 'seaborn', 'matplotlib', 'openpyxl', 'ipywidgets'}"
    code = (
        "import sys; from fleetlib.cli import main; "
        f"main([{word!r}, {str(ROOT / 'data_demo')!r}]); print(sorted({spare} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip().split("\n")[-1] == "[]"


def test_the_two_lists_of_pinned_versions_agree() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / ".ci" / "pins.py"), "--check"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout


def test_every_package_it_stands_on_has_its_licence_in_the_table() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / ".ci" / "licences.py"), "--check"],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout


def test_the_folders_are_those_of_the_order() -> None:
    found = {p.name for p in PACKAGE.iterdir() if (p / "__init__.py").is_file()}
    found |= {p.stem for p in PACKAGE.glob("*.py") if not p.name.startswith("__")}
    assert found == set(ORDER)


def test_what_a_type_checker_sees_is_what_is_loaded() -> None:
    import fleetlib

    seen = ast.parse((PACKAGE / "__init__.py").read_text(encoding="utf-8"))
    block = next(n for n in seen.body if isinstance(n, ast.If))
    named = {
        a.name: (n.module or "").removeprefix("fleetlib.")
        for n in block.body
        if isinstance(n, ast.ImportFrom)
        for a in n.names
        if a.name != "errors"
    }
    assert named == fleetlib._PLACES


# A published figure is checked where its book is named, and there stands its exact place or that it is from memory.
FIGURES = {
    "selling/test_likelihood.py": ("recid1", "Fox 2002"),
    "selling/test_kaplan_meier.py": ("Greenwood standard error",),
    "price/published_regressions.py": ("Verbeek", "Wooldridge,", "OpenIntro Statistics"),
    "price/test_ordinary.py": ("prints PRESS", "Montgomery, Peck"),
    "pay/test_ratio.py": (
        "chapter 10", "chapter 6", "prints -.249", "city data", "chapters 10 and 11",
    ),
    "pay/test_shrinkage.py": ("Efron & Morris",),
    "trust/test_accuracy.py": ("Wilson 1927",),
    "trust/published_ratio_tables.py": ("Standard on Ratio Studies",),
}  # fmt: skip


@pytest.mark.parametrize(
    ("file", "named"), [(file, word) for file, words in FIGURES.items() for word in words]
)
def test_a_published_figure_says_where_it_stands_or_that_it_is_from_memory(
    file: str, named: str
) -> None:
    lines = (ROOT / "tests" / file).read_text("utf-8").splitlines()
    at = [i for i, line in enumerate(lines) if named in line]
    assert at
    near = " ".join(lines[at[0] : at[0] + 5])
    assert re.search(r"memory|remembered|page \d|, \d+-\d+|tables? \w?-?\d", near), near
