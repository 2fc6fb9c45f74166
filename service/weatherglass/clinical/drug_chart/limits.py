"""Limits that the drug chart shares with the critical results: each has one home, and a site's own hold."""

from typing import Final, Literal

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.scores import UrgencyWord
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.tables import Cutoff

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
