"""A review on paper: one side of A4 for every patient, or the whole review on as many sides as it takes."""

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser import Browser
from tests.web.records import WARD, crowded_chart, demo, only_creatinine, several_patients, twenty_patients

NAMES = sorted(path.stem for path in WARD.glob("*.json"))
_LEAST = 7.0
_DOTS = 300

#: Looks at the page at the moment when it has been set for printing: `window.paper`.
_WATCH = """(() => {
  const fill = CanvasRenderingContext2D.prototype.fillText;
  const drawn = [];
  CanvasRenderingContext2D.prototype.fillText = function (words, x, y, ...rest) {
    const size = parseFloat(this.font.match(/([\\d.]+)px/)[1]);
    const down = this.getTransform().transformPoint({ x, y }).y;
    const half = 0.35 * size;
    const middle = down + { top: half, middle: 0, bottom: -half, alphabetic: -half }[this.textBaseline];
    const cut = middle < half || middle > this.canvas.height - half;
    const wide = this.measureText(words).width;
    const before = { right: wide, center: wide / 2 }[this.textAlign] || 0;
    const left = this.getTransform().transformPoint({ x, y }).x - before;
    const box = [left, middle - half, left + wide, middle + half];
    if (String(words).trim()) drawn.push([this.canvas, size, words, cut, box]);
    fill.call(this, words, x, y, ...rest);
  };
  const all = (selector) => [...document.querySelectorAll(selector)];
  const shown = (selector) => all(selector).filter((one) => one.getClientRects().length);
  const look = () => {
    const article = document.querySelector("[data-article]");
    const zoom = Number(getComputedStyle(article).getPropertyValue("--print-zoom"));
    let least = [Infinity, ""];
    let wide = "";
    const edge = article.getBoundingClientRect().right + 1;
    const walker = document.createTreeWalker(article, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const place = walker.currentNode.parentElement;
      const words = walker.currentNode.textContent.trim();
      if (!words || place.closest(".unseen, script")) continue;
      const range = document.createRange();
      range.selectNodeContents(walker.currentNode);
      const box = range.getBoundingClientRect();
      if (!box.width) continue;
      const size = parseFloat(getComputedStyle(place).fontSize) * zoom * 0.75;
      if (size < least[0]) least = [size, `${place.className}: ${words}`];
      if (box.right > edge) wide = `${place.className}: ${words}`;
    }
    const standing = drawn.filter(([canvas]) => canvas.isConnected && canvas.getClientRects().length);
    const dots = ([canvas]) => canvas.width / (canvas.getBoundingClientRect().width / 96);
    for (const [canvas, pixels, words] of standing) {
      const size = pixels * canvas.getBoundingClientRect().width / canvas.width * 0.75;
      if (size < least[0]) least = [size, `drawn: ${words}`];
    }
    const meet = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
    const over = standing.filter(([, , words]) => words.startsWith("reference")).flatMap((one) =>
      standing.filter((other) => other[0] === one[0] && other[2] !== one[2] && meet(one[4], other[4]))
        .map(([, , words]) => words));
    const rules = [...document.styleSheets[0].cssRules].map((rule) => rule.cssText);
    window.paper = {
      least, wide, over,
      cut: standing.filter(([, , , cut]) => cut).map(([, , words]) => words),
      without: (article.dataset.without || "").split(" ").filter(Boolean),
      named: shown("[data-left]").map((one) => one.dataset.left),
      leftOut: shown(".left-out").map((one) => one.innerText).join(),
      routine: all(".finding-0:not([data-shed])").length - shown(".finding-0").length,
      notUsed: shown(".notes > .issues > li").length, couldNotBeUsed: all(".notes > .issues > li").length,
      findings: all(".finding").length - shown(".finding").length,
      levels: shown(".finding, .medicine").map((one) => Number(one.dataset.level)),
      dates: standing.filter(([, , words]) => /^\\d+ [A-Z][a-z][a-z]$/.test(words)).length,
      dots: Math.min(...standing.map(dots)),
      feet: rules.filter((rule) => rule.includes("@bottom-left")),
      blocks: shown(".letter, .letter ul, .columns, .notes").map((one) => getComputedStyle(one).display),
    };
  };
  removeEventListener("beforeprint", window.watching);
  window.watching = look;
  addEventListener("beforeprint", look);
})()"""


