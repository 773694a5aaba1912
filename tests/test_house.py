"""The house rules that a reader relies on: imports point down, every module says what it is about."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "fleetlib"
RANK = {"foundation": 0, "records": 1, "models": 2, "advice": 3, "views": 4, "shop": 5, "cli": 6}
TOP = {"shop": "shop", "starting": "shop", "cli": "cli", "__init__": "cli", "__main__": "cli"}


def layer(dotted: str) -> str:
    part = dotted.split(".")[1] if "." in dotted else "__init__"
    return part if part in RANK else TOP.get(part, "foundation")


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def is_module(name: str) -> bool:
    return (PACKAGE / f"{name}.py").is_file() or (PACKAGE / name / "__init__.py").is_file()


def imports_of(path: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "fleetlib":
            inside = node.module or ""
            parts = (
                [f"fleetlib.{a.name}" for a in node.names if is_module(a.name)]
                if inside == "fleetlib"
                else []
            )
            found += parts or [inside]
        if isinstance(node, ast.Import):
            found += [a.name for a in node.names if a.name.split(".")[0] == "fleetlib"]
    return found


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_imports_point_down(path: Path) -> None:
    own = layer(name_of(path))
    for target in imports_of(path):
        if own != "cli":
            assert target != "fleetlib", f"{name_of(path)} imports the package root"
        assert RANK[layer(target)] <= RANK[own], f"{name_of(path)} ({own}) imports {target}"


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_every_module_opens_with_what_it_is_about(path: Path) -> None:
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("path", modules(), ids=name_of)
def test_every_public_function_and_class_says_what_it_means(path: Path) -> None:
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            assert ast.get_docstring(node), f"{path.name}: {node.name}"


def test_modules_of_one_layer_do_not_go_round_in_a_circle() -> None:
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


def test_the_two_lists_of_pinned_versions_agree() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / ".ci" / "pins.py"), "--check"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout
