"""Each notebook, run top to bottom in a real JupyterLab in a real browser."""

from pathlib import Path

import pytest

from tests.browser.jupyterlab import troubles

ROOT = Path(__file__).resolve().parent.parent.parent
NOTEBOOKS = sorted(path.name for path in (ROOT / "notebooks").glob("*.ipynb"))


@pytest.mark.browser
@pytest.mark.parametrize("name", NOTEBOOKS)
def test_a_notebook_runs_from_a_fresh_kernel_without_a_complaint(name, open_notebook):
    desk = open_notebook(name)
    stored = desk.lab.notebook(name)
    desk.restart_and_run_all()
    pictures = desk.pictures()
    saved = desk.save()

    assert troubles(saved) == []
    code = [cell for cell in saved["cells"] if cell["cell_type"] == "code"]
    assert [cell["execution_count"] for cell in code] == list(range(1, len(code) + 1))
    in_store = sum("<img" in str(cell.get("outputs")) for cell in stored["cells"])
    assert len(pictures) >= in_store
    for alt, dark in pictures:
        assert len(alt) > 40, "a picture without the text that says the same"
        assert dark > 0.004, f"a blank picture: {alt[:60]}"
    assert desk.outside_requests() == []
