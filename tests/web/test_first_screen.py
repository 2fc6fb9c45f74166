"""What anybody sees before scrolling, and how many words a review takes: measured in a browser.

The sizes are our choice: a ward laptop, a phone less the bars of its browser, and the laptop at
twice the size. So are the numbers of words.
"""

from typing import Any

import pytest

from tests.web.browser import Browser
from tests.web.test_patient_page import NAMES

SIZES = {"laptop": (1366, 768), "phone": (390, 664), "200-percent": (683, 384)}
FOLD = """[...document.querySelectorAll(
  '.who h1, .call, .decisions .in-short, .signs, .latest > p:first-of-type')]
  .map((one) => [one.className || one.tagName, one.getBoundingClientRect().bottom, one.innerText])"""
WORDS = "document.querySelector('[data-view]').innerText.trim().split(/\\s+/).length"


@pytest.mark.parametrize("name", NAMES)
def test_everything_of_the_first_screen_is_on_it(browser: Browser, name: str) -> None:
    """Who, what to do, whom to call by when, the limits, the seven signs and the newest results."""
    for size in browser.demo_at_each(name, SIZES):
        width, height = SIZES[size]
        found: list[list[Any]] = browser.do("run", code=FOLD)
        assert len(found) == 5, size
        for what, bottom, words in found:
            assert bottom <= height, (size, what)
            assert words.strip(), (size, what)
        assert browser.do("count", at=".sign:not(.sign-total)") == 7, size
        assert browser.do("run", code="document.documentElement.scrollWidth") <= width, size
    browser.behaved()


def test_what_to_do_comes_before_whom_to_call(browser: Browser) -> None:
    """At the bedside one stays and measures; the call follows."""
    browser.demo("01-sepsis")
    assert browser.text(".bedside").startswith("Stay with the patient.")
    places = browser.do("run", code="['.bedside', '.call'].map((at) => document.querySelector(at).offsetTop)")
    assert places == sorted(places)


@pytest.mark.parametrize("name", NAMES)
def test_words_of_a_review(browser: Browser, name: str) -> None:
    """The sickest takes under 1,200 words, nobody more than 1,350, and every one of them stays on demand."""
    browser.demo(name, width=1366, height=768)
    few = browser.do("run", code=WORDS)
    assert few < (1200 if name == "01-sepsis" else 1350)
    browser.do("click", at="[data-everything]")
    assert browser.do("run", code=WORDS) > few
    hidden = (
        "[...document.querySelectorAll('.more, .on-demand, .sbar')].filter((one) => !one.checkVisibility())"
    )
    assert browser.do("run", code=f"{hidden}.length") == 0


def test_suggestions_are_never_orders_said_once_at_the_chart(browser: Browser) -> None:
    """It stands at the head of the chart wherever there is a suggestion, not beside each."""
    for name in ("01-sepsis", "04-aki-nephrotoxics"):
        browser.demo(name)
        assert browser.text(".chart").count("Suggestions for a prescriber, never orders.") == 1


def test_each_caution_is_said_once(browser: Browser) -> None:
    """A caution that several findings share has one number, and each number leads to it."""
    browser.demo("01-sepsis")
    notes = browser.texts(".footnotes li")
    assert len(notes) == len(set(notes)) > 0
    marks = browser.do("run", code="[...document.querySelectorAll('.note-mark')].map((one) => one.hash)")
    assert marks
    there = browser.do("run", code=f"{marks!r}.every((hash) => document.querySelector(hash))")
    assert there


def test_the_usual_is_not_the_illness(browser: Browser) -> None:
    """01-sepsis has readings of this admission only: they are not called usual, nor drawn as a band."""
    browser.demo("01-sepsis")
    said = browser.texts(".strip .usual")
    assert said
    assert all(one.strip().startswith("own, partly ill: ") for one in said)
    assert browser.do("count", at=".strip .hatch") == 0


def test_a_deadline_that_passes_while_the_page_lies_open(browser: Browser) -> None:
    """Said at the next minute, in words, and read out; what was overdue before says so itself."""
    browser.demo("06-hypoglycaemia")
    assert browser.do("run", code="document.querySelector('[data-overdue]').hidden")
    code = """(() => {
      const article = document.querySelector('[data-article]');
      article.dataset.moment = new Date(Date.now() - 40 * 60000).toISOString();
      article.dataset.due = new Date(Date.now() - 10 * 60000).toISOString();
      Weatherglass.article.tick();
      return document.querySelector('[data-overdue]').innerText;
    })()"""
    assert (
        browser.do("run", code=code) == "Overdue: the call was due 10 minutes ago by this computer's clock."
    )
    assert browser.text("[data-by-clock]") == "40 minutes ago"
