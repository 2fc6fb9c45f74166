"""The whole answer about one patient: what leads, whom to call, what was found, and the handover."""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from enum import StrEnum
from typing import Final, NamedTuple

from weatherglass.model.findings import Finding, ScoreFinding, Urgency
from weatherglass.model.latest import LatestResults
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Label
from weatherglass.model.subject import Subject
from weatherglass.model.words.clock_words import Clock


class DecisionShape(StrEnum):
    """What a recorded decision comes to, for the shape that goes with its words."""

    FOR = "for"
    NOT_FOR = "not-for"
    CONFLICT = "conflict"
    UNKNOWN = "unknown"
    LIMIT = "limit"


class DecisionInShort(NamedTuple):
    """A recorded decision in few words.

    Attributes:
        words: "DNACPR: not for resuscitation", "ward care, not for intensive care".
        shape: What it comes to.
        is_resuscitation: Whether it is about resuscitation.
    """

    words: str
    shape: DecisionShape
    is_resuscitation: bool = False


class Escalation(Plain, frozen=True, kw_only=True):
    """Whom to call, by when, and which finding asks for it.

    Attributes:
        roles: Whom to call; the first is the one who comes.
        within: How soon after its reason began.
        began: When the reason of this urgency began; the deadline counts from it and not from the look.
        due: The deadline, which a repeat of the same value does not move.
        overdue: How long ago it passed; None while it has not.
        is_undated: Whether it may have passed and no time is recorded that tells: it is due now.
        is_arrest: Whether nothing is to be called but a cardiac arrest, if there are no signs of life.
        is_for_the_chart: Whether the drug chart alone asks for it, so that nobody has to come at once.
        reader: The role of whoever reads this, as the site has set it; never told to call itself.
        reason: The sentence of that finding, and what the call has to reckon with.
        besides: What the call has to reckon with alone; empty when nothing.
        answered: What has been done since the reason began, and how the patient has been since; then nothing
            is late. Empty where the record does not tell.
    """

    urgency: Urgency
    roles: tuple[str, ...]
    within: timedelta
    began: datetime
    due: datetime
    overdue: timedelta | None
    reason: str
    decided_by: str
    because: Finding
    besides: str = ""
    answered: str = ""
    is_arrest: bool = False
    is_for_the_chart: bool = False
    is_undated: bool = False
    reader: str = ""

    @property
    def late(self) -> timedelta | None:
        """How long ago the deadline passed, as it is told; None while that is less than a minute."""
        is_told = self.overdue is not None and self.overdue >= timedelta(minutes=1)
        return self.overdue if is_told else None

    @property
    def is_now(self) -> bool:
        """Whether there is no time to name: whoever is called comes at once."""
        return self.is_arrest or self.is_undated or self.within <= timedelta(minutes=1)


_AS_ABOVE: Final = "Then the findings and results above, the worst first."
_THE_CALL: Final = "The call above."