def _printed(browser: Browser, name: str, what: str = "side") -> tuple[int, dict[str, Any]]:
    browser.do("run", code=_WATCH)
    if what != "side":
        browser.do("run", code="window.print = () => {}")
        browser.do("run", code=f"document.querySelector(\"button[data-print='{what}']\").click()")
    sides = browser.paper(name)
    seen: dict[str, Any] = browser.do("run", code="window.paper")
    assert seen["least"][0] >= _LEAST - 0.01, seen["least"]
    assert not seen["wide"], "wider than the paper"
    assert seen["cut"] == [], "cut off at the edge of a strip"
    assert seen["over"] == [], "printed over by the words of a reference"
    return sides, seen


def _names_what_is_left_out(seen: dict[str, Any]) -> None:
    unsaid = set(seen["without"]) - set(seen["named"])
    # What a patient does not have is not named: no routine finding, no restart plan, no silent line.
    assert unsaid <= {"routine", "restarts", "unspoken"}
    counted = re.search(r"(\d+) routine finding", seen["leftOut"])
    assert (int(counted[1]) if counted else 0) == (seen["routine"] if "routine" in seen["without"] else 0)


#: What is on these patients does not fit one side in a size that can be read.
_CROWDED = ("01-sepsis", "04-aki-nephrotoxics", "07-drowsy-opioids")
#: What is on these does.
_QUIET = ("02-usual-low-pressure", "08-well-going-home")


@pytest.mark.parametrize("name", NAMES)
def test_every_patient_prints_on_one_side_that_can_be_read(browser: Browser, name: str) -> None:
    """From a wide screen by night as from a phone; nothing is below 7 points, what is left out is named."""
    for where in browser.demo_at_each(name, {"wide": (1440, 900), "phone": (390, 844)}):
        browser.do("scheme", scheme="dark" if where == "wide" else "light")
        sides, seen = _printed(browser, f"print-{name}-{where}")
        assert sides == 1, where
        assert seen["dots"] >= _DOTS, f"{where}: dots an inch of what is drawn"
        assert seen["dates"] >= 1, f"{where}: the axis of the times says the day"
        # A crowded side gives way from the least urgent, which is counted on it (see below).
        assert "shed" not in seen["named"] or name in _CROWDED, where
        _names_what_is_left_out(seen)
        assert name not in _QUIET or (seen["without"], seen["findings"]) == ([], 0), f"{where}: all of it"
    browser.behaved()


def test_a_crowded_chart_gives_way_from_the_least_urgent(browser: Browser, tmp_path: Path) -> None:
    """Sixty lines on the drug chart: what leaves the side is counted on it, and is never the more urgent."""
    file = tmp_path / "crowded.json"
    file.write_text(json.dumps(crowded_chart(60)), "utf-8")
    browser.open_file(file)
    every = browser.do("count", at=".finding") + browser.do("count", at=".medicine:not(.silent)")
    sides, seen = _printed(browser, "print-crowded")
    assert sides == 1
    _names_what_is_left_out(seen)
    counted = re.search(r"Of the less urgent, (.*)\.", seen["leftOut"])
    assert counted, seen["leftOut"]
    gone = sum(int(number) for number in re.findall(r"\d+", counted[1]))
    assert gone + len(seen["levels"]) + seen["routine"] == every
    assert min(seen["levels"]) >= 1
    assert max(seen["levels"]) == 2, "the most urgent of this patient"


