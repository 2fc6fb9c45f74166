"""Several patients in a browser, every way of opening a record, and records that mean harm."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser import Browser
from tests.web.records import demo, hostile, twenty_patients, ward_lines


def test_ward_is_ranked_with_one_scale_for_all_lines(browser: Browser) -> None:
    """Most urgent first; each patient with name, bed, score, line, and by when."""
    browser.demo("ward")
    levels = browser.do(
        "run",
        code="""[...document.querySelectorAll('.bed')]
          .map((one) => Number(one.className.replace('bed bed-', '')))""",
    )
    assert len(levels) == 13
    assert levels == sorted(levels, reverse=True)
    assert browser.texts(".bed-no")[:2] == ["bed 12", "bed 1"], "the earliest deadline first"
    assert browser.do("count", at=".small .run") >= 10
    assert (
        browser.do(
            "run",
            code="""new Set([...document.querySelectorAll('.small')]
              .map((one) => one.getAttribute('viewBox'))).size""",
        )
        == 1
    )
    browser.behaved()
    browser.picture("ward", whole=True)


def test_patient_of_the_ward_and_back(browser: Browser) -> None:
    """A name leads to the whole review, back leads to the ward; no name stands in an address."""
    browser.demo("ward")
    browser.do("click", at="text=Cordelia Saltmere")
    browser.shown_again(2)
    assert browser.text("h1") == "Cordelia Saltmere"
    assert "Saltmere" not in browser.do("run", code="location.href")
    assert not [url for url in browser.do("requests") if "Saltmere" in url]
    browser.do("run", code="history.back()")
    browser.shown_again(3)
    assert "13 patients" in browser.text("h1")
    browser.do("click", at="text=Winifred Gullhaven")
    browser.shown_again(4)
    browser.do("click", at="[data-back]")
    browser.shown_again(5)
    assert "13 patients" in browser.text("h1")


def test_twenty_patients_by_ward(browser: Browser, tmp_path: Path) -> None:
    """Twenty patients on two wards; choosing a ward leaves its own."""
    file = tmp_path / "twenty.json"
    file.write_text(json.dumps(twenty_patients()), "utf-8")
    browser.open_file(file)
    assert "20 patients" in browser.text("h1")
    browser.do("pick", at="[data-ward-choice]", label="Whinmoor Ward")
    assert browser.text("[data-ward-shown]") == "7 of 20 shown"
    shown = browser.do(
        "run",
        code="""[...document.querySelectorAll('.bed')]
          .filter((one) => !one.hidden).map((one) => one.dataset.wardName)""",
    )
    assert shown == ["Whinmoor Ward"] * 7
    browser.picture("twenty-one-ward")
    browser.do("pick", at="[data-ward-choice]", label="All wards")
    assert browser.text("[data-ward-shown]") == "20 shown"
    browser.behaved()


def _names(browser: Browser) -> list[str]:
    return [
        name
        for name, hidden in browser.do(
            "run",
            code="[...document.querySelectorAll('.bed')].map((o) => [o.dataset.name, o.hidden])",
        )
        if not hidden
    ]


def test_order_and_search(browser: Browser) -> None:
    """By deadline, by bed as people count, by name; and some words find a patient by name, bed or number."""
    browser.demo("ward", width=1366, height=768)
    first = _names(browser)
    browser.do("pick", at="[data-ward-order]", label="Bed")
    beds = [int(bed.split()[1]) for bed in browser.texts(".bed-no")]
    assert beds == sorted(beds)
    browser.do("pick", at="[data-ward-order]", label="Name")
    assert _names(browser) == sorted(first)
    browser.do("pick", at="[data-ward-order]", label="Deadline")
    due = browser.do("run", code="[...document.querySelectorAll('.bed')].map((o) => o.dataset.due)")
    called = [one for one in due if one]
    assert called == sorted(called)
    assert due == called + [""] * (len(due) - len(called))
    browser.do("pick", at="[data-ward-order]", label="Urgency")
    assert _names(browser) == first
    browser.do("fill", at="[data-ward-search]", text="saltm")
    assert _names(browser) == ["Cordelia Saltmere"]
    assert browser.text("h1") == "1 of 13 patients, most urgent first"
    browser.do("fill", at="[data-ward-search]", text="lm-1010")
    assert len(_names(browser)) == 1
    browser.behaved()


def test_next_and_previous_patient(browser: Browser) -> None:
    """In the order that the list had; at its ends there is no further one."""
    browser.demo("ward", width=1366, height=768)
    browser.do("pick", at="[data-ward-order]", label="Name")
    names = _names(browser)
    browser.do("click", at=f"text={names[0]}")
    browser.shown_again(2)
    assert browser.do("run", code="document.querySelector('[data-neighbour=\"-1\"]').hidden")
    browser.do("click", at="[data-neighbour='1']")
    browser.shown_again(3)
    assert browser.text("h1") == names[1]
    browser.do("click", at="[data-neighbour='-1']")
    browser.shown_again(4)
    assert browser.text("h1") == names[0]
    browser.do("click", at="[data-back]")
    browser.shown_again(5)
    assert _names(browser) == names
    browser.behaved()


def test_a_laptop_shows_six_of_the_sickest(browser: Browser) -> None:
    """Bed first, one to three lines each."""
    browser.demo("ward", width=1366, height=768)
    bottoms = browser.do(
        "run", code="[...document.querySelectorAll('.bed')].map((o) => o.getBoundingClientRect().bottom)"
    )
    assert sum(bottom <= 768 for bottom in bottoms) >= 6
    assert browser.do("run", code="document.querySelector('.bed').firstElementChild.className") == "bed-no"
    browser.picture("ward-laptop")


def test_ward_on_a_phone(browser: Browser) -> None:
    """The same list on 390 pixels."""
    browser.demo("ward", width=390, height=844, scale=2)
    assert browser.do("run", code="document.documentElement.scrollWidth") <= 390
    browser.picture("ward-phone")


class TestEveryWayIn:
    def test_ndjson_file(self, browser: Browser, tmp_path: Path) -> None:
        """A resource a line."""
        file = tmp_path / "ward.ndjson"
        file.write_bytes(ward_lines())
        browser.open_file(file)
        assert "13 patients" in browser.text("h1")
        browser.do("click", at="[data-fhir-show]")
        browser.do("until", code="!document.querySelector('[data-fhir-text]').hidden")
        assert "Status 200" in browser.text("[data-fhir-note]")

    def test_pasted_text(self, browser: Browser) -> None:
        """Text as it stands in another window."""
        browser.visit()
        browser.do("fill", at="#pasted", text=json.dumps(demo("08-well-going-home")))
        browser.do("click", at="[data-paste-form] button")
        browser.shown_again(1)
        assert browser.text("h1") == "Philippa Oxbow-Dunn"

    def test_dropped_file(self, browser: Browser) -> None:
        """A file let fall anywhere on the page."""
        text = json.dumps(json.dumps(demo("05-bleeding-anticoagulant")))
        browser.visit()
        browser.do(
            "run",
            code=f"""(() => {{
              const carried = new DataTransfer();
              carried.items.add(new File([{text}], 'one.json'));
              dispatchEvent(new DragEvent('drop', {{ dataTransfer: carried, cancelable: true }}));
            }})()""",
        )
        browser.shown_again(1)
        assert browser.text("h1") == "Thaddeus Wrenfield"


#: What a record could say to a careless page. Each would show itself: a dialog, a request, a changed page.
ATTACKS = [
    pytest.param('<img src=x onerror="alert(1)"><script>alert(2)</script>', id="tags"),
    pytest.param("</script><script>alert(3)</script>", id="out-of-the-data"),
    pytest.param("\"' onmouseover='alert(4)' style='position:fixed;inset:0' x=\"", id="attributes"),
    pytest.param(
        "<svg/onload=alert(5)><style>*{display:none}</style><base href='http://192.0.2.1/'>",
        id="svg-and-style",
    ),
    pytest.param(
        "<iframe srcdoc='<script>parent.alert(6)</script>'></iframe><form action='http://192.0.2.1/'>",
        id="frames",
    ),
    pytest.param("javascript:alert(7)", id="address"),
    pytest.param("{{ 7*7 }}{% include '/etc/passwd' %}${alert(8)}", id="template"),
    pytest.param("\u202eevil\u0000\u2028\uffff]]>--><!--", id="odd-signs"),
]


@pytest.mark.parametrize("words", ATTACKS)
@pytest.mark.parametrize("name", ["01-sepsis", "10-ceiling-of-treatment", "13-recovering-aki"])
def test_hostile_record_is_inert(browser: Browser, name: str, words: str, tmp_path: Path) -> None:
    """Markup in every string: no dialog, no request, no element of it, no break of the page's own policy."""
    file = tmp_path / "hostile.json"
    file.write_bytes(json.dumps(hostile(demo(name), words)).encode())
    browser.open_file(file)
    assert browser.do("count", at="article") == 1
    made: dict[str, Any] = browser.do(
        "run",
        code="""({
          forbidden: document.querySelectorAll('img, iframe, object, embed, style, base, form[action]').length
            + document.querySelectorAll('[onerror], [onload], [onmouseover], [style*=fixed]').length,
          scripts: [...document.querySelectorAll('script:not([src])')].map((one) => one.type),
          links: [...document.querySelectorAll('a[href]')].map((one) => one.protocol)
            .filter((one) => !['http:', 'https:', 'blob:'].includes(one)),
        })""",
    )
    assert made == {"forbidden": 0, "scripts": ["application/json", "application/json"], "links": []}
    browser.do("click", at="[data-fhir-show]")
    browser.do("until", code="!document.querySelector('[data-fhir-text]').hidden")
    browser.do("click", at="[data-copy]")
    browser.behaved()


