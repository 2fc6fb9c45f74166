"""Limits that the drug chart shares with the critical results: each has one home, and a site's own hold."""

from typing import Final, Literal

from weatherglass.facts.bedside import Bedside
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

_ORDER: Final[tuple[UrgencyWord, ...]] = ("routine", "prompt", "urgent", "emergency")


def limit_of(
    bedside: Bedside, signal: Signal, side: Literal["high", "low"], least: UrgencyWord
) -> Cutoff | None:
    """Return the limit from which a result is at least this urgent.

    None where there is no such result, or where the site has set no limit as urgent as that.
    """
    graded = bedside.graded.get(f"{signal.value}-{side}")
    if graded is None:
        return None
    found = [band for band in graded.bands if _ORDER.index(band.urgency) >= _ORDER.index(least)]
    return found[-1].cutoff if found else None
