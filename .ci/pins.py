"""Move the exact versions the project is tested with.

`python .ci/pins.py` resolves every dependency afresh (with uv), writes the exact versions to
`constraint-dependencies` in pyproject.toml and to .ci/constraints.txt (for plain pip), names and versions
only. `python .ci/pins.py --check` says whether the two files agree and changes nothing.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PROJECT = ROOT / "pyproject.toml"
CONSTRAINTS = ROOT / ".ci" / "constraints.txt"
BLOCK = re.compile(r"\n\[tool\.uv\]\n.*?constraint-dependencies = \[\n(.*?)\]\n", re.DOTALL)
HEAD = (
    "\n[tool.uv]\n"
    "# The exact versions everything is tested with. Moved by `python .ci/pins.py`, never by hand;\n"
    "# .ci/constraints.txt holds the same for plain pip.\n"
    "constraint-dependencies = [\n"
)


def pinned_in_project(text: str) -> list[str]:
    """The pins written in pyproject.toml, as `name==version` lines."""
    found = BLOCK.search(text)
    return re.findall(r'"(.*?)",', found.group(1)) if found else []


def fresh_pins(text: str) -> list[str]:
    """Resolve without the present pins; a marker stays only where a package needs two versions."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        (place / "pyproject.toml").write_text(BLOCK.sub("\n", text), encoding="utf-8")
        (place / "README.md").write_text("fleetlib\n", encoding="utf-8")
        command = ["uv", "export", "--all-extras", "--no-hashes", "--no-annotate", "--no-header"]
        command += ["--no-emit-project", "--quiet"]
        done = subprocess.run(command, cwd=place, check=True, capture_output=True, text=True)
    lines = [line.strip() for line in done.stdout.splitlines() if "==" in line]
    names = Counter(line.split("==")[0] for line in lines)
    return [line if names[line.split("==")[0]] > 1 else line.split(" ;")[0] for line in lines]


def main() -> int:
    """Write the pins, or with --check compare the two files."""
    text = PROJECT.read_text(encoding="utf-8")
    if "--check" in sys.argv:
        same = pinned_in_project(text) == CONSTRAINTS.read_text(encoding="utf-8").split("\n")[:-1]
        print("the pins agree" if same else "pyproject.toml and .ci/constraints.txt disagree")
        return 0 if same else 1
    pins = [pin.replace('"', "'") for pin in fresh_pins(text)]
    block = HEAD + "".join(f'  "{pin}",\n' for pin in pins) + "]\n"
    text = BLOCK.sub("\n", text).rstrip("\n") + "\n" + block
    PROJECT.write_text(text, encoding="utf-8")
    CONSTRAINTS.write_text("\n".join(pins) + "\n", encoding="utf-8")
    print(f"{len(pins)} versions pinned")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
