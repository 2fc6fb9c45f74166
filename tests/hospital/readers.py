"""Readers of the page: each opens a chart at the record system, which launches the page in a browser.

SMART App Launch 2.2 with a sign-in and a door of the record system that are not the page's own.
"""

import time
from collections.abc import Iterator
from contextlib import contextmanager

from tests.hospital.day import Day, Knock
from tests.hospital.house import CHARTING
from tests.sandbox.record import RecordSystem, running
from tests.sandbox.stack import sign_in
from tests.web.browser import SHOWN, Browser

#: Seconds of the machine between two openings of the page.
_BETWEEN_PAGES = 60.0


@contextmanager
def _launching(day: Day) -> Iterator[None]:
    """Run the record system's door for readers, and where they sign in."""
    house = day.house
    patients = sorted({one.patient for one in day.events if one.resource["resourceType"] == "Patient"})
    known = [(each, each) for each in patients]
    ports = house.launch
    system = RecordSystem(house.upstream, ports.base, ports.issuer, ports.review, known, token=CHARTING)
    # The record server names itself as everybody else reaches it.
    system.twist = lambda text: text.replace(day.network.base, ports.base)
    with running(system, ports.record), sign_in(ports, known):
        yield


def pages(day: Day) -> None:
    """Open the page with one patient's record in a browser, now and then."""
    with _launching(day), Browser(day.house.page_base) as browser:
        first = True
        while first or not day.over.wait(_BETWEEN_PAGES):
            sick = [one.event.patient for one in tuple(day.charted) if one.event.kind == "result"]
            if sick:
                first = False
                look(day, browser, sick[-1])
            elif day.over.wait(1):
                return


def look(day: Day, browser: Browser, patient: str) -> None:
    """Open one record on the page: launched at the record system, read with the reader's own token."""
    at, began, during = day.clock.now(), time.monotonic(), day.during
    launch = f"/launch?iss={day.house.launch.base}&launch=launch-{patient}"
    browser.do("open")
    browser.do("go", address=day.house.page_base + launch)
    browser.do("click", at="button[value='yes']")
    browser.do("arrive", path="/")
    browser.do("until", code=f"!!{SHOWN}")
    shown = browser.do("count", at="article") > 0
    seconds = time.monotonic() - began
    # What could not be read is said; nobody may take it for a calm patient.
    day.knocks.append(Knock(at, "page", seconds, 200 if shown else 412, 0, patient, during, began))
    said = browser.do("said") if shown else [browser.text(".failure")]
    if said and not (during or day.during):
        day.notes.append(f"page at {at:%d %H:%M}: {said}")
