"""What axe says of the page that is open."""

from tests.web.browser import Browser

#: What of axe depends on colours; everything else is the same by night.
OF_COLOUR = ["color-contrast", "link-in-text-block"]


def finds_nothing(browser: Browser, where: str = "") -> None:
    """By day everything, by night what another set of colours can break."""
    browser.do("scheme", scheme="light")
    assert browser.do("accessibility") == [], where
    browser.do("scheme", scheme="dark")
    assert browser.do("run", code="matchMedia('(prefers-color-scheme: dark)').matches")
    assert browser.do("accessibility", rules=OF_COLOUR) == [], f"{where} by night"
