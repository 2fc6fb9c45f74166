"""The log of one patient: every strip on one time axis, in words and figures too."""

import json
from pathlib import Path

from tests.web.browser import Browser
from tests.web.records import demo


def test_one_time_axis_for_all_strips(browser: Browser) -> None:
    """Choosing hours moves every strip; the strips start and end at the same place on the screen."""
    browser.demo("01-sepsis")
    edges = """[...document.querySelectorAll('.u-over')].map((one) => {
      const box = one.getBoundingClientRect();
      return [Math.round(box.left), Math.round(box.right)].join();
    })"""
    assert len(set(browser.do("run", code=edges))) == 1
    before = browser.do("run", code="document.querySelector(\"[data-strip='pulse'] canvas\").toDataURL()")
    browser.do("click", at="[data-hours='12']")
    after = browser.do("run", code="document.querySelector(\"[data-strip='pulse'] canvas\").toDataURL()")
    assert before != after
    assert (
        browser.do("run", code="document.querySelector(\"[data-hours='12']\").getAttribute('aria-pressed')")
        == "true"
    )
    browser.do("hover", at="[data-strip='pulse'] .u-over", x=40, y=20)
    assert browser.text("[data-strip='spo2'] [data-now-at]") != "07:10"
    browser.picture("log-12-hours")


def test_oxygen_is_told_in_words(browser: Browser) -> None:
    """The device and what it gives, each from when; the same in the label and in the table."""
    browser.demo("01-sepsis")
    label = browser.do(
        "run", code="document.querySelector(\"[data-strip='oxygen'] [data-draw]\").getAttribute('aria-label')"
    )
    for words in (
        "air from",
        "nasal cannula, 2 L/min from 20:00 on 11 March",
        "reservoir mask, 15 L/min from 07:10 on 12 March",
    ):
        assert words in label


def test_creatinine_with_reference_ratio_and_both_stages(browser: Browser) -> None:
    """Stage, reference and ratio by each criterion, as the case file has them; every result in a table."""
    browser.demo("01-sepsis")
    kidneys = browser.text(".kidneys")
    for words in ("KDIGO", "NHS England warning algorithm", "stage 1"):
        assert words in kidneys
    assert "118" in browser.text("[data-strip='kidneys'] [data-now]")
    whole = browser.do("run", code="document.querySelector('.kidneys').textContent")
    for words in ("82", "80", "1.43", "1.47"):  # In figures, on demand.
        assert words in whole
    assert browser.do("count", at=".kidneys tbody tr") == 5


def test_a_result_dated_without_a_time_gets_none(browser: Browser, tmp_path: Path) -> None:
    """Pointing along the strip of creatinine invents no hour for a result that has a date alone."""
    record = demo("01-sepsis")
    results = [e["resource"] for e in record["entry"] if e["resource"]["resourceType"] == "Observation"]
    # LOINC 14682-9: creatinine in serum or plasma, moles per volume.
    creatinine = [one for one in results if one["code"]["coding"][0].get("code") == "14682-9"]
    creatinine[-2]["effectiveDateTime"] = "2026-03-11"
    file = tmp_path / "dated.json"
    file.write_text(json.dumps(record), "utf-8")
    browser.open_file(file)
    said = set()
    for x in range(5, 400, 15):
        browser.do("hover", at="[data-strip='kidneys'] .u-over", x=x, y=20)
        said.add(browser.text("[data-strip='kidneys'] [data-now-at]"))
    assert "11 Mar" in said
    assert not any(one.startswith("12:00") for one in said)
