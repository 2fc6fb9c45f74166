"""The published tables in a browser: by publication, by mark, by kind; from a finding to its row."""

import html
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from tests.web.browser import Browser
from weatherglass.knowledge.data_files import publications
from weatherglass.model.sources import Mark, Source
from weatherglass.web.criteria_page import Choice, address_of, by_publication, selected

_BROWSER = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
_WARD = Path(__file__).parents[2] / "fixtures" / "bundles"


def test_a_browser_gets_a_page_and_everybody_else_json(client: TestClient) -> None:
    page = client.get("/criteria", headers=_BROWSER)
    assert page.headers["content-type"].startswith("text/html")
    assert page.headers["vary"] == "Accept"
    assert "<script" not in page.text
    assert client.get("/criteria").headers["content-type"] == "application/json"
    assert client.get("/criteria/news2-2017").json()["name"] == "news2-2017"
    assert "Chart 1" in client.get("/criteria/news2-2017", headers=_BROWSER).text
    assert client.get("/criteria/none", headers=_BROWSER).status_code == 404


@pytest.mark.parametrize("mark", [mark for mark in Mark if mark is not Mark.LOCAL_POLICY])
def test_a_mark_shows_its_rows_and_no_others(client: TestClient, mark: Mark) -> None:
    text = client.get("/criteria", params={"mark": mark.value}, headers=_BROWSER).text
    shown = re.findall(r"<td>([^<]*)</td></tr>", text)
    assert shown
    assert [cell for cell in shown if mark.value not in cell.split("; ")] == []
    assert f"{len(shown)} row" in text


def test_a_kind_and_a_mark_together_narrow() -> None:
    both = selected(Choice(kind="news2-2017", mark="confirmed"))
    assert both
    assert {entry.edition for publication in both for entry in publication.entries} == {"news2-2017"}
    assert sum(len(s.entries) for s in both) < sum(len(s.entries) for s in by_publication())


def test_words_of_an_address_are_only_words(client: TestClient) -> None:
    answer = client.get("/criteria", params={"mark": "<b>x</b>"}, headers=_BROWSER)
    assert answer.status_code == 200
    assert "<b>x" not in answer.text
    assert "0 rows" in answer.text
    assert not Choice(mark="<b>x</b>").is_known
    assert Choice(mark="confirmed", kind="news2-2017").is_known


@pytest.fixture(scope="module")
def rows_of(client: TestClient) -> Callable[[str], frozenset[str]]:
    """What a page of the tables can be opened at, by its address: asked for once."""

    @cache
    def asked(address: str) -> frozenset[str]:
        return frozenset(re.findall(r'id="([^"]+)"', client.get(address, headers=_BROWSER).text))

    return asked


@pytest.mark.parametrize("name", sorted(path.stem for path in _WARD.glob("*.json")))
def test_every_link_to_a_row_leads_to_one(
    client: TestClient, rows_of: Callable[[str], frozenset[str]], name: str
) -> None:
    """For every invented patient: the page that is linked holds the row, or its publication."""
    view = client.post("/view", content=(_WARD / f"{name}.json").read_bytes()).text
    links = {html.unescape(one) for one in re.findall(r'<a href="(/criteria[^"]*)"', view)}
    assert links
    to_rows = 0
    for link in links:
        address, _, anchor = link.partition("#")
        assert anchor in rows_of(address), link
        to_rows += anchor.startswith("r-")
    assert to_rows * 2 > len(links)


def test_a_site_has_its_own_numbers_and_no_row() -> None:
    mine = Source(
        key="local-policy", citation="Local policy of this site", locator="x", mark=Mark.LOCAL_POLICY
    )
    assert address_of(mine) == ""


def test_a_citation_leads_to_the_document_that_it_names() -> None:
    """An address at the publisher of numbered guidelines holds the number that the citation names."""
    checked = 0
    for one in publications().values():
        found = re.search(r"nice\.org\.uk/guidance/([a-z]+\d+)", one.address)
        if found:
            checked += 1
            assert found[1].upper() in one.citation.upper(), one.key
        article = re.search(r"/articles/(PMC\d+)", one.address)
        if article and "PMC" in one.citation:
            assert article[1] in one.citation, one.key
    assert checked > 5


def test_from_a_finding_to_its_row(browser: Browser) -> None:
    browser.demo("04-aki-nephrotoxics")
    browser.do("run", code="document.querySelectorAll('.grounds').forEach((one) => { one.open = true; })")
    browser.do("click", at=".grounds a:text-is('the row in use') >> nth=0")
    browser.do("arrive", path="/criteria")
    assert "The published tables in use" in browser.text("h1")
    assert browser.do("accessibility") == []
    browser.do("click", at="text=All publications")
    assert browser.do("count", at=".shelves li") > 100
    assert browser.do("accessibility") == []
    browser.do("pick", at="[name='mark']", label="from memory")
    browser.do("click", at="button:text-is('Show')")
    browser.do("until", code="location.search.includes('from+memory')")
    assert browser.do("count", at="table.rows") >= 1
    browser.behaved()
