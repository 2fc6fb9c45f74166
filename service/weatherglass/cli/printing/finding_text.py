"""One finding as lines of a terminal."""

from collections.abc import Iterable

from weatherglass.cli.printing.wrapping import MARK, wrapped
from weatherglass.handover.lines import Role, ask_of, asks_for_something, lines_of, standing_words
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.words.clock_words import Clock

#: What stands below a sentence on a terminal; the rest is in the FHIR answer and on the page.
_BELOW = frozenset({Role.STEP, Role.CAUTION})


def finding_text(finding: Finding, clock: Clock) -> Iterable[str]:
    """Yield one finding: its sentence, what is asked for, and its cautions where it is not routine."""
    standing = standing_words(finding, clock.full)
    since = f" [{'preliminary, ' if finding.provisional else ''}{standing}]" if standing else ""
    yield wrapped(f"{finding.sentence}{since}", f"  {MARK[finding.urgency]} ", "      ")
    if asks_for_something(finding):
        yield wrapped(ask_of(finding), "      ")
    if finding.urgency is Urgency.ROUTINE and finding.kind is not Kind.SCORE:
        return  # What needs nothing done is one line; its cautions are in the FHIR answer.
    for line in lines_of(finding, clock):
        if line.role in _BELOW:
            yield wrapped(f"{'Caution: ' if line.role is Role.CAUTION else ''}{line.words}", "      ")
