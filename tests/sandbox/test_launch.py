"""The page opened from a record system, end to end: SMART App Launch 2.2 with a real authorization server.

`oidc-provider` lets people sign in and `sekmet` holds the records; neither is ours.
"""

import json
from dataclasses import replace
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest

from tests.running import free_port
from tests.sandbox.conftest import Ward
from tests.sandbox.stack import service, sign_in
from tests.web.browser import SHOWN, Browser
from weatherglass.ehr.fetching.needed import NEEDED_TYPES

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
_YES, _NO = "button[value='yes']", "button[value='no']"
_KEPT = "JSON.stringify([sessionStorage.length, localStorage.length, document.cookie, location.href])"


def _answered(browser: Browser, answer: str = _YES) -> None:
    browser.do("click", at=answer)
    browser.do("arrive", path="/")
    browser.do("until", code=f"!!{SHOWN}")


def _launch_address(ward: Ward, name: str) -> str:
    return f"{ward.ports.review}/launch?iss={ward.ports.base}&launch=launch-{ward.id_of(name)}"


def _launch(browser: Browser, ward: Ward, name: str) -> None:
    browser.do("open")
    browser.do("go", address=_launch_address(ward, name))


def _refused(browser: Browser, words: str) -> None:
    """The page says why, shows nobody, and keeps nothing."""
    browser.do("until", code=f"!!{SHOWN}")
    assert browser.text("h1") == "This could not be reviewed"
    assert words in browser.text(".failure")
    assert browser.do("count", at="article") == 0
    assert json.loads(browser.do("run", code=_KEPT))[:3] == [0, 0, ""]
    for name in ("Tidewell", "Saltmere", "Oxbow"):
        assert name not in browser.text("body")


def test_from_the_record_to_the_review(browser: Browser, ward: Ward) -> None:
    """An EHR launch: the patient whose record was open, all pages of it, reviewed as of now."""
    _launch(browser, ward, "Tidewell")
    _answered(browser)
    assert browser.text("h1") == "Ambrose Tidewell"
    assert "Larkmoor Ward" in browser.text(".who")
    assert "it was due by" in browser.text(".call"), "the review is of now, not of the newest entry"
    assert "further pages" not in browser.text("body")
    assert "Read from the record at" in browser.text("[data-record-note]")
    searched = {one.partition("?")[0].partition("/")[0] for one in ward.system.asked}
    assert searched == set(NEEDED_TYPES) - {"Location", "Medication"}
    assert sum(one.startswith("Observation") for one in ward.system.asked) > 1


def test_nothing_is_kept_and_nobody_else_is_asked(browser: Browser, ward: Ward) -> None:
    """Neither token nor code nor record in any store or address; three origins, no more."""
    _launch(browser, ward, "Tidewell")
    _answered(browser)
    kept = json.loads(browser.do("run", code=_KEPT))
    assert kept == [0, 0, "", f"{ward.ports.review}/"]
    asked = {f"{one.scheme}://{one.netloc}" for one in map(urlsplit, browser.do("requests"))}
    assert asked <= {ward.ports.review, f"http://127.0.0.1:{ward.ports.record}", ward.ports.issuer, "data://"}
    # The sandbox's sign-in has no icon; the page itself stays silent.
    assert [line for line in browser.do("said") if "404" not in line] == []


def test_what_is_asked_for_at_the_sign_in(browser: Browser, ward: Ward) -> None:
    """Code with PKCE S256 (RFC 7636), a fresh state, `aud`, the launch, and reading only (SMART 2.2)."""
    _launch(browser, ward, "Tidewell")
    browser.do("click", at=_NO)
    browser.do("arrive", path="/")
    address = next(one for one in browser.do("requests") if one.startswith(f"{ward.ports.issuer}/auth?"))
    asked = {name: value[0] for name, value in parse_qs(urlsplit(address).query).items()}
    assert asked["response_type"] == "code"
    assert asked["code_challenge_method"] == "S256"
    assert len(asked["code_challenge"]) == 43
    assert len(asked["state"]) == 43
    assert asked["aud"] == ward.ports.base
    assert asked["launch"].startswith("launch-")
    assert asked["scope"].split() == ["launch", *(f"patient/{kind}.rs" for kind in NEEDED_TYPES)]
    _refused(browser, "The sign-in was cancelled")


def test_begun_at_the_page_itself(browser: Browser, ward: Ward) -> None:
    """A standalone launch: the reader signs in and chooses the patient at the record system."""
    browser.visit("/")
    assert browser.do("accessibility") == []
    browser.do("click", at="[data-sign-in]")
    browser.do("pick", at="select[name='patient']", label="Philippa Oxbow-Dunn")
    _answered(browser)
    assert browser.text("h1") == "Philippa Oxbow-Dunn"
    assert browser.do("accessibility") == []
    ward.system.asked.clear()
    browser.do("click", at="[data-read-again]")
    browser.shown_again(2)
    assert browser.text("h1") == "Philippa Oxbow-Dunn"
    assert ward.system.asked
    browser.do("click", at="[data-open-again]")
    assert not browser.do("run", code="!!document.querySelector('[data-read-again]').offsetParent")


def test_what_the_record_does_not_give_out_is_named(browser: Browser, ward: Ward) -> None:
    """A record with a hole in it says so on the page and among what was not used."""
    ward.system.refused = {"AllergyIntolerance": 403, "Flag": 404}
    _launch(browser, ward, "Tidewell")
    _answered(browser)
    assert "not known here: AllergyIntolerance, Flag." in browser.text("[data-record-note]")
    assert "the record may be incomplete" in browser.do("run", code="document.body.textContent")


