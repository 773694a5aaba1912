"""Run the notebooks from fresh kernels and store their outputs, the same each time.

`python .ci/run_notebooks.py` runs all of them; with file names only those. Timings and everything else that
differs from run to run is left out of the stored file, so that a second run changes nothing. Cells tagged
`form` are run but stored without outputs (a form's inner state is large and random).
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

# A check of addresses that no notebook asks for: reading its grammar would take longer than a notebook.
sys.modules["rfc3987_syntax"] = None  # type: ignore[assignment]

import nbformat  # noqa: E402
from nbclient import NotebookClient  # noqa: E402

ROOT = Path(__file__).resolve().parent.parent
METADATA = {
    "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}


def run(path: Path) -> float:
    """Run one notebook in its own folder and write it back; returns the seconds it took."""
    notebook = nbformat.read(path, as_version=4)
    begun = time.monotonic()
    if any(cell.cell_type == "code" for cell in notebook.cells):
        where = {"metadata": {"path": path.parent}}
        NotebookClient(notebook, timeout=180, kernel_name="python3", resources=where).execute()
    taken = time.monotonic() - begun
    tidy(notebook)
    path.write_text(nbformat.writes(notebook) + "\n", encoding="utf-8")
    return taken


def tidy(notebook: nbformat.NotebookNode) -> None:
    """Leave only what is the same in every run."""
    notebook.metadata = nbformat.from_dict(METADATA)
    for cell in notebook.cells:
        kept = {k: cell.metadata[k] for k in ("tags", "jupyter") if k in cell.metadata}
        cell.metadata = nbformat.from_dict(kept)
        if cell.cell_type == "code":
            if "form" in kept.get("tags", []):
                cell.outputs = []
            for output in cell.outputs:
                if "metadata" in output:
                    output.metadata = nbformat.from_dict({})


def main() -> int:
    """Run the notebooks named on the command line, or all."""
    named = [Path(name) for name in sys.argv[1:]]
    total = 0.0
    for path in named or sorted((ROOT / "notebooks").glob("*.ipynb")):
        taken = run(path)
        total += taken
        print(f"{taken:5.1f} s  {path.name}")
    print(f"{total:5.1f} s  together")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