class Handover(Plain, frozen=True, kw_only=True):
    """A structured handover, in sentences; blanks say "not recorded".

    Attributes:
        spoken: What is said first on the telephone, at most 120 words; blanks are for the caller to fill.
        investigations: Immediate investigations worth having: missing, or to repeat by a time.
        apart: Of the assessment what an answer does not tell that has its findings and results already.
    """

    situation: tuple[str, ...]
    background: tuple[str, ...]
    assessment: tuple[str, ...]
    recommendation: tuple[str, ...]
    spoken: tuple[str, ...] = ()
    investigations: tuple[str, ...] = ()
    apart: tuple[str, ...] = ()

    @property
    def parts(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Title and sentences of each part, in the order in which they are read out."""
        return (
            ("Situation", self.situation),
            ("Background", self.background),
            ("Assessment", self.assessment),
            ("Recommendation", self.recommendation),
        )

    def parts_below(self, head: Sequence[str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """The same below the call, the findings and the results of one print, which tells each once.

        Args:
            head: Its first lines; of a sentence that begins with one of them, the rest stays.
        """
        told = {
            "Situation": (_THE_CALL,) if self.spoken else self.situation,
            "Assessment": (*self.apart, _AS_ABOVE),
            "Recommendation": tuple(filter(None, (_without(head, each) for each in self.recommendation))),
        }
        return tuple((title, told.get(title, said)) for title, said in self.parts)


def _without(head: Sequence[str], said: str) -> str:
    """Return what of a sentence none of those before it has said."""
    return next((said.removeprefix(each).strip() for each in head if said.startswith(each)), said)


class Unassessed(Plain, frozen=True):
    """What could not be assessed for want of vital signs: none, too few to tell, or too old.

    Attributes:
        how: "Not assessed", "Not assessed now", "Not fully assessed".
        why: What is missing or too old, without a full stop.
        wants_a_set: Whether a full set of observations would tell; not where signs were sent and not read.
    """

    how: str
    why: str
    wants_a_set: bool = True

    @property
    def sentence(self) -> str:
        """Both, as they are read."""
        return f"{self.how}: {self.why}."


class ToldFirst(Plain, frozen=True):
    """A finding that leads, in the few words of the head."""

    finding: Finding
    words: str


class Review(Plain, frozen=True, kw_only=True):
    """The whole answer about one patient.

    Attributes:
        headline: What comes first, in sentences: why nobody is called or could tell, then what was found.
        found: What was found alone.
        unassessed: What could not be assessed for want of vital signs; None when the patient was assessed.
        closed: Why nobody is called whatever was found (died, left, dying); empty otherwise.
        ward: The ward alone; empty where no place is recorded.
        bed: The bed alone; empty where none is recorded.
        left_out: What of the last day was sent and not read, or read and not judged, by name and value.
        lead: The score that speaks for the patient now; None where none could be worked out.
        last_whole: The last complete round of that score, where the newest is not complete.
        is_stale: There are no vital signs, or the newest are too old to rely on.
        is_narrowed: Only some questions were asked: silence says nothing.
        medicines_reviewed: Medicines of the drug chart that were recognised and reviewed.
        medicines_spoken_of: Those of them of which a rule speaks.
        medicines_not_recognised: Medicines that nobody could recognise; each is a finding.
        ceiling: Recorded decisions about resuscitation and treatment, most binding first.
        told_first: What leads; empty where nobody is called.
        decisions: The same in few words; says so where nothing about resuscitation is recorded.
        at_bedside: What to do at the bedside until somebody comes; empty where nobody is called.
        is_limited: Whether any of them limits treatment; one about resuscitation does not.
        is_not_for_resuscitation: Whether one of them refuses resuscitation, another may conflict with it.
        compose: Composes the structured handover, which few doors show; it holds on to the patient.
        look_up: Looks the newest results up, which cards and brief answers do not show.
        labels: Security labels of the inputs.
    """

    subject: Subject
    as_of: datetime | None
    place: str
    ward: str = ""
    bed: str = ""
    hospital: str = ""
    urgency: Urgency
    headline: str
    found: str = ""
    told_first: tuple[ToldFirst, ...] = ()
    findings: tuple[Finding, ...]
    escalation: Escalation | None
    compose: Callable[[], Handover]
    ceiling: tuple[str, ...] = ()
    decisions: tuple[DecisionInShort, ...] = ()
    at_bedside: str = ""
    is_limited: bool = False
    is_not_for_resuscitation: bool = False
    unassessed: Unassessed | None = None
    closed: str = ""
    left_out: tuple[str, ...] = ()
    lead: ScoreFinding | None = None
    last_whole: ScoreFinding | None = None
    data_age: str = ""
    is_stale: bool = False
    is_narrowed: bool = False
    medicines_reviewed: int = 0
    medicines_spoken_of: int = 0
    medicines_not_recognised: int = 0
    look_up: Callable[[], LatestResults] = LatestResults
    cautions: tuple[str, ...] = ()
    labels: tuple[Label, ...] = ()
    zone: tzinfo = UTC

    @property
    def handover(self) -> Handover:
        """The structured handover."""
        return self.compose()

    @property
    def latest(self) -> LatestResults:
        """The newest results that a ward doctor reads first, and what was sent and not read."""
        return self.look_up()

    @property
    def investigations(self) -> tuple[str, ...]:
        """Immediate investigations worth having."""
        return self.handover.investigations

    @property
    def unread(self) -> tuple[str, ...]:
        """What was sent and not read, in sentences, beside a call; without one the headline says it."""
        return self.left_out if self.escalation is not None else ()

    @property
    def until_then(self) -> str:
        """What to do at the bedside, in a line that says until when; empty where nothing is."""
        return f"Until then: {self.at_bedside}" if self.escalation and self.at_bedside else self.at_bedside

    @property
    def not_assessed(self) -> str:
        """What could not be assessed, in a sentence; empty when the patient was."""
        return self.unassessed.sentence if self.unassessed is not None else ""

    @property
    def is_unassessed(self) -> bool:
        """Whether nothing calls and nobody can tell how the patient is: never the same as routine."""
        return self.escalation is None and self.unassessed is not None and not self.closed

    @property
    def standing(self) -> str:
        """The word at the head: the urgency, or 'not assessed' where nothing calls and nobody can tell."""
        if self.unassessed is not None and self.is_unassessed:
            return self.unassessed.how.lower()
        return self.urgency.word

    @property
    def clock(self) -> Clock:
        """How the moments of the review are said."""
        return Clock(self.zone, self.as_of)