def test_hostile_ward_is_inert(browser: Browser, tmp_path: Path) -> None:
    """The same for several patients and the filter's choices."""
    words = "<option selected><img src=x onerror=alert(1)>"
    file = tmp_path / "hostile.json"
    file.write_bytes(json.dumps(hostile(twenty_patients(), words)).encode())
    browser.open_file(file)
    assert browser.do("count", at=".bed") == 20
    assert browser.do("count", at="img") == 0
    browser.behaved()


def test_saved_review_stands_alone(browser: Browser, tmp_path: Path) -> None:
    """`--format html` gives one file that needs no server, draws its log and lets nothing else run."""
    record = tmp_path / "record.json"
    record.write_text(json.dumps(hostile(demo("01-sepsis"), "<img src=x onerror=alert(1)>")), "utf-8")
    for source, name in ((record, "<img"), (Path("fixtures/bundles/01-sepsis.json"), "Ambrose Tidewell")):
        made = subprocess.run(
            [sys.executable, "-m", "weatherglass", "review", str(source), "--format", "html"],
            capture_output=True,
            check=True,
        )
        file = tmp_path / "review.html"
        file.write_bytes(made.stdout)
        browser.do("open")
        browser.do("go", address=file.as_uri())
        assert browser.text("h1").startswith(name)
        assert browser.do("count", at="[data-draw] canvas") > 5
        assert browser.do("count", at="img") == 0
        browser.behaved()
    browser.picture("saved-review")
