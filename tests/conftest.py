"""What more than one part's tests stand on."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import settings

from fleetlib.base import kept_numbers

settings.register_profile("untimed", deadline=None)  # a busy machine is no fault
settings.load_profile("untimed")

DEMO = Path(__file__).resolve().parent.parent / "data_demo"
_CACHE = tempfile.TemporaryDirectory()


def pytest_configure() -> None:
    """The run's own cache, empty at first: nothing is taken from the person's, nor left in it.

    Of several workers all have that of the one that started them.
    """
    if "PYTEST_XDIST_WORKER" not in os.environ:
        os.environ["FLEETLIB_CACHE"] = _CACHE.name


SLOW = (
    "notebooks", "tests/base/test_kept_numbers.py", "tests/base/test_progress.py", "tests/books/test_accounts.py",
    "tests/books/test_inventory.py", "tests/books/test_returns.py", "tests/browser", "tests/buying/test_best_buys.py",
    "tests/desk/test_first_hour.py", "tests/desk/test_forms.py", "tests/desk/test_life_forms.py",
    "tests/desk/test_many_shops.py", "tests/desk/test_newcomers.py", "tests/desk/test_pages.py",
    "tests/desk/test_pictures.py", "tests/desk/test_privacy.py", "tests/desk/test_question_form.py",
    "tests/desk/test_stopped.py", "tests/finish/test_before_price.py", "tests/finish/test_finish_choice.py",
    "tests/pay/test_work_order.py", "tests/plan/test_calendar.py", "tests/plan/test_living.py",
    "tests/plan/test_no_cliffs.py", "tests/plan/test_one_way.py", "tests/plan/test_path.py",
    "tests/plan/test_plan_edges.py", "tests/plan/test_planned.py", "tests/price/test_estimate.py",
    "tests/price/test_fit.py", "tests/price/test_open_data.py", "tests/price/test_own_price.py",
    "tests/price/test_pool.py", "tests/price/test_priors.py", "tests/price/test_regressor.py",
    "tests/quarter/test_lines.py", "tests/quarter/test_review.py", "tests/records/test_adding_a_column.py",
    "tests/records/test_asked.py", "tests/records/test_first_shops.py", "tests/records/test_life.py",
    "tests/records/test_names_for_unnamed.py", "tests/records/test_older_folders.py",
    "tests/records/test_own_groups.py", "tests/records/test_properties.py", "tests/records/test_regroup.py",
    "tests/records/test_report.py", "tests/records/test_second_walk.py", "tests/records/test_sheets.py",
    "tests/records/test_third_walk.py", "tests/records/test_unseen.py", "tests/shown/test_chart_style.py",
    "tests/test_cli.py", "tests/test_demo.py", "tests/test_every_result.py", "tests/test_faults.py",
    "tests/test_notebooks.py", "tests/test_other_systems.py", "tests/test_readme.py", "tests/test_shop.py",
    "tests/test_terminals.py", "tests/test_walk.py", "tests/test_wheel.py", "tests/trust/test_accuracy.py",
    "tests/week/test_listing_text.py", "tests/week/test_outside_range.py", "tests/week/test_since_saved.py",
    "tests/week/test_today.py", "tests/records/test_fourth_walk.py", "tests/records/test_fifth_walk.py",
    "tests/records/test_sixth_walk.py", "tests/records/test_seventh_walk_sizes.py",
    "tests/records/test_answers_are_heard.py", "tests/records/test_came_back.py",
    "tests/records/test_days_of_a_list.py", "tests/records/test_seventh_walk.py",
    "tests/records/test_seventh_walk_cells.py", "tests/records/test_seventh_walk_days.py",
    "tests/records/test_eighth_walk.py", "tests/records/test_twins.py",
    "tests/test_house.py::test_a_price_needs_neither", "tests/selling/test_fit.py",
    "tests/plan/test_markdowns.py",
    "tests/trust/test_ratio_study.py::test_median_interval", "tests/pay/test_shrinkage.py::test_chance_best_is",
)  # fmt: skip


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """The quick look does not even load the slow files."""
    quick = config.option.markexpr.startswith("not slow")
    return True if quick and str(collection_path).endswith(SLOW) else None


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files that take more than three seconds of a quiet machine are slow; so is what is marked so."""
    for item in items:
        if item.nodeid.startswith(SLOW):
            item.add_marker(pytest.mark.slow)


class OneShelf(kept_numbers._Shelf):
    """The numbers of all shops on one shelf, since many tests ask the same of the same records in another folder.

    They are kept under the content of all that went in, so no shop can find another's; no file is written.
    """

    held: ClassVar[dict[str, Any]] = {}

    def put_away(self) -> None:
        """Nothing to write."""


@pytest.fixture(scope="session", autouse=True)
def one_shelf():
    """What one test had worked out, the next finds; the tests of keeping itself undo it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kept_numbers, "_Shelf", OneShelf)
        yield


@pytest.fixture(scope="session")
def demo_fits():
    """The invented demo shop with its models fitted, as of the day its settings name."""
    from fleetlib.shop import open_shop

    return open_shop(DEMO).fits
