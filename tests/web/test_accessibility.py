"""WCAG 2.2 A and AA and axe's best practices, on every state of the page, by day and by night."""

import json
from pathlib import Path

import pytest

from tests.web.axe import OF_COLOUR, finds_nothing
from tests.web.browser import Browser
from tests.web.records import only_creatinine

WIDE = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}


@pytest.mark.parametrize("screen", [pytest.param(WIDE, id="wide"), pytest.param(PHONE, id="phone")])
class TestAxeFindsNothing:
    def test_on_the_opening_page(self, browser: Browser, screen: dict[str, int]) -> None:
        """Choosing, pasting and the demo ward."""
        browser.visit("/", **screen)
        finds_nothing(browser)

    def test_on_the_ward(self, browser: Browser, screen: dict[str, int]) -> None:
        """Thirteen patients."""
        browser.demo("ward", **screen)
        finds_nothing(browser)

    def test_on_the_published_tables(self, browser: Browser, screen: dict[str, int]) -> None:
        """Every publication, and the rows of one."""
        for address in ("/criteria", "/criteria/news2-2017"):
            browser.visit(address, **screen)
            finds_nothing(browser)

    def test_on_a_failure(self, browser: Browser, screen: dict[str, int], tmp_path: Path) -> None:
        """A file that is not FHIR."""
        file = tmp_path / "list.json"
        file.write_text("name,pulse\n", "utf-8")
        browser.open_file(file, **screen)
        finds_nothing(browser)

    def test_on_a_single_creatinine_with_the_answer_shown(
        self, browser: Browser, screen: dict[str, int], tmp_path: Path
    ) -> None:
        """The smallest record, and the FHIR answer unfolded below it."""
        file = tmp_path / "one.json"
        file.write_text(json.dumps(only_creatinine()), "utf-8")
        browser.open_file(file, **screen)
        browser.do("click", at="[data-fhir-show]")
        browser.do("until", code="!document.querySelector('[data-fhir-text]').hidden")
        finds_nothing(browser)


#: What makes one text hard to read: its own colour, what it stands on, what it is seen through.
WEAKENED = (
    "one.style.color = '#666'",
    "one.style.background = '#666'",
    "one.parentElement.style.opacity = '0.4'",
)
#: A text of a finding, from the middle of them all.
ONE_OF_THEM = """const speaks = (each) => each.nodeType === 3 && /\\w{4}/.test(each.nodeValue);
const said = [...document.querySelectorAll('.finding *, .medicine *')]
  .filter((one) => one.checkVisibility() && [...one.childNodes].some(speaks));
const one = said[said.length >> 1];"""


def test_one_weak_text_among_thousands_is_found(browser: Browser) -> None:
    """Axe measures the contrast of some texts of each look; a text that looks otherwise is among them."""
    browser.demo("08-well-going-home", scheme="dark")
    for weaken in WEAKENED:
        browser.do("run", code=f"{{ {ONE_OF_THEM} window.weakened = [one, one.parentElement]; {weaken}; }}")
        found = browser.do("accessibility", rules=OF_COLOUR)
        assert [one.partition(":")[0] for one in found] == ["color-contrast"], weaken
        browser.do("run", code="weakened.forEach((one) => { one.removeAttribute('style'); })")
    assert browser.do("accessibility", rules=OF_COLOUR) == []


def test_the_page_can_be_walked_by_keys_alone(browser: Browser) -> None:
    """The skip link comes first, every stop shows its focus, and nothing traps it."""
    browser.demo("01-sepsis")
    browser.do(
        "run",
        code="document.body.tabIndex = -1; document.body.focus(); document.body.removeAttribute('tabindex')",
    )
    browser.do("press", key="Tab")
    assert browser.do("run", code="document.activeElement.textContent") == "Skip to the record"
    stops = set()
    for _ in range(60):
        browser.do("press", key="Tab")
        shown = browser.do(
            "run",
            code="""(() => {
              const on = document.activeElement;
              const ringed = getComputedStyle(on).outlineStyle !== 'none';
              return [on.outerHTML.slice(0, 80), ringed || on === document.body || on.tabIndex < 0];
            })()""",
        )
        assert shown[1], shown[0]
        stops.add(shown[0])
    assert len(stops) > 20


def test_the_slider_reads_the_log_aloud(browser: Browser) -> None:
    """Arrow keys move one cursor through all strips, and the slider says in words what stands there."""
    browser.demo("01-sepsis")
    browser.do("run", code="document.querySelector('[data-look-range]').focus()")
    browser.do("press", key="ArrowLeft")
    words = browser.do(
        "run", code="document.querySelector('[data-look-range]').getAttribute('aria-valuetext')"
    )
    # Written by hand from the chart of the case: 06:10 is the round before the last.
    for part in (
        "06:10",
        "Respiration rate /min 24",
        "Oxygen saturation % 93",
        "Blood pressure mmHg 101/52",
        "Pulse /min 116",
    ):
        assert part in words
    assert browser.text("[data-strip='pulse'] [data-now]") == "116"


@pytest.mark.parametrize("name", ["01-sepsis", "04-aki-nephrotoxics", "08-well-going-home"])
def test_urgency_does_not_need_colour(browser: Browser, name: str) -> None:
    """In grey the word and the number of pennants say the same."""
    browser.demo(name, vision="achromatopsia")
    word = browser.text(".first h2").strip().lower().removesuffix(" overdue")
    pennants = browser.do(
        "run",
        code="(document.querySelector('.first .pennant')?.getAttribute('d').match(/M/g) || []).length",
    )
    assert {"emergency": 3, "urgent": 2, "prompt": 1, "routine": 0}[word] == pennants
    browser.picture(f"grey-{name}")
