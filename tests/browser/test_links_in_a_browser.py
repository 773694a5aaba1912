"""The links that carry page, tag and calendar: a press opens the page in a tab of its own, or keeps the file."""

from importlib.resources import files

import pytest

from fleetlib.desk.forms.links import _link


@pytest.mark.browser
def test_a_page_carried_in_its_link_opens_in_a_tab_and_a_calendar_is_kept(browser) -> None:
    page = browser.new_page()
    script = files("fleetlib.desk.templates").joinpath("forms.js").read_text(encoding="utf-8")
    tag = _link("price tag", "tag-A-1.html", "<title>Tag</title><h1>Möbel</h1>".encode())
    calendar = _link("calendar", "markdowns-A-1.ics", b"BEGIN:VCALENDAR")
    page.set_content(f'<meta charset="utf-8">{tag} {calendar}')
    page.add_script_tag(content=script)
    with page.context.expect_page() as opened:
        page.get_by_text("price tag").click()
    opened.value.wait_for_load_state()
    assert "Möbel" in opened.value.locator("h1").inner_text()
    with page.expect_download() as kept:
        page.get_by_text("calendar").click()
    assert kept.value.suggested_filename == "markdowns-A-1.ics"
    page.close()
