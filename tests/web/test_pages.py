"""What the server sends for the page, before any browser draws it."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.records import bundle, measured, patient, text
from weatherglass.api.routes.web import PAGE_POLICY
from weatherglass.web.assets import DRAWING_SCRIPTS, PAGE_SCRIPTS, STYLES, assets
from weatherglass.web.demo_ward import demo_patients

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"


class TestEveryAnswerOfThePage:
    @pytest.mark.parametrize(
        "address", ["/", "/static/page.js", "/static/nothing.js", "/demo/01-sepsis.json"]
    )
    def test_lets_nothing_in_from_elsewhere(self, client: TestClient, address: str) -> None:
        """The policy names this address only, and no inline script or style."""
        policy = client.get(address).headers["content-security-policy"]
        assert policy == PAGE_POLICY
        assert policy.startswith("default-src 'none'")
        assert "unsafe" not in policy
        assert "http" not in policy

    def test_holds_no_inline_script_or_style(self, client: TestClient) -> None:
        """What the policy forbids is not there either: scripts by address, data only as data."""
        view = client.post("/view", content=(WARD / "01-sepsis.json").read_bytes()).text
        page = client.get("/").text
        for html in (view, page):
            assert "<style" not in html
            assert " style=" not in html
            assert " onclick" not in html
            assert html.count("<script") == html.count("<script src=") + html.count(
                '<script type="application/json"'
            )

    def test_is_not_kept_when_it_shows_a_record(self, client: TestClient) -> None:
        """No cache may hold what is known about a patient."""
        answer = client.post("/view", content=(WARD / "01-sepsis.json").read_bytes())
        assert answer.headers["cache-control"] == "no-store"


def test_every_named_file_of_the_page_is_there(client: TestClient) -> None:
    """What the page asks for exists, and vendored files come with their licences."""
    for name in (*STYLES, *DRAWING_SCRIPTS, *PAGE_SCRIPTS):
        assert client.get(f"/static/{name}").status_code == 200
    vendored = {name for name in assets() if name.startswith("vendor/") and not name.endswith(".txt")}
    licences = {name for name in assets() if name.endswith(".LICENSE.txt")}
    assert {name.split(".")[0] for name in vendored} == {name.split(".")[0] for name in licences}


def test_a_file_is_sent_once(client: TestClient) -> None:
    """A browser that has a file is told so instead of sent it again."""
    first = client.get("/static/page.js")
    again = client.get("/static/page.js", headers={"if-none-match": first.headers["etag"]})
    assert (first.status_code, again.status_code, again.content) == (200, 304, b"")


@pytest.mark.parametrize("name", [patient.name for patient in demo_patients()])
def test_every_demo_patient_can_be_fetched_and_viewed(client: TestClient, name: str) -> None:
    """Each invented patient goes through the same door as any file and shows a name and an urgency."""
    body = client.get(f"/demo/{name}.json").content
    said = next(
        e["resource"]["name"][0]
        for e in json.loads(body)["entry"]
        if e["resource"]["resourceType"] == "Patient"
    )
    view = client.post("/view", content=body)
    assert view.status_code == 200
    assert said["family"] in view.text


def test_whole_ward_is_ranked(client: TestClient) -> None:
    """Emergencies stand before routine, and every patient is on the page once."""
    view = client.post("/view", content=client.get("/demo/ward.json").content).text
    words = [part.split(">")[-2].split("<")[0] for part in view.split('class="bed bed-')[1:] if part]
    levels = [int(part[0]) for part in view.split('class="bed bed-')[1:]]
    assert len(words) == 13
    assert levels == sorted(levels, reverse=True)


def test_one_patient_of_a_ward_can_be_asked_for(client: TestClient) -> None:
    """The place in the file, not a name, says who is meant: no identity stands in an address."""
    ward = client.get("/demo/ward.json").content
    names = {
        client.post(f"/view?patient={index}", content=ward).text.split("data-title>")[1].split("<")[0]
        for index in range(13)
    }
    assert len(names) == 13


class TestUselessFiles:
    @pytest.mark.parametrize(
        ("body", "said"),
        [
            pytest.param(b"", "empty", id="empty"),
            pytest.param(b"name,pulse\nA,80\n", "not", id="csv"),
            pytest.param(b'{"resourceType":"Bundle","type":"collection","entry":[', "JSON", id="cut-off"),
            pytest.param(b"\x89PNG\r\n\x1a\n\x00\x00", "JSON", id="picture"),
            pytest.param(b'{"hello": "world"}', "resourceType", id="json-but-not-fhir"),
        ],
    )
    def test_are_refused_with_a_reason(self, client: TestClient, body: bytes, said: str) -> None:
        """A file that is no record is refused in words, with what can be opened instead."""
        view = client.post("/view", content=body)
        assert view.status_code == 422
        assert "This could not be reviewed" in view.text
        assert said in view.text
        assert "What can be opened" in view.text

    def test_there_is_no_such_patient(self, client: TestClient) -> None:
        """A place that the file does not have shows nothing of anybody else."""
        view = client.post("/view?patient=99", content=(WARD / "01-sepsis.json").read_bytes())
        assert view.status_code == 422
        assert "Tidewell" not in view.text


def hostile(node: Any, words: str) -> Any:
    """Put markup into every free text of a record."""
    keys = {"text", "display", "family", "name", "valueString", "description", "title", "div", "reason"}
    if isinstance(node, dict):
        return {
            key: words if key in keys and isinstance(value, str) else hostile(value, words)
            for key, value in node.items()
        }
    return [hostile(one, words) for one in node] if isinstance(node, list) else node


@pytest.mark.parametrize("name", ["01-sepsis", "10-ceiling-of-treatment", "04-aki-nephrotoxics"])
def test_markup_in_a_record_stays_text(client: TestClient, name: str) -> None:
    """Whatever a record says, no tag of it reaches the page."""
    words = "</script><img src=x onerror=alert(1)><svg/onload=alert(2)>'\"&{{7*7}}"
    body = json.dumps(hostile(json.loads((WARD / f"{name}.json").read_bytes()), words)).encode()
    view = client.post("/view", content=body)
    assert view.status_code == 200
    assert "<img" not in view.text
    assert "<svg/onload" not in view.text
    assert "&lt;img src=x onerror=alert(1)&gt;" in view.text
    assert "{{7*7}}" in view.text  # Not evaluated: 49 would stand here.
    assert view.text.count("</script>") == view.text.count("<script")


def test_the_drug_chart_says_each_thing_once(client: TestClient) -> None:
    """What holds for every hold stands at the head; sentences end in one full stop."""
    body = (WARD / "04-aki-nephrotoxics.json").read_bytes()
    view = client.post("/view", content=body).text
    chart = view.partition("Drug chart</h2>")[2].partition("</section>")[0]
    assert chart.count("Consider holding") >= 4
    assert chart.count("Evidence grade: limited") == 1
    assert ".." not in chart


def _words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def test_almost_nothing_is_shown_as_that(client: TestClient) -> None:
    """A name and a pulse: what is not recorded has no unit, and the set is asked for. Our choice of words."""
    body = bundle(patient(), measured("hr", "pulse", "88", "/min"))
    said = _words(client.post("/view", content=text(body)).text)
    assert "Take a full set of observations now." in said
    assert "88 /min" in said
    assert not re.search(r"not recorded (?:/min|%|mmHg|°C)", said)
    assert "Not assessed" in said
    assert "Nothing urgent" not in said


def test_every_line_of_the_chart_is_told_with_the_others_in_mind(client: TestClient) -> None:
    """07: morphine taken at home, beside the same morphine ordered, is not unknown to the rules."""
    said = _words(client.post("/view", content=(WARD / "07-drowsy-opioids.json").read_bytes()).text)
    silent = re.search(r"No rule in use speaks about ([^.]*)\.", said)
    assert silent is not None
    assert "Morphine" not in silent[1]
    assert "the order above is what was looked at: Morphine sulfate, 30 mg by mouth twice a day" in said


def test_an_open_total_is_not_called_routine(client: TestClient) -> None:
    """Beside an emergency the total of a round that could reach one was marked "routine"."""
    sent = bundle(
        patient(), measured("k", "potassium", "7.1", "mmol/L"), measured("p", "pulse", "80", "/min")
    )
    shown = client.post("/view", content=text(sent)).text.partition('class="lead"')[2].partition("</div>")
    lead = _words(shown[0] + shown[2].partition("</div>")[0])
    assert "not complete" in lead
    assert "routine" not in lead
