"""Ways through the page: links inside it, back and forth, from the ward to a patient, with the keyboard."""

import json
from pathlib import Path

import pytest

from tests.web.browser import Browser
from tests.web.records import demo, twenty_patients

_REVIEWS = "performance.getEntriesByType('resource').filter((one) => /\\/view/.test(one.name)).length"
_PARTS = {"Findings": "findings", "Log": "log", "Drug chart": "chart", "Handover": "handover"}


def _title(browser: Browser) -> str:
    said: str = browser.do("run", code="document.title")
    return said


@pytest.mark.parametrize("from_ward", [False, True], ids=["alone", "of-a-ward"])
def test_a_link_inside_the_page_only_scrolls(browser: Browser, from_ward: bool) -> None:
    """No second review, nobody else's page, and the part that was asked for is in sight."""
    browser.demo("ward" if from_ward else "04-aki-nephrotoxics")
    if from_ward:
        browser.do("click", at="text=Cordelia Saltmere")
        browser.shown_again(2)
    before = browser.do("run", code=_REVIEWS)
    for words, part in _PARTS.items():
        browser.do("click", at=f".running nav a:text-is('{words}')")
        # A review that was asked for once more would be there by now.
        browser.do("run", code="new Promise((resolve) => setTimeout(resolve, 150))")
        top = browser.do("run", code=f"document.querySelector(`[id$='-{part}']`).getBoundingClientRect().top")
        assert -5 < top < 500, words
    # The limits stay in sight with the name once the head has scrolled away.
    browser.do("until", code="!!document.querySelector('.running.is-stuck')")
    browser.do("click", at=".running > a")
    assert browser.text("h1") == "Cordelia Saltmere"
    assert browser.do("run", code=_REVIEWS) == before
    browser.do("run", code="history.back()")
    browser.do("run", code="new Promise((resolve) => setTimeout(resolve, 150))")
    assert browser.text("h1") == "Cordelia Saltmere"
    browser.behaved()


def test_back_leads_to_the_ward_one_came_from(browser: Browser, tmp_path: Path) -> None:
    """Ward, patient, another record with another ward, patient: back is the ward of this patient."""
    browser.demo("ward")
    browser.do("click", at="text=Cordelia Saltmere")
    browser.shown_again(2)
    browser.do("click", at=".masthead [data-open-again]")
    file = tmp_path / "twenty.json"
    file.write_text(json.dumps(twenty_patients()), "utf-8")
    browser.do("choose", at="[data-file]", file=str(file))
    browser.shown_again(3)
    browser.do("pick", at="[data-ward-choice]", label="Whinmoor Ward")
    browser.do("click", at=".bed:not([hidden]) >> nth=1 >> button")
    browser.shown_again(4)
    browser.do("click", at=".running nav a:text-is('Handover')")
    browser.do("click", at="[data-back]")
    browser.shown_again(5)
    # The ward stands as it was left: its filter, and the counts that belong to it.
    assert browser.text("[data-ward-shown]") == "7 of 20 shown"
    assert browser.text("h1") == "7 of 20 patients, Whinmoor Ward, most urgent first"
    counts = browser.do(
        "run", code="[...document.querySelectorAll('[data-count-of] b')].map((one) => +one.textContent)"
    )
    assert sum(counts) == 7
    browser.do("click", at=".bed:not([hidden]) >> nth=0 >> button")
    browser.shown_again(6)
    browser.do("run", code="history.back()")
    browser.shown_again(7)
    assert "20 patients" in browser.text("h1")
    browser.behaved()


def test_back_from_a_record_is_the_opening_page_and_forward_the_record(browser: Browser) -> None:
    browser.visit()
    browser.do("click", at="[data-demo='08-well-going-home']")
    browser.shown_again(1)
    browser.do("run", code="history.back()")
    browser.do("until", code="!document.querySelector('[data-opening]').hidden")
    assert browser.do("count", at="article") == 0
    assert _title(browser) == "Weatherglass"
    browser.do("run", code="history.forward()")
    browser.shown_again(2)
    assert browser.text("h1") == "Philippa Oxbow-Dunn"


