"""What holds of every invented patient: the page of each is loaded once for all that is asked of it.

Nothing here changes more of a page than its size and how its strips write; then one test unfolds it, and the
last takes it afresh.
"""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.web.axe import finds_nothing
from tests.web.browser import Browser
from tests.web.records import NAMES, answered

_CASES = Path(__file__).parents[2] / "fixtures" / "cases"
#: A page is loaded at one of these, the next at another; it comes to other sizes as a window that is drawn.
_LOADED = ((1440, 900), (390, 844), (683, 384), (320, 740))
#: A ward laptop, a phone less the bars of its browser, the laptop at twice the size: our choice.
FIRST_SCREENS = {"laptop": (1366, 768), "phone": (390, 664), "200-percent": (683, 384)}
_FOLD = """[...document.querySelectorAll(
  '.who h1, .call, .decisions .in-short, .signs, .latest > p:first-of-type')]
  .map((one) => [one.className || one.tagName, one.getBoundingClientRect().bottom, one.innerText])"""
#: How many words one reads; the limits below are our choice too.
_WORDS = "document.querySelector('[data-view]').innerText.trim().split(/\\s+/).length"
#: Whether a canvas holds anything at all.
_DRAWN = """[...document.querySelectorAll('[data-draw] canvas')].map((canvas) => {
  const pixels = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
  for (let i = 3; i < pixels.length; i += 4) if (pixels[i]) return true;
  return false;
})"""
#: Notes each word that is written beside or on a strip: how far it reaches to the left and to the right.
_WRITTEN = """(() => {
  const fill = CanvasRenderingContext2D.prototype.fillText;
  window.outside = [];
  CanvasRenderingContext2D.prototype.fillText = function (words, x, y, ...rest) {
    const at = this.getTransform().transformPoint({ x, y });
    const width = this.measureText(words).width;
    const left = at.x - { right: width, end: width, center: width / 2 }[this.textAlign] || at.x;
    const right = left + width;
    // A figure takes up about seven tenths of its size, half of that above its middle.
    const half = 0.35 * parseFloat(this.font.match(/([\\d.]+)px/)[1]);
    const middle = at.y + { top: half, middle: 0, bottom: -half, alphabetic: -half }[this.textBaseline];
    const beside = left < 0 || right > this.canvas.width;
    const cut = beside || middle - half < 0 || middle + half > this.canvas.height;
    if (String(words).trim() && cut) window.outside.push([words, left, right]);
    fill.call(this, words, x, y, ...rest);
  };
  Weatherglass.article.redraw();
})()"""


@pytest.fixture(scope="module", params=NAMES)
def name(request: pytest.FixtureRequest, browser: Browser) -> str:
    """The patient whose page is open."""
    patient: str = request.param
    width, height = _LOADED[int(patient[:2]) % len(_LOADED)]
    browser.demo(patient, width=width, height=height)
    return patient


def test_score_on_the_page_is_the_one_of_the_case(browser: Browser, name: str) -> None:
    """The total and its points stand on the page as they were worked out by hand in the case file."""
    case = tomllib.loads((_CASES / f"{name}.toml").read_text("utf-8"))
    expected = case.get("expected", {}).get("news2", [])
    browser.do("resize", width=1440, height=900)
    drawn = browser.do("run", code=_DRAWN)
    assert drawn
    assert all(drawn)
    browser.behaved()
    if not expected:
        return
    newest = max(expected, key=lambda one: one["at"])
    shown = browser.text(".total strong")
    assert shown == (str(newest["total"]) if "total" in newest else f"≥{newest['lowest']}")
    points = [row.split()[-1] for row in browser.texts(".parts tbody tr")]
    wanted = [str(one) for one in newest["points"].values()]
    assert [one for one in points if one.isdigit()] == wanted or "total" not in newest


def test_page_says_what_the_operation_says(browser: Browser, name: str) -> None:
    """Every finding and suggestion of the FHIR answer stands on the page in the same words, and no other."""
    resources = answered(name)
    page = browser.do("run", code="document.querySelector('article').textContent.replace(/\\s+/g, ' ')")
    spoken = [
        r["detail"] for r in resources if r["resourceType"] == "DetectedIssue" and not r.get("implicated")
    ]
    spoken += [
        r["payload"][0]["contentString"].split(" Call: ")[0]
        for r in resources
        if r["resourceType"] == "CommunicationRequest"
    ]
    summary = next(
        r for r in resources if r.get("code", {}).get("coding", [{}])[0].get("code") == "review-urgency"
    )
    assert summary["valueCodeableConcept"]["coding"][0]["code"] == (
        browser.text(".first h2").strip().lower().removesuffix(" overdue")
    )
    spoken.append(summary["valueCodeableConcept"]["text"])
    for words in spoken:
        for sentence in re.split(r"(?<=\.) ", " ".join(words.split())):
            assert sentence in page
    tasks = [r for r in resources if r["resourceType"] == "Task"]
    asking = browser.do("count", at=".medicine .action")
    assert asking >= len(tasks)


def test_everything_of_the_first_screen_is_on_it(browser: Browser, name: str) -> None:
    """Who, what to do, whom to call by when, the limits, the seven signs and the newest results."""
    for size in browser.at_each(FIRST_SCREENS):
        width, height = FIRST_SCREENS[size]
        found: list[list[Any]] = browser.do("run", code=_FOLD)
        assert len(found) == 5, size
        for what, bottom, words in found:
            assert bottom <= height, (size, what)
            assert words.strip(), (size, what)
        assert browser.do("count", at=".sign:not(.sign-total)") == 7, size
        assert browser.do("run", code="document.documentElement.scrollWidth") <= width, size
    browser.behaved()


def test_nothing_scrolls_sideways_on_a_small_phone(browser: Browser, name: str) -> None:
    """WCAG 2.2, 1.4.10 Reflow: 320 CSS pixels are enough; only tables of figures scroll by themselves."""
    sizes = {"small": (320, 740), "narrow": (360, 740)}
    for size in browser.at_each(sizes):
        assert browser.do("run", code="document.documentElement.scrollWidth") <= sizes[size][0], size


def test_no_word_beside_a_strip_is_cut(browser: Browser, name: str) -> None:
    """Names of parts, devices and answers stand whole on the canvas, on a phone as on a desk."""
    for size in browser.at_each({"desk": (1440, 900), "phone": (390, 900)}):
        browser.do("run", code=_WRITTEN)
        assert browser.do("until", code="window.outside !== undefined") is None
        assert browser.do("run", code="window.outside") == [], size


def test_axe_finds_nothing_on_a_patient_with_everything_unfolded(browser: Browser, name: str) -> None:
    """Every urgency, missing parts, decisions, inputs and figures."""
    for screen in browser.at_each({"wide": (1440, 900), "phone": (390, 844)}):
        browser.do("run", code="document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        finds_nothing(browser, screen)


def test_words_of_a_review(browser: Browser, name: str) -> None:
    """The sickest takes under 1,200 words, nobody more than 1,350, and every one of them stays on demand."""
    browser.demo(name, width=1366, height=768)
    few = browser.do("run", code=_WORDS)
    assert few < (1200 if name == "01-sepsis" else 1350)
    browser.do("click", at="[data-everything]")
    assert browser.do("run", code=_WORDS) > few
    hidden = (
        "[...document.querySelectorAll('.more, .on-demand, .sbar')].filter((one) => !one.checkVisibility())"
    )
    assert browser.do("run", code=f"{hidden}.length") == 0
