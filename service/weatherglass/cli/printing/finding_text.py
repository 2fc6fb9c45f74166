"""One finding as lines of a terminal."""

from collections.abc import Iterable

from weatherglass.cli.printing.screen import marked, wrapped
from weatherglass.handover.lines import Role, standing_words
from weatherglass.handover.told import Told
from weatherglass.model.findings import Kind, ScoreFinding, Urgency


def finding_text(told: Told, said: set[str]) -> Iterable[str]:
    """Yield one finding: its sentence, what is asked for, and its cautions where it is not routine.

    Args:
        told: The finding.
        said: The cautions that stand above already, each of which is said once; those of this one are added.
    """
    finding = told.finding
    standing = standing_words(finding, told.clock.spoken)
    since = f" [{'preliminary, ' if finding.provisional else ''}{standing}]" if standing else ""
    yield marked(finding.urgency, f"{finding.sentence}{since}")
    if _asks(told):
        yield from (wrapped(words, "      ") for words in told.words((Role.ASKED,)))
    if finding.urgency is Urgency.ROUTINE and finding.kind is not Kind.SCORE:
        return  # What needs nothing done is one line; its cautions are in the FHIR answer.
    yield from (wrapped(words, "      ") for words in told.words((Role.STEP,)))
    cautions = {line.said: line.label for line in told.of(Role.CAUTION) if line.said not in said}
    said.update(cautions)
    yield from (wrapped(f"{label}: {caution}", "      ") for caution, label in cautions.items())


def _asks(told: Told) -> bool:
    """Tell whether what is asked is more than to go on, where all is routine, or than the call."""
    finding = told.finding
    if not isinstance(finding, ScoreFinding) or finding.urgency is not Urgency.ROUTINE:
        return not told.is_called
    return bool(finding.highest_tier)
