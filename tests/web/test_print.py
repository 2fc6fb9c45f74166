"""A review on paper: one side where that can be read, or else as many as it takes with nothing left out."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser import Browser
from tests.web.records import demo

CASES = Path(__file__).parents[2] / "fixtures" / "cases"
NAMES = sorted(path.stem for path in CASES.glob("*.toml"))
_LEAST = 7.0

#: Looks at the page at the moment when it has been set for printing: `window.paper`.
_WATCH = """(() => {
  const root = document.documentElement;
  const fill = CanvasRenderingContext2D.prototype.fillText;
  const drawn = [];
  CanvasRenderingContext2D.prototype.fillText = function (words, ...rest) {
    if (String(words).trim()) drawn.push([this.canvas, parseFloat(this.font.match(/([\\d.]+)px/)[1]), words]);
    fill.call(this, words, ...rest);
  };
  const look = () => {
    const zoom = Number(root.style.getPropertyValue("--print-zoom"));
    const points = (pixels) => pixels * zoom * 0.75;
    let least = [Infinity, ""];
    const walker = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const place = walker.currentNode.parentElement;
      if (!walker.currentNode.textContent.trim() || place.closest(".unseen, script")) continue;
      const range = document.createRange();
      range.selectNodeContents(walker.currentNode);
      if (!range.getBoundingClientRect().width) continue;
      const size = points(parseFloat(getComputedStyle(place).fontSize));
      if (size < least[0]) least = [size, `${place.className}: ${walker.currentNode.textContent.trim()}`];
    }
    for (const [canvas, pixels, words] of drawn) {
      if (!canvas.isConnected) continue;
      const size = pixels * canvas.getBoundingClientRect().width / canvas.width * 0.75;
      if (size < least[0]) least = [size, `drawn: ${words}`];
    }
    const rules = [...document.styleSheets[0].cssRules].map((rule) => rule.cssText);
    window.paper = {
      least, brief: "printBrief" in root.dataset, sides: "printSides" in root.dataset,
      dots: Math.min(...drawn.map(([canvas]) => canvas).filter((canvas) => canvas.isConnected).map(
        (canvas) => canvas.width / (canvas.getBoundingClientRect().width / 96))),
      foot: rules.filter((rule) => rule.includes("@bottom-left")).join(),
      cut: [...document.querySelectorAll(".letter, .letter ul, .columns, .findings")].map((one) => {
        const style = getComputedStyle(one);
        return `${style.display} ${style.columnCount}`;
      }),
    };
  };
  addEventListener("beforeprint", look);
})()"""


def _printed(browser: Browser, name: str) -> tuple[int, dict[str, Any]]:
    browser.do("run", code=_WATCH)
    sides = browser.paper(name)
    seen: dict[str, Any] = browser.do("run", code="window.paper")
    return sides, seen


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("how", [{"scheme": "dark"}, {"width": 390, "height": 844}], ids=["night", "phone"])
def test_what_is_printed_can_be_read(browser: Browser, name: str, how: dict[str, Any]) -> None:
    """Nothing is smaller than 7 points, from a wide screen by night as from a phone."""
    browser.demo(name, **how)
    sides, seen = _printed(browser, f"print-{name}-{how.get('width', 'wide')}")
    assert seen["least"][0] >= _LEAST - 0.01, seen["least"]
    assert seen["dots"] >= 300, "dots an inch of what is drawn"
    assert 1 <= sides <= 4
    assert sides == 1 or seen["sides"]
    assert not (sides > 1 and seen["brief"]), "what goes over several sides leaves nothing out"
    if seen["sides"]:
        # A grid or columns that are cut by the end of a page have printed one line over another.
        assert set(seen["cut"]) == {"block auto"}


@pytest.mark.parametrize("name", ["02-usual-low-pressure", "03-copd-scale-2", "08-well-going-home"])
def test_a_quiet_patient_fits_one_side(browser: Browser, name: str) -> None:
    browser.demo(name)
    assert _printed(browser, f"print-quiet-{name}")[0] == 1


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
    sides, seen = _printed(browser, "print-foot")
    assert sides > 1
    assert "Ngũgĩ O'Zoë" in seen["foot"]
    assert "born 14 June 1957" in seen["foot"]
    assert "counter(page)" in seen["foot"]
    rules = (
        "[...document.styleSheets[0].cssRules].filter((rule) => /@import|@bottom/.test(rule.cssText)).length"
    )
    assert browser.do("run", code=rules) == 0, "taken away again, and nothing else came in"
    browser.behaved()


def test_handover_prints_by_itself(browser: Browser) -> None:
    """The print view of the handover: who, the decisions, the text; nothing else."""
    browser.demo("01-sepsis")
    browser.do(
        "run", code="window.print = () => {}; document.querySelector(\"[data-print='handover']\").click()"
    )
    assert browser.do("run", code="getComputedStyle(document.querySelector('.columns')).display") == "none"
    assert browser.do("run", code="getComputedStyle(document.querySelector('.sbar')).display") == "grid"
    browser.picture("handover-print")