@pytest.mark.parametrize("status", [403, 500])
def test_without_observations_nothing_is_reviewed(browser: Browser, ward: Ward, status: int) -> None:
    """Silence would look like an all-clear."""
    ward.system.refused = {"Observation": status}
    _launch(browser, ward, "Tidewell")
    _answered(browser)
    _refused(browser, f"answered {status} when it was asked for Observation")


def _elsewhere(text: str) -> str:
    return text.replace(
        '{"relation": "next", "url": "', '{"relation": "next", "url": "http://127.0.0.1:9/'
    ).replace('{"relation":"next","url":"', '{"relation":"next","url":"http://127.0.0.1:9/')


def test_a_page_at_another_address_is_not_asked(browser: Browser, ward: Ward) -> None:
    """A token goes to the server that it is for, and nowhere else."""
    ward.system.twist = _elsewhere
    _launch(browser, ward, "Tidewell")
    _answered(browser)
    _refused(browser, "lies at another address")
    assert not any(":9/" in one for one in browser.do("requests"))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"code_challenge_methods_supported": ["plain"]}, "PKCE with S256"),
        ({"code_challenge_methods_supported": None}, "PKCE with S256"),
        ({"token_endpoint": "http://127.0.0.1:9/token"}, "not on the list of this service"),
        ({"authorization_endpoint": "http://127.0.0.1:9/auth"}, "not on the list of this service"),
        ({"authorization_endpoint": None}, "does not say where to sign in"),
        ({"authorization_endpoint": "javascript:alert(1)"}, "not on the list of this service"),
    ],
    ids=["plain", "no-pkce", "token-elsewhere", "sign-in-elsewhere", "no-sign-in", "script"],
)
def test_a_sign_in_that_is_not_safe_is_not_begun(
    browser: Browser, ward: Ward, said: dict[str, object], words: str
) -> None:
    ward.system.said = said
    _launch(browser, ward, "Tidewell")
    _refused(browser, words)
    assert not any("/auth" in urlsplit(one).path for one in browser.do("requests"))


@pytest.mark.parametrize(
    "address",
    ["/launch?iss=http://127.0.0.1:9/fhir&launch=x", "/launch?launch=x", "/launch?iss=javascript:alert(1)"],
)
def test_a_record_system_that_is_not_on_the_list_is_not_asked(
    browser: Browser, ward: Ward, address: str
) -> None:
    browser.visit(address)
    _refused(browser, "not on the list")
    browser.behaved()


def test_an_answer_that_nobody_here_asked_for_is_not_used(browser: Browser, ward: Ward) -> None:
    """Somebody else's code in a link (RFC 9700, 4.7): no token is asked for."""
    browser.visit("/launch/back?code=stolen&state=guessed")
    _refused(browser, "not begun in this tab")
    browser.behaved()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("begun.state = 'another'", "not begun in this tab"),
        ("begun.at -= 11 * 60 * 1000", "too long ago"),
        ("begun.issuer = 'https://other.example'", "of another sign-in"),
        ("begun.verifier = 'x'.repeat(43)", "did not sign you in"),
    ],
    ids=["state", "late", "issuer", "verifier"],
)
def test_an_answer_that_does_not_fit_is_not_used(
    browser: Browser, ward: Ward, change: str, words: str
) -> None:
    """State (RFC 6749, 10.12), age, issuer (RFC 9207) and verifier (RFC 7636), each on its own."""
    browser.visit("/")
    browser.do("before", code=_CHANGED.replace("CHANGE", change))
    browser.do("go", address=_launch_address(ward, "Tidewell"))
    _answered(browser)
    _refused(browser, words)


#: Run before the page's own scripts on the way back.
_CHANGED = """if (location.pathname === "/launch/back") {
  const begun = JSON.parse(sessionStorage.getItem("weatherglass-sign-in"));
  CHANGE;
  sessionStorage.setItem("weatherglass-sign-in", JSON.stringify(begun));
}"""


def test_a_service_that_wants_callers_signed_in_sees_the_token(ward: Ward) -> None:
    """The reader's own token comes with what was read, and opens nobody else's record."""
    ports = replace(ward.ports, service=free_port(), sign_in=free_port())
    ward.system.issuer = ports.issuer
    settings = {
        "SMART_ISSUER": ports.issuer,
        "SMART_JWKS_URL": f"{ports.issuer}/jwks",
        "SMART_AUDIENCE": json.dumps([ports.base]),
        "SMART_SCOPES": json.dumps(["patient/Observation.rs"]),
    }
    try:
        with (
            sign_in(ports, ward.system.patients),
            service(ports, **settings),
            Browser(ports.review) as browser,
        ):
            other = WARD / "04-aki-nephrotoxics.json"
            browser.open_file(other)
            assert "Sign in" in browser.text(".failure")
            _launch(browser, replace(ward, ports=ports), "Tidewell")
            _answered(browser)
            assert browser.text("h1") == "Ambrose Tidewell"
            browser.do("click", at="[data-fhir-show]")
            browser.do(
                "until",
                code="document.querySelector('[data-fhir-note]').textContent.startsWith('Status 200')",
            )
    finally:
        ward.system.issuer = ward.ports.issuer