def test_a_head_longer_than_a_side_goes_over(browser: Browser, tmp_path: Path) -> None:
    """A name that fills the paper is nobody's, but it must not keep the review from being printed."""
    record = only_creatinine()
    patient = next(e["resource"] for e in record["entry"] if e["resource"]["resourceType"] == "Patient")
    patient["name"] = [{"text": "Tidewell " * 3000}]
    for name, entries in (("long", record["entry"]), ("nothing-else", [record["entry"][0]])):
        file = tmp_path / f"{name}.json"
        file.write_text(json.dumps({**record, "entry": entries}), "utf-8")
        browser.open_file(file)
        assert browser.paper(f"print-{name}") >= 1
        browser.behaved(but=("status of 422",))


@pytest.mark.parametrize("name", ["04-aki-nephrotoxics", "09-incomplete-after-operation"])
def test_the_whole_review_leaves_no_finding_out(browser: Browser, name: str) -> None:
    browser.demo(name)
    sides, seen = _printed(browser, f"print-whole-{name}", "whole")
    assert 1 < sides <= 6
    assert (seen["without"], seen["named"], seen["findings"]) == ([], [], 0)
    # A grid that is cut by the end of a page has printed one line over another.
    assert set(seen["blocks"]) == {"block"}
    assert seen["notUsed"] == seen["couldNotBeUsed"], "each input that was not used is named"
    assert seen["notUsed"] or name != "09-incomplete-after-operation"


def test_paper_leaves_no_trace_on_the_screen(browser: Browser) -> None:
    """After printing the page is what it was: nothing hidden, no size left behind."""
    browser.demo("04-aki-nephrotoxics")
    page = "document.querySelector('main').innerText"
    before = browser.do("run", code=page)
    _printed(browser, "print-trace")
    assert browser.do("run", code=page) == before
    left = "[style*='print-zoom'], [data-without], [data-shed], [data-away], [data-left]:not([hidden])"
    assert browser.do("count", at=left) == 0


def test_every_side_says_whose_it_is(browser: Browser, tmp_path: Path) -> None:
    """Sheets get loose; the name is text in the style sheet and nothing else, whatever is written in it."""
    record = demo("01-sepsis")
    patient = next(e["resource"] for e in record["entry"] if e["resource"]["resourceType"] == "Patient")
    patient["name"] = [
        {"family": "O'Zoë\"; } @import url(//elsewhere.example/x) \\", "given": ["Ng\u0169g\u0129"]}
    ]
    file = tmp_path / "named.json"
    file.write_text(json.dumps(record), "utf-8")
    browser.open_file(file)
    _, seen = _printed(browser, "print-foot")
    (foot,) = seen["feet"]
    assert "Ngũgĩ O'Zoë" in foot
    assert "born 14 June 1957" in foot
    assert "counter(page)" in foot
    rules = (
        "[...document.styleSheets[0].cssRules].filter((rule) => /@import|@bottom/.test(rule.cssText)).length"
    )
    assert browser.do("run", code=rules) == 0, "taken away again, and nothing else came in"
    browser.behaved()


#: The sheets at the moment of printing: nothing is cut off, and the letters can be read.
_WATCH_WARD = """addEventListener("beforeprint", () => {
  window.paper = {
    title: document.querySelector("[data-view] h1").innerText,
    every: document.querySelector(".ward-title").innerText,
    cut: [...document.querySelectorAll(".bed > *")]
      .filter((one) => one.getClientRects().length && one.scrollWidth > one.clientWidth + 1).length,
  };
})"""


def test_the_ward_list_says_everything_on_paper(browser: Browser, tmp_path: Path) -> None:
    """Nothing is cut, and a list that was filtered says so on every sheet."""
    file = tmp_path / "twenty.json"
    file.write_text(json.dumps(twenty_patients()), "utf-8")
    browser.open_file(file)
    browser.do("pick", at="[data-ward-choice]", label="Whinmoor Ward")
    browser.do("run", code=_WATCH_WARD)
    assert browser.paper("print-ward-list") == 1
    seen = browser.do("run", code="window.paper")
    assert (seen["title"], seen["cut"]) == ("7 of 20 patients, Whinmoor Ward, most urgent first", 0)
    assert "Shown: 7 of 20 patients, Whinmoor Ward" in seen["every"]