def test_each_entry_of_the_history_stands_for_its_own_page(browser: Browser) -> None:
    """Ward, patient, two parts of the page, ward, another patient: all the way back, entry by entry."""
    browser.demo("ward")
    browser.do("click", at="text=Cordelia Saltmere")
    browser.shown_again(2)
    browser.do("click", at=".running nav a:text-is('Drug chart')")
    browser.do("click", at=".running nav a:text-is('Log')")
    browser.do("click", at="[data-back]")
    browser.shown_again(3)
    browser.do("click", at="text=Winifred Gullhaven")
    browser.shown_again(4)
    seen = []
    for _ in range(5):
        browser.do("run", code="history.back()")
        browser.do("run", code="new Promise((resolve) => setTimeout(resolve, 400))")
        browser.do("until", code="document.querySelector('[data-progress]').hidden")
        seen.append(browser.text("h1"))
    assert seen == [
        "13 patients, most urgent first",
        *["Cordelia Saltmere"] * 3,
        "13 patients, most urgent first",
    ]
    browser.behaved()


def test_the_address_of_a_demo_goes_with_it(browser: Browser, tmp_path: Path) -> None:
    """Loading again shows what the address names, and never an invented patient for a real one."""
    browser.demo("08-well-going-home")
    assert browser.do("run", code="location.search") == "?demo=08-well-going-home"
    file = tmp_path / "own.json"
    file.write_text(json.dumps(demo("01-sepsis")), "utf-8")
    browser.do("choose", at="[data-file]", file=str(file))
    browser.shown_again(2)
    assert browser.do("run", code="location.search") == ""


def test_a_failure_carries_nobodys_name(browser: Browser, tmp_path: Path) -> None:
    """After a patient's record, one that cannot be read: neither page nor window says the old name."""
    browser.demo("01-sepsis")
    assert "Tidewell" in _title(browser)
    file = tmp_path / "letter.json"
    file.write_text("Dear colleague", "utf-8")
    browser.do("click", at=".masthead [data-open-again]")
    assert _title(browser) == "Weatherglass"
    browser.do("choose", at="[data-file]", file=str(file))
    browser.shown_again(2)
    assert "Tidewell" not in _title(browser)
    assert "Tidewell" not in browser.text("body")


@pytest.mark.parametrize("name", ["04-aki-nephrotoxics", "01-sepsis"])
def test_what_has_the_focus_is_in_sight(browser: Browser, name: str) -> None:
    """Tab by tab through the whole review (WCAG 2.4.7, 2.4.11): the long column beside the findings too."""
    browser.demo(name)
    seen = []
    for _ in range(120):
        browser.do("press", key="Tab")
        where = browser.do(
            "run",
            code="""(() => {
              const one = document.activeElement;
              const box = one.getBoundingClientRect();
              const inSight = box.bottom > 8 && box.top < innerHeight - 8;
              return [one.textContent.trim().slice(0, 40) || one.id, inSight, box.top];
            })()""",
        )
        if where[0].startswith("Fetch the answer"):
            break
        seen.append(where)
    assert len(seen) > 30
    assert [one for one in seen if not one[1]] == []


def test_the_ward_does_not_scroll_sideways_on_a_small_phone(browser: Browser) -> None:
    """WCAG 2.2, 1.4.10 Reflow, as for each patient."""
    sizes = {"small": (320, 740), "narrow": (360, 740)}
    for size in browser.demo_at_each("ward", sizes):
        assert browser.do("run", code="document.documentElement.scrollWidth") <= sizes[size][0], size


def test_a_name_cannot_turn_the_line_round(browser: Browser, tmp_path: Path) -> None:
    """A long name takes one line of what stays in sight; one written right to left stays in its place."""
    record = demo("01-sepsis")
    patient = next(e["resource"] for e in record["entry"] if e["resource"]["resourceType"] == "Patient")
    patient["name"] = [{"text": "عبد الرحمن " * 12}]
    file = tmp_path / "named.json"
    file.write_text(json.dumps(record), "utf-8")
    browser.open_file(file, width=390, height=844)
    browser.do("run", code="scrollTo(0, 1500)")
    browser.do("until", code="!!document.querySelector('.running.is-stuck')")
    assert browser.do("run", code="document.querySelector('.running-name').getClientRects().length") == 1
    assert browser.do("run", code="document.querySelector('.running').offsetHeight") < 140
    assert (
        browser.do("run", code="getComputedStyle(document.querySelector('.who h1')).unicodeBidi") == "isolate"
    )
