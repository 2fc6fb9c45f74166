"""One patient in a browser: what a clinician sees, and that it agrees with the FHIR answer."""

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser import Browser
from tests.web.records import demo, large_record, no_vital_signs, only_creatinine
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

CASES = Path(__file__).parents[2] / "fixtures" / "cases"
NAMES = sorted(path.stem for path in CASES.glob("*.toml"))

#: Whether a canvas holds anything at all.
DRAWN = """[...document.querySelectorAll('[data-draw] canvas')].map((canvas) => {
  const pixels = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
  for (let i = 3; i < pixels.length; i += 4) if (pixels[i]) return true;
  return false;
})"""


def answered(name: str) -> list[dict[str, Any]]:
    """Return the resources of the FHIR answer about a demo patient."""
    body = review(json.dumps(demo(name)).encode()).collection(stamp())
    return [entry["resource"] for entry in json.loads(body)["entry"]]


def test_first_on_the_page(browser: Browser) -> None:
    """Who this is, how recent the data are, what to do first and by when; figures from the case file."""
    browser.demo("01-sepsis")
    assert browser.text("h1") == "Ambrose Tidewell"
    head = browser.text(".who")
    for words in ("68 years", "male", "born 14 June 1957", "Larkmoor Ward, bed 1", "07:10 on 12 March"):
        assert words in head
    first = browser.text(".first")
    assert "emergency" in first.lower()
    assert re.search(r"within \d+ (minutes|hour)", first)
    assert re.search(r"by \d\d:\d\d on 12 March", first)
    order = browser.do(
        "run", code="[...document.querySelectorAll('article > *')].map((one) => one.className.split(' ')[0])"
    )
    assert order[:4] == ["who", "running", "decisions", "first"]
    browser.behaved()
    browser.picture("patient")
    browser.picture("patient-whole", whole=True)


@pytest.mark.parametrize("name", NAMES)
def test_score_on_the_page_is_the_one_of_the_case(browser: Browser, name: str) -> None:
    """The total and its points stand on the page as they were worked out by hand in the case file."""
    expected = tomllib.loads((CASES / f"{name}.toml").read_text("utf-8")).get("expected", {}).get("news2", [])
    browser.demo(name)
    drawn = browser.do("run", code=DRAWN)
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


@pytest.mark.parametrize("name", NAMES)
def test_page_says_what_the_operation_says(browser: Browser, name: str) -> None:
    """Every finding and suggestion of the FHIR answer stands on the page in the same words, and no other."""
    resources = answered(name)
    browser.demo(name)
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
    assert summary["valueCodeableConcept"]["coding"][0]["code"] == browser.text(".first h2").strip().lower()
    spoken.append(summary["valueCodeableConcept"]["text"])
    for words in spoken:
        for sentence in re.split(r"(?<=\.) ", " ".join(words.split())):
            assert sentence in page
    tasks = [r for r in resources if r["resourceType"] == "Task"]
    asking = browser.do("count", at=".medicine .action")
    assert asking >= len(tasks)


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
    assert "new since 20:00 on 11 March" in browser.text(".lead")


def test_letters_stand_in_order(browser: Browser) -> None:
    """The whole patient, then A to E as far as there are findings."""
    browser.demo("04-aki-nephrotoxics")
    letters = [one for one in browser.texts(".letter-sign") if one in "ABCDE"]
    assert letters == sorted(letters)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        pytest.param("03-copd-scale-2", "not for attempted resuscitation", id="not-for-resuscitation"),
        pytest.param("10-ceiling-of-treatment", "Conflicting resuscitation records", id="conflicting"),
        pytest.param("09-incomplete-after-operation", "Not recorded, so not known", id="not-recorded"),
    ],
)
def test_decisions_cannot_be_missed(browser: Browser, name: str, said: str) -> None:
    """Resuscitation status and ceiling stand above what to do, inside the first screen, also on a phone."""
    for size in ({"width": 1440, "height": 900}, {"width": 390, "height": 844}):
        browser.demo(name, **size)
        assert said in browser.text(".decisions")
        bottom = browser.do(
            "run", code="document.querySelector('.decisions p').getBoundingClientRect().bottom"
        )
        assert bottom < size["height"]
    browser.picture(f"decisions-{name}")


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
    for words in ("KDIGO", "Warning algorithm", "stage 1", "82", "80", "1.43", "1.47"):
        assert words in kidneys
    assert browser.do("count", at=".kidneys tbody tr") == 5


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


