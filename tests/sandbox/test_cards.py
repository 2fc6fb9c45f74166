"""The sandbox's viewer: cards of the record at hand, and from a card to the whole review.

Expected: CDS Hooks 2.0.1, "Link": the client adds `iss` and `launch` to a link of type smart.
"""

import json
import subprocess
from pathlib import Path

from tests.sandbox.conftest import Ward
from tests.web.browser import SHOWN, Browser


def test_from_a_card_to_the_whole_review(browser: Browser, ward: Ward) -> None:
    browser.do("open")
    browser.do("go", address=f"http://127.0.0.1:{ward.ports.record}/")
    browser.do("until", code="document.querySelectorAll('#patient option').length === 3")
    browser.do("pick", at="#patient", label="Ambrose Tidewell")
    browser.do("click", at="#open")
    browser.do("until", code="document.querySelector('#said').textContent.includes('cards.')")
    assert browser.do("count", at=".card") >= 2
    assert browser.do("count", at=".card[data-indicator='critical']") >= 1
    assert browser.do("accessibility") == []
    browser.do("click", at=".card a:text-is('The whole review, from the record') >> nth=0")
    browser.do("click", at="button[value='yes']")
    browser.do("arrive", path="/")
    browser.do("until", code=f"!!{SHOWN}")
    assert browser.text("h1") == "Ambrose Tidewell"


def test_the_call_to_paste_gives_what_is_said_of_it(ward: Ward) -> None:
    """The block of the integrator's path, run by a shell as it is written."""
    text = (Path(__file__).parents[2] / "deploy" / "electronic-record.md").read_text("utf-8")
    block = text.partition("### A call to paste")[2].partition("```console\n")[2].partition("```")[0]
    command = block.replace("http://127.0.0.1:8080", ward.ports.review).replace(
        "curl -s", "curl -s --noproxy '*'"
    )
    done = subprocess.run(["bash", "-c", command], check=True, capture_output=True, timeout=60)
    cards = json.loads(done.stdout)["cards"]
    assert cards[0]["indicator"] == "critical"
    said = [card["detail"].count("Not sent, so not looked at: bedside") for card in cards]
    assert said == [1] + [0] * (len(cards) - 1)
