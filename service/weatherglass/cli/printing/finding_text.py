"""One finding as lines of a terminal."""

from collections.abc import Iterable

from weatherglass.cli.printing.wrapping import MARK, wrapped
from weatherglass.model.findings import AkiFinding, Finding, Kind, ScoreFinding, Urgency
from weatherglass.model.words.clock_words import Clock


def finding_text(finding: Finding, clock: Clock) -> Iterable[str]:
    """Yield one finding: its sentence, what is asked for, and its cautions where it is not routine."""
    since = ""
    if finding.state is not None:
        since = f" [{'preliminary, ' if finding.provisional else ''}{finding.state.value}"
        since += f" since {clock.full(finding.since)}" if finding.since is not None else ""
        if finding.asked_since is not None and finding.asked_since != finding.since:
            since += f", so urgent since {clock.full(finding.asked_since)}"
        since += "]"
    yield wrapped(f"{finding.sentence}{since}", f"  {MARK[finding.urgency]} ", "      ")
    if isinstance(finding, ScoreFinding) and _asks_for_something(finding):
        yield wrapped(f"{finding.response_by}: {finding.response}.", "      ")
    if isinstance(finding, AkiFinding) and finding.response:
        yield wrapped(f"Asked for: {finding.response}.", "      ")
    if finding.urgency is Urgency.ROUTINE and finding.kind is not Kind.SCORE:
        return  # What needs nothing done is one line; its cautions are in the FHIR answer.
    for step in finding.steps:
        yield wrapped(f"{step.said}.", "      ")
    for caution in finding.cautions:
        yield wrapped(f"Caution: {caution}", "      ")


def _asks_for_something(finding: ScoreFinding) -> bool:
    """Tell whether the response is printed: not where all is routine and known to be."""
    return bool(finding.response) and (finding.urgency is not Urgency.ROUTINE or bool(finding.highest_tier))
