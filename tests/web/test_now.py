"""The moment of the page: now or the newest entry, and what grows old while it lies open.

The default is our choice: a file whose newest entry is younger than a day is reviewed at now.
"""

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.web.browser import Browser
from tests.web.records import demo, moved
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings

NEWEST = datetime(2026, 3, 12, 7, 10, tzinfo=UTC)
SEPSIS = json.dumps(demo("01-sepsis")).encode()


def _view(now: datetime, query: str = "", body: bytes = SEPSIS) -> str:
    app = create_app(Settings())
    with TestClient(app) as client:
        app.state.clock = lambda: now
        text: str = client.post(f"/view{query}", content=body).text
    return text


def _as_of(text: str) -> str:
    found = re.search(r'data-moment="([^"]+)"', text)
    assert found is not None, text
    return found[1]


@pytest.mark.parametrize(
    ("age", "query", "is_now"),
    [
        pytest.param(timedelta(hours=23, minutes=59), "", True, id="of-today"),
        pytest.param(timedelta(hours=24), "", False, id="a-day-old"),
        pytest.param(timedelta(hours=24), "?asOf=now", True, id="old-but-asked-for"),
        pytest.param(timedelta(hours=1), "?asOf=newest", False, id="young-but-the-newest-asked-for"),
        pytest.param(timedelta(minutes=-5), "?asOf=now", False, id="ahead-of-the-clock"),
    ],
)
def test_which_moment(age: timedelta, query: str, is_now: bool) -> None:
    """Now for a record of today, else its newest entry; a press on the switch comes first."""
    text = _view(NEWEST + age, query)
    at = datetime.fromisoformat(_as_of(text))
    assert (at == NEWEST + age) is is_now
    pressed = re.findall(r'data-moment-choice="(\w+)" aria-pressed="true"', text)
    assert pressed == ["now" if is_now else "newest"]


def test_a_moment_in_the_address_is_the_moment() -> None:
    """`asOf` is heeded, and a wrong one is refused, never passed over."""
    text = _view(NEWEST, "?asOf=2026-03-11T21:00:00Z")
    assert datetime.fromisoformat(_as_of(text)) == datetime(2026, 3, 11, 21, tzinfo=UTC)
    assert "could not be reviewed" in _view(NEWEST, "?asOf=yesterday")


@pytest.mark.parametrize(
    ("query", "said"),
    [
        pytest.param("?as-of=2026-03-11T07:30:00Z", "did you mean asOf?", id="another-spelling"),
        pytest.param("?when=now", "Not an option of a view", id="unknown"),
        pytest.param("?asOf=now&asOf=newest", "Stands twice", id="twice"),
    ],
)
def test_a_name_that_nobody_knows_is_refused(query: str, said: str) -> None:
    """Our choice: a slip in the name of the moment would give the answer of another one."""
    text = _view(NEWEST, query)
    assert "could not be reviewed" in text
    assert said in text


def test_a_file_that_names_its_moment(browser: Browser, tmp_path: Path) -> None:
    """The switch moves the page; the answer as FHIR keeps to the file, and that is said."""
    parameters = [
        {"name": "record", "resource": demo("06-hypoglycaemia")},
        {"name": "asOf", "valueDateTime": "2026-03-12T06:40:00Z"},
    ]
    file = tmp_path / "parameters.json"
    file.write_text(json.dumps({"resourceType": "Parameters", "parameter": parameters}), "utf-8")
    browser.open_file(file)
    assert "06:40" in browser.text(".as-of")
    browser.do("click", at="[data-moment-choice='now']")
    browser.shown_again(2)
    assert "2026-03-12T06:40" not in browser.do(
        "run", code="document.querySelector('[data-article]').dataset.moment"
    )
    browser.do("click", at="[data-fhir-show]")
    browser.do("until", code="!document.querySelector('[data-fhir-text]').hidden")
    note = browser.text("[data-fhir-note]")
    assert note.startswith("Status 200")
    assert "the file itself names" in note
    browser.behaved()


def test_at_now_what_is_overdue_is_said() -> None:
    """Six hours after the last round the page says both: the call was due, and so are the observations."""
    text = _view(NEWEST + timedelta(hours=6))
    assert '<em class="late">overdue</em>' in text
    assert "Observations are overdue" in text


def _of_today(file: Path, minutes_ago: int) -> dict[str, Any]:
    """06-hypoglycaemia with its newest entry so many minutes before a file was written."""
    now = datetime.fromtimestamp(file.stat().st_mtime, UTC)
    return moved(demo("06-hypoglycaemia"), now - timedelta(minutes=minutes_ago))


def test_the_switch_moves_the_review(browser: Browser, tmp_path: Path) -> None:
    """A record of today opens at now; the newest entry is one press away, and so is the way back."""
    file = tmp_path / "today.json"
    file.touch()
    file.write_text(json.dumps(_of_today(file, 90)), "utf-8")
    browser.open_file(file)
    pressed = (
        "[...document.querySelectorAll('[data-moment-choice][aria-pressed=true]')].map((o) => o.innerText)"
    )
    assert browser.do("run", code=pressed) == ["Now"]
    assert browser.text(".sign-total .sign-was").count("1 h 3") == 1
    browser.do("click", at="[data-moment-choice='newest']")
    browser.shown_again(2)
    assert browser.do("run", code=pressed) == ["Newest entry"]
    assert browser.text("[data-by-clock]") == "2 hours ago"
    browser.do("click", at="[data-moment-choice='now']")
    browser.shown_again(3)
    assert browser.do("run", code="document.querySelector('[data-by-clock]').hidden")
    browser.behaved()


def test_a_ward_that_lies_open_turns_overdue(browser: Browser) -> None:
    """A deadline that passes is said in its row at the next minute, in words."""
    browser.demo("ward")
    code = """(() => {
      const row = document.querySelector('[data-row]');
      row.dataset.moment = new Date(Date.now() - 40 * 60000).toISOString();
      row.dataset.due = new Date(Date.now() - 12.5 * 60000).toISOString();
      Weatherglass.article.tick();
      return row.querySelector('[data-late]').innerText;
    })()"""
    assert browser.do("run", code=code) == "Overdue 12 min"


def test_the_ward_is_of_one_moment(browser: Browser) -> None:
    """Back from a patient who was reviewed at now stands a ward that is of now, too."""
    browser.demo("ward")
    browser.do("click", at="text=Cordelia Saltmere")
    browser.shown_again(2)
    browser.do("click", at="[data-moment-choice='now']")
    browser.shown_again(3)
    browser.do("click", at="[data-back]")
    browser.shown_again(4)
    assert browser.do("count", at="[data-ward] [data-moment-choice='now'][aria-pressed=true]") == 1
    browser.behaved()
