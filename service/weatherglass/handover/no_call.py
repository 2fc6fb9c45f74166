"""Where it ends: records for which nobody is called, and what their findings are then.

Recorded last days of life, death and discharge. The findings stay, for information; a call
to a patient who has died, or the ward's call to one who has left it, would be noise, and one
to a dying patient's bed asks for what the plan has ruled out. How each is worded is ours.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import DECEASED, is_end_of_life
from weatherglass.handover.kinds import KINDS
from weatherglass.knowledge.limits.context_choices import GONE_AFTER
from weatherglass.model.findings import COMFORT, RECORDED_AS_SUCH, AkiFinding, Finding, ScoreFinding, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.words.brief_words import score_in_brief


def closed_because(bedside: Bedside) -> str:
    """Say why nobody is called, in a sentence; empty where somebody may be."""
    if bedside.has_died:
        return DECEASED
    if is_end_of_life(bedside):
        return "End-of-life care is recorded: for information."
    left = left_at(bedside)
    if left is None:
        return ""
    return f"Left hospital {bedside.clock.at(left)}: for those who see the patient now."


def left_at(bedside: Bedside) -> datetime | None:
    """Return when the patient left hospital; None where vital signs were taken after that.

    Whoever is measured again is somewhere, and a stay that was not sent hides nobody.
    """
    left = bedside.discharged_at
    is_watched = left is not None and bool(bedside.sets) and bedside.sets[-1].end > left
    return None if is_watched else left


#: What the plan of the last days is told too: a sign that is relieved, and relief written twice by mistake.
_RELIEVED = frozenset(
    {
        "seizure",
        "driver-with-long-acting",
        "opioid-patch-with-long-acting",
        "two-driver-opioids",
        "two-long-acting-opioids",
        "two-opioid-patches",
    }
)


def for_information(bedside: Bedside, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings as they stand for a patient who has died or is dying; as they are for any other."""
    if bedside.has_died:
        return tuple(
            _for_information(one)
            for one in findings
            if not (KINDS[one.kind].not_of_the_dying or KINDS[one.kind].of_chart)
            and not one.key.endswith(RECORDED_AS_SUCH)
        )
    if is_end_of_life(bedside):
        return tuple(_of_the_dying(findings))
    return tuple(_of_long_ago(bedside, findings))


def _of_long_ago(bedside: Bedside, findings: Iterable[Finding]) -> Iterator[Finding]:
    """Lower what rests on vital signs of another time, since which nobody has measured the patient."""
    oldest = bedside.as_of - GONE_AFTER.length
    for one in findings:
        is_old = (
            bedside.signs_are_bygone and KINDS[one.kind].of_signs and one.at is not None and one.at < oldest
        )
        yield _lowered(one, Urgency.ROUTINE) if is_old else one


def _of_the_dying(findings: Iterable[Finding]) -> Iterator[Finding]:
    for one in findings:
        # What a name asks for, a surgeon or a scan, is not the plan of the last days.
        if not KINDS[one.kind].not_of_the_dying and not one.key.endswith(RECORDED_AS_SUCH):
            is_comfort = KINDS[one.kind].for_comfort or one.key.startswith(COMFORT) or one.key in _RELIEVED
            yield _lowered(one, Urgency.PROMPT) if is_comfort else _for_information(one)


def _for_information(finding: Finding) -> Finding:
    """Return a finding that asks for nothing: no test, nobody and nothing to be done at once."""
    lowered = replace(_lowered(finding, Urgency.ROUTINE), at_once="")
    if isinstance(lowered, AkiFinding):
        lowered = replace(lowered, response="")
    # How a score is read, and what is known of a medicine, stays.
    is_plain = not (isinstance(lowered, ScoreFinding) or KINDS[lowered.kind].of_chart)
    return replace(lowered, cautions=()) if is_plain else lowered


def _lowered(finding: Finding, most: Urgency) -> Finding:
    lowered = replace(finding, urgency=min(finding.urgency, most))
    if isinstance(lowered, ScoreFinding):
        # What the publication asks for at that total is not asked for here.
        plain = replace(lowered, response="", monitoring="", monitoring_interval=None, highest_tier="")
        # Its words name a total that could ask for more; those of an open score never do.
        return replace(plain, brief=score_in_brief(plain)) if lowered.highest_tier else plain
    return lowered
