"""What is said once on the first screen, and in which order: measured in a browser."""

from tests.web.browser import Browser


def test_what_to_do_comes_before_whom_to_call(browser: Browser) -> None:
    """At the bedside one stays and measures; the call follows."""
    browser.demo("01-sepsis")
    assert browser.text(".bedside").startswith("Stay with the patient.")
    places = browser.do("run", code="['.bedside', '.call'].map((at) => document.querySelector(at).offsetTop)")
    assert places == sorted(places)


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
