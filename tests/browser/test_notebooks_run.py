"""Each notebook, run top to bottom in a real JupyterLab in a real browser."""

import json
from pathlib import Path

import pytest

from tests.browser.jupyterlab import troubles

ROOT = Path(__file__).resolve().parent.parent.parent
START = "0_start_here.ipynb"
SIX = sorted(path.name for path in (ROOT / "notebooks").glob("[1-6]_*.ipynb"))


@pytest.mark.browser
@pytest.mark.parametrize("name", SIX)
def test_a_notebook_runs_from_a_fresh_kernel_without_a_complaint(name, open_notebook):
    stored = json.loads((ROOT / "notebooks" / name).read_text(encoding="utf-8"))
    desk = open_notebook(name)
    desk.restart_and_run_all()
    pictures = desk.pictures()
    saved = desk.save()

    assert troubles(saved) == []
    code = [cell for cell in saved["cells"] if cell["cell_type"] == "code"]
    assert [cell["execution_count"] for cell in code] == list(range(1, len(code) + 1))
    assert len(pictures) == sum("<img" in str(cell.get("outputs")) for cell in stored["cells"])
    for alt, dark in pictures:
        assert len(alt) > 40, "a picture without the text that says the same"
        assert dark > 0.01, f"a blank picture: {alt[:60]}"
    assert desk.page.query_selector_all("mjx-container") == [], "an amount became a formula"
    assert desk.outside_requests() == []


@pytest.mark.browser
@pytest.mark.parametrize("theme", ["Light", "Dark"])
def test_letters_stand_out_from_what_is_behind_them_in_either_theme(theme, open_notebook):
    desk = open_notebook(SIX[0], theme)
    desk.restart_and_run_all()
    found = desk.contrasts(".jp-OutputArea .fleet td, .jp-OutputArea .fleet th")
    assert len(found) > 20
    assert min(found) >= 4.5  # W3C, WCAG 2.1, 1.4.3; the limit from memory


@pytest.mark.browser
def test_the_start_page_opens_each_notebook(open_notebook):
    desk = open_notebook(START)
    for name in SIX:
        desk.page.click(f'.jp-NotebookPanel:not(.lm-mod-hidden) a[href*="{name}"]')
        desk.page.wait_for_selector(f'.lm-TabBar-tabLabel:text-is("{name}")', timeout=20_000)
        desk.page.click(f'.lm-TabBar-tabLabel:text-is("{START}")')
    assert desk.outside_requests() == []