def test_a_ward_of_thirty_five_prints_on_two_sides(browser: Browser, tmp_path: Path) -> None:
    """Each sheet with the ward, the time, its number and how many there are."""
    file = tmp_path / "ward.json"
    file.write_text(json.dumps(several_patients(35, one_ward=True)), "utf-8")
    browser.open_file(file)
    assert browser.paper("print-ward-35") == 2
    rules = browser.do("run", code=_RULES)
    assert any("counter(page)" in one and "counter(pages)" in one for one in rules if "@page ward" in one)
    every = browser.do("run", code="document.querySelector('.ward-title').textContent.trim()")
    assert every == "Larkmoor Ward. As of the newest entry of each. 35 patients"


def test_a_side_of_the_ward_list_takes_twenty_five(browser: Browser, tmp_path: Path) -> None:
    """Half of the patients of this ward are emergencies, of two or three lines each."""
    file = tmp_path / "ward.json"
    file.write_text(json.dumps(several_patients(50, one_ward=True)), "utf-8")
    browser.open_file(file)
    assert browser.paper("print-ward-50") == 2


#: The rules of the list for paper, those inside its media rule too.
_RULES = """[...document.styleSheets].flatMap((sheet) => [...sheet.cssRules])
  .flatMap((rule) => rule.cssRules ? [...rule.cssRules] : [rule]).map((rule) => rule.cssText)"""


def test_the_list_of_a_batch_run_prints_alike(browser: Browser, tmp_path: Path) -> None:
    """The same lines under the heading, one sheet for the thirteen; the details begin on the next."""
    out = tmp_path / "out"
    command = [sys.executable, "-m", "weatherglass", "batch", str(WARD), str(out)]
    subprocess.run(command, check=True, capture_output=True)
    browser.do("open", width=1366, height=768)
    browser.do("go", address=(out / "ward-list.html").as_uri())
    assert browser.do("count", at=".ward-list .bed") == 13
    browser.picture("batch-ward-list", whole=True)
    assert browser.paper("print-batch-ward-list") <= 6
    # A list on sheets of another kind would leave the first one empty but for the heading.
    assert browser.do("run", code="getComputedStyle(document.querySelector('.ward')).page") == "auto"
    browser.behaved()


def test_a_saved_ward_prints_a_side_a_patient(browser: Browser, tmp_path: Path) -> None:
    """The stand-alone page of several patients: each on one side, with his own name at the foot."""
    some = ["01-sepsis", "04-aki-nephrotoxics", "08-well-going-home"]
    entries = [entry for name in some for entry in demo(name)["entry"]]
    ward = tmp_path / "ward.json"
    ward.write_text(json.dumps({"resourceType": "Bundle", "type": "collection", "entry": entries}), "utf-8")
    page = tmp_path / "ward.html"
    command = [sys.executable, "-m", "weatherglass", "review", str(ward), "--format", "html"]
    page.write_bytes(subprocess.run(command, check=True, capture_output=True).stdout)
    browser.do("open")
    browser.do("go", address=page.as_uri())
    sides, seen = _printed(browser, "print-ward")
    assert sides == len(some)
    assert len(seen["feet"]) == len(some)


def test_handover_prints_by_itself(browser: Browser) -> None:
    """The print view of the handover: who, the decisions, the text; nothing else; one side."""
    browser.demo("01-sepsis")
    sides, _ = _printed(browser, "print-handover", "handover")
    assert sides == 1
    browser.do("run", code="document.querySelector(\"button[data-print='handover']\").click()")
    assert browser.do("run", code="getComputedStyle(document.querySelector('.columns')).display") == "none"
    assert browser.do("run", code="getComputedStyle(document.querySelector('.chart')).display") == "none"
    assert browser.do("run", code="getComputedStyle(document.querySelector('.sbar')).display") == "grid"
    browser.picture("handover-print")