@pytest.mark.parametrize("name", NAMES)
def test_prints_on_one_page(browser: Browser, name: str) -> None:
    """Any demo patient fits one sheet of A4, from a wide screen by night as from a phone."""
    browser.demo(name, scheme="dark")
    assert browser.paper(f"print-{name}") == 1
    browser.demo(name, width=390, height=844)
    assert browser.paper(f"print-phone-{name}") == 1


def test_handover_prints_by_itself(browser: Browser) -> None:
    """The print view of the handover: who, the decisions, the text; nothing else."""
    browser.demo("01-sepsis")
    browser.do(
        "run", code="window.print = () => {}; document.querySelector(\"[data-print='handover']\").click()"
    )
    assert browser.do("run", code="getComputedStyle(document.querySelector('.columns')).display") == "none"
    assert browser.do("run", code="getComputedStyle(document.querySelector('.sbar')).display") == "grid"
    browser.picture("handover-print")


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


class TestUsefulFailures:
    def test_no_vital_signs(self, browser: Browser, tmp_path: Path) -> None:
        """What can be reviewed is; the strips say that nothing was recorded."""
        file = tmp_path / "no-vitals.json"
        file.write_text(json.dumps(no_vital_signs()), "utf-8")
        browser.open_file(file)
        assert "No vital signs are recorded" in browser.text(".who")
        assert browser.text("[data-strip='respiration-rate'] [data-now]") == "not recorded"
        assert "stage" in browser.text(".kidneys")
        browser.behaved()
        browser.picture("no-vital-signs", whole=True)

    def test_single_creatinine(self, browser: Browser, tmp_path: Path) -> None:
        """One result cannot be staged, and the page says so instead of showing a zero."""
        file = tmp_path / "one.json"
        file.write_text(json.dumps(only_creatinine()), "utf-8")
        browser.open_file(file)
        kidneys = browser.text(".kidneys")
        assert "not staged" in kidneys
        assert "stage 0" not in kidneys
        browser.behaved()
        browser.picture("single-creatinine", whole=True)

    def test_not_fhir(self, browser: Browser, tmp_path: Path) -> None:
        """A spreadsheet is refused in words, and another file can be opened at once."""
        file = tmp_path / "ward.csv"
        file.write_text("name,pulse\nsomebody,80\n", "utf-8")
        browser.open_file(file)
        assert "This could not be reviewed" in browser.text("h1")
        assert browser.do("run", code="document.activeElement.tagName") == "H1"
        browser.picture("not-fhir")
        browser.do("click", at=".failure [data-open-again]")
        assert browser.text("[data-opening] h1") == "Open a record"
        # The browser itself logs that the answer was a refusal.
        browser.behaved(but=("status of 422",))

    def test_twenty_megabytes(self, browser: Browser, tmp_path: Path) -> None:
        """Progress is told, the tab stays alive all the while, and the view stands in the end."""
        file = tmp_path / "large.json"
        file.write_bytes(large_record())
        browser.visit()
        browser.do(
            "run",
            code="""(() => { window.longest = 0; window.told = new Set(); let last = performance.now();
              setInterval(() => {
                const now = performance.now();
                window.longest = Math.max(window.longest, now - last);
                last = now;
                const bar = document.querySelector('[data-progress]');
                const words = document.querySelector('[data-progress-words]').textContent;
                if (!bar.hidden) window.told.add(words);
              }, 20); })()""",
        )
        browser.do("choose", at="[data-file]", file=str(file))
        browser.do("until", code="document.documentElement.dataset.shown", within=120_000)
        longest = browser.do("run", code="window.longest")
        told = browser.do("run", code="[...window.told]")
        assert longest < 2_000
        assert any("20.2 MB" in words for words in told)
        assert browser.text("h1") == "Ambrose Tidewell"
        browser.behaved()
        browser.picture("twenty-megabytes")

    def test_can_be_cancelled(self, browser: Browser, tmp_path: Path) -> None:
        """A large file on its way can be called back; the opening page stays."""
        file = tmp_path / "large.json"
        file.write_bytes(large_record())
        browser.visit()
        browser.do("choose", at="[data-file]", file=str(file))
        browser.do("until", code="!document.querySelector('[data-progress]').hidden")
        browser.do("click", at="[data-cancel]")
        browser.do("until", code="document.querySelector('[data-progress]').hidden")
        assert browser.text("[data-opening] h1") == "Open a record"
