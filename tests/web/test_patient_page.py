"""One patient in a browser: what a clinician sees, and that it agrees with the FHIR answer."""

import json
import re

import pytest

from tests.web.browser import Browser
from tests.web.records import answered


def test_first_on_the_page(browser: Browser) -> None:
    """Who this is, how recent the data are, what to do first and by when; figures from the case file."""
    browser.demo("01-sepsis")
    assert browser.text("h1") == "Ambrose Tidewell"
    head = browser.text(".who")
    for words in ("68 years", "male", "born 14 June 1957", "Larkmoor Ward, bed 1", "07:10 on 12 March"):
        assert words in head
    first = browser.text(".first")
    assert "emergency" in first.lower()
    assert re.search(r"within \d+ (minutes|hour)|now: it was due by", first)
    assert re.search(r"by \d\d:\d\d on 1[12] March", first)
    order = browser.do(
        "run", code="[...document.querySelectorAll('article > *')].map((one) => one.className.split(' ')[0])"
    )
    assert order[:5] == ["who", "first", "decisions", "glance", "running"]
    browser.behaved()
    browser.picture("patient")
    browser.picture("patient-whole", whole=True)


def test_state_missing_inputs_and_publication(browser: Browser) -> None:
    """A finding says since when, what is missing, and on demand its inputs and its publication."""
    browser.demo("09-incomplete-after-operation")
    assert "systolic blood pressure" in browser.text(".parts .absent")
    assert "missing, 0 to 3" in browser.text(".parts .absent")
    browser.do("click", at=".lead .grounds summary")
    grounds = browser.text(".lead .grounds")
    assert "Observation/" in grounds
    assert "Royal College of Physicians" in grounds
    browser.picture("incomplete")
    browser.demo("01-sepsis")
    assert "new since 20:00, 11 Mar" in browser.text(".lead")


def test_letters_stand_in_order(browser: Browser) -> None:
    """The whole patient, then A to E as far as there are findings."""
    browser.demo("04-aki-nephrotoxics")
    letters = [one for one in browser.texts(".letter-sign") if one in "ABCDE"]
    assert letters == sorted(letters)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        pytest.param("03-copd-scale-2", "DNACPR: NOT for resuscitation", id="not-for-resuscitation"),
        pytest.param("10-ceiling-of-treatment", "DNACPR: records conflict, ask the team", id="conflicting"),
        pytest.param(
            "09-incomplete-after-operation", "resuscitation not recorded, ask the team", id="not-recorded"
        ),
    ],
)
def test_decisions_cannot_be_missed(browser: Browser, name: str, said: str) -> None:
    """Resuscitation status and ceiling stand inside the first screen, on a phone and at twice the size."""
    sizes = {"desk": (1440, 900), "phone": (390, 664), "200-percent": (683, 384)}
    for size in browser.demo_at_each(name, sizes):
        assert said in browser.text(".decisions"), size
        bottom = browser.do(
            "run", code="document.querySelector('.decisions p').getBoundingClientRect().bottom"
        )
        assert bottom < sizes[size][1], size
    browser.picture(f"decisions-{name}")


def test_handover_is_copied_as_text(browser: Browser) -> None:
    """What the button copies is what the page says, in the same order."""
    browser.demo("01-sepsis")
    browser.do("click", at="[data-copy]")
    browser.do("until", code="document.querySelector('[data-copied]').textContent !== ''")
    copied = browser.do("clipboard")
    places = [copied.index(word) for word in ("Situation", "Background", "Assessment", "Recommendation")]
    assert places == sorted(places)
    assert "I am calling about Ambrose Tidewell" in copied


def test_raw_answer_is_that_of_the_operation(browser: Browser) -> None:
    """Laid out over lines but unchanged: decimals keep their digits."""
    browser.demo("01-sepsis")
    browser.do("click", at="[data-fhir-show]")
    browser.do("until", code="!document.querySelector('[data-fhir-text]').hidden")
    shown = browser.do("run", code="document.querySelector('[data-fhir-text]').textContent")
    answer = json.loads(shown)
    assert answer["resourceType"] == "Bundle"
    assert {r["resourceType"] for r in answered("01-sepsis")} == {
        e["resource"]["resourceType"] for e in answer["entry"]
    }
    assert "/fhir/$review-deterioration" in "".join(browser.do("requests"))
    browser.behaved()


def test_day_and_night(browser: Browser) -> None:
    """The switch changes page and canvas together."""
    browser.demo("01-sepsis")
    paper = "getComputedStyle(document.body).backgroundColor"
    ink = "document.querySelector(\"[data-strip='pulse'] canvas\").toDataURL()"
    day = (browser.do("run", code=paper), browser.do("run", code=ink))
    browser.do("click", at="[data-theme-switch]")
    night = (browser.do("run", code=paper), browser.do("run", code=ink))
    assert day[0] != night[0]
    assert day[1] != night[1]
    browser.picture("night")


def test_an_old_value_does_not_look_like_a_new_one(browser: Browser) -> None:
    """In this case pressure and alertness were not measured in the newest round, at 06:50."""
    browser.demo("09-incomplete-after-operation")
    behind = browser.do(
        "run",
        code="""[...document.querySelectorAll('.is-behind')]
          .map((one) => [one.closest('[data-strip]').dataset.strip, one.innerText.replace(/\\s+/g, ' ')])""",
    )
    assert behind == [
        ["systolic-pressure", "118/70 not since 02:10"],
        ["consciousness", "alert not since 02:10"],
    ]


def test_how_old_by_the_readers_clock(browser: Browser) -> None:
    """The demo is of 12 March 2026: on any later day the page says how many days ago that is."""
    browser.demo("08-well-going-home")
    days = browser.do("run", code="Math.round((Date.now() - Date.parse('2026-03-12T07:00:00Z')) / 864e5)")
    assert browser.text("[data-by-clock]") == f"{days} days ago"
