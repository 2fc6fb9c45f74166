"""What the review found, as plain values that a writer can turn into any format.

A finding carries everything a writer needs: the sentence, the numbers with units and
times, where each input came from, what was missing and what that could change, the
publication, and the cautions. A writer never compares numbers.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta, tzinfo
from decimal import Decimal
from enum import IntEnum, StrEnum
from typing import Final, NamedTuple

from weatherglass.model.latest import LatestResults
from weatherglass.model.letters import Letter
from weatherglass.model.plain import Plain, field
from weatherglass.model.quantities import Unit
from weatherglass.model.sources import Label, Origin, Source
from weatherglass.model.subject import Subject
from weatherglass.model.tables.scores import ScoreParameter
from weatherglass.model.words.clock_words import Clock


class Urgency(IntEnum):
    """How soon somebody should act."""

    ROUTINE = 0
    PROMPT = 1
    URGENT = 2
    EMERGENCY = 3

    @property
    def word(self) -> str:
        """The word that is shown and exchanged."""
        return self.name.lower()


#: By the word that tables and exchanges use.
URGENCY_OF: Final[Mapping[str, Urgency]] = {urgency.word: urgency for urgency in Urgency}


class State(StrEnum):
    """A finding against the record's own past."""

    NEW = "new"
    CONTINUING = "continuing"
    SETTLING = "settling"


class Kind(StrEnum):
    """The kinds of finding; the code by which others recognise them."""

    SCORE = "score"
    SCORE_NOT_APPLICABLE = "score-not-applicable"
    REPORTED_SCORE_DISAGREES = "reported-score-disagrees"
    REPORTED_SCORE = "reported-score"
    AKI_STAGE = "aki-stage"
    AKI_COURSE = "aki-course"
    KIDNEY_FUNCTION = "kidney-function"
    SCORE_TREND = "score-trend"
    VITAL_SIGN_TREND = "vital-sign-trend"
    LABORATORY_TREND = "laboratory-trend"
    LONG_STANDING_LOW_PRESSURE = "long-standing-low-pressure"
    OXYGEN_REQUIREMENT = "oxygen-requirement"
    OXYGEN_TARGET = "oxygen-target"
    CRITICAL_RESULT = "critical-result"
    BLOOD_GAS = "blood-gas"
    POSSIBLE_BLEEDING = "possible-bleeding"
    SEPSIS_RISK = "sepsis-risk"
    CONCERN = "concern"
    OBSERVATIONS_OVERDUE = "observations-overdue"
    ARTEFACT = "artefact"
    CONTEXT = "context"
    MEDICINE = "medicine"
    MEDICINE_RESTART = "medicine-restart"
    MEDICINE_INTERACTION = "medicine-interaction"
    MEDICINE_NOT_REVIEWED = "medicine-not-reviewed"
    TREATMENT_RESPONSE = "treatment-response"
    SINGLE_SIGN = "single-sign"
    REPORTED_CRITICAL = "reported-critical"
    NOT_JUDGED = "not-judged"
    CARDIAC = "cardiac"
    HIGH_PRESSURE = "high-pressure"
    METABOLIC = "metabolic"
    HEAD_INJURY = "head-injury"
    ALLERGY = "allergy"
    MEDICINE_MISSING = "medicine-missing"


#: How the key of what relieves in the last days of life begins.
COMFORT: Final = "comfort"


class Measure(NamedTuple):
    """One number or word a finding rests on, as a person would read it out.

    Attributes:
        key: Stable code of the measure ("reference-value", "ratio", "systolic-pressure").
        value: An exact number, or the word of a coded answer.
    """

    key: str
    label: str
    value: Decimal | str
    unit: Unit | None = None
    at: datetime | None = None
    origin: Origin | None = None


def newest_at(measures: Iterable[Measure]) -> datetime | None:
    """Return the time of the newest; None where none has one."""
    return max([one.at for one in measures if one.at is not None], default=None)


class Step(NamedTuple):
    """One step of how a finding was worked out, with its inputs and the source of its formula."""

    key: str
    said: str
    source: Source
    measures: tuple[Measure, ...] = ()


class MissingReason(StrEnum):
    """Why an input could not be used."""

    NOT_RECORDED = "not recorded"
    ONE_SIDED = "reported only as a limit"
    CONFLICTING = "conflicting values at one instant"
    IMPLAUSIBLE = "outside what is possible at a bedside"
    UNKNOWN_OXYGEN = "air or oxygen not recorded"
    UNKNOWN_AMOUNT = "how much oxygen is given is not recorded"


class Missing(Plain, frozen=True, kw_only=True):
    """An input that was not there, and what it could change."""

    key: str
    label: str
    reason: MissingReason
    could_add: tuple[int, int] | None = None  # Fewest and most points, for a score.


class Finding(Plain, frozen=True, kw_only=True):
    """What every finding carries.

    Attributes:
        kind: What sort of finding.
        key: Stable key inside the kind ("news2", "potassium-high").
        letter: Its place in A-E order.
        sentence: What a clinician reads first; complete in itself.
        brief: Its few words, without a full stop; no door makes them out of the sentence.
        behind: The same behind a finding that has just said its first number; empty where that
            changes nothing.
        at_once: What is done at the bedside before anybody comes, without a full stop.
        dated: The moment that the few words name; None where they name none.
        at: Time of the newest input used.
        since: When the present run of the finding began.
        asked_since: When the reason for its present urgency began, which is when its deadline
            starts to count; None where that is the same moment as `since`.
        within: How soon its own rule asks for somebody; None where the urgency says it.
        measures: The numbers, with units, times and origins.
        evidence: Every input used, in order of time.
        steps: How it was worked out, where more than one formula was used.
        decided_by: The rule that set the urgency, in words.
    """

    kind: Kind
    key: str
    letter: Letter
    urgency: Urgency
    sentence: str
    brief: str
    at: datetime | None
    behind: str = ""
    at_once: str = ""
    state: State | None = None
    since: datetime | None = None
    asked_since: datetime | None = None
    dated: datetime | None = None
    within: timedelta | None = None
    measures: tuple[Measure, ...] = ()
    evidence: tuple[Origin, ...] = ()
    missing: tuple[Missing, ...] = ()
    sources: tuple[Source, ...] = ()
    cautions: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    decided_by: str = ""
    provisional: bool = False


class ScorePart(NamedTuple):
    """One parameter of a score.

    `points` is None when the parameter is missing; `lowest` and `highest` then say
    what it could have scored.

    Attributes:
        shown: Its value as it was measured, or that there is none.
        said: The row as it is read out: 'pulse 118 /min', 'oxygen by nasal cannula'.
        short: The value where there is little room: '118', 'responds to voice'.
    """

    key: str
    label: str
    points: int | None
    lowest: int
    highest: int
    shown: str
    said: str
    short: str
    measured: tuple[Measure, ...] = ()
    missing: Missing | None = None


class ScorePoint(NamedTuple):
    """One past score on the timeline; `value` stands where a score is a quotient.

    `parts` are the points of `rows`, None where a row is open.
    """

    at: datetime
    total: int | None
    lowest: int
    highest: int
    parts: tuple[int | None, ...]
    tier: str
    evidence: tuple[Origin, ...] = ()
    value: Decimal | None = None
    rows: tuple[ScoreParameter, ...] = ()


class ScoreFinding(Finding, frozen=True, kw_only=True):
    """A score of one round of observations.

    Attributes:
        score: Key of the score ("news2").
        edition: Public key of its edition ("news2-2017").
        total: The total, or None when an input is missing or the score does not apply.
        lowest: Lowest possible total given what is known.
        highest: Highest possible total given what is known.
        not_applicable: Why the score does not apply; empty when it does.
        not_computed: The same in few words that go on from "not computed": "at this age".
        unknown: Keys of the parts that leave the total open.
        tier: Name of the response tier reached (by the lowest possible total when incomplete).
        highest_tier: Name of the tier that the highest possible total reaches, where it is another one.
        could_ask: The urgency of that tier.
        response: What is asked for at that tier; of an open total at both, and that the set is to be
            completed.
        response_by: Who asks for it: the publication, or we where it prescribes nothing.
        monitoring: How often the publication asks for observations at that tier.
        variant: Which variant was used ("SpO2 scale 1").
        is_current: False for an older set shown beside a newer incomplete one.
        is_secondary: True for a score that is shown beside the one chosen for this patient.
        when: The moment of an older set, in words; empty for the newest one.
        value: The score itself where it is a quotient and no sum of points.
        unit: Unit of the score.
        history: Past scores, oldest first, this one last.
    """

    score: str
    edition: str
    name: str
    total: int | None = None
    lowest: int = 0
    highest: int = 0
    parts: tuple[ScorePart, ...] = ()
    not_applicable: str = ""
    not_computed: str = ""
    unknown: tuple[str, ...] = ()
    tier: str = ""
    highest_tier: str = ""
    could_ask: Urgency = Urgency.ROUTINE
    response: str = ""
    response_by: str = "The publication asks for"
    monitoring: str = ""
    monitoring_interval: timedelta | None = None
    variant: str = ""
    is_current: bool = True
    is_secondary: bool = False
    when: str = ""
    value: Decimal | None = None
    unit: Unit = Unit.SCORE
    history: tuple[ScorePoint, ...] = ()


def is_pressing(finding: Finding) -> bool:
    """Tell whether a finding asks for something now: not routine, and not settling."""
    return finding.urgency is not Urgency.ROUTINE and finding.state is not State.SETTLING


def is_named_emergency(finding: Finding) -> bool:
    """Tell whether somebody named what is wrong: it is said before the numbers that it shows in."""
    return finding.key in RECORDED_EMERGENCIES or finding.key.endswith(RECORDED_AS_SUCH)


def stands_beside(finding: Finding) -> bool:
    """Tell whether a finding is a score shown beside the one chosen for the patient."""
    return isinstance(finding, ScoreFinding) and finding.is_secondary


class AkiFinding(Finding, frozen=True, kw_only=True):
    """A stage of acute kidney injury by one criterion.

    Attributes:
        criterion: "aki-kdigo" or "aki-warning-stage".
        stage: 0 to 3, or None when it could not be assessed.
        not_assessed: Why there is no stage; empty when there is one.
        reference: The reference creatinine in µmol/L, with its method and times in `measures`.
        flag: A laboratory flag where there is no stage ("HIGH", "LOW").
        response: What is asked for at that stage, and how soon; empty when nothing is.
        history: Past stages as (time, stage), oldest first.
    """

    criterion: str
    stage: int | None
    not_assessed: str = ""
    reference: Decimal | None = None
    ratio: Decimal | None = None
    rise: Decimal | None = None
    method: str = ""
    flag: str = ""
    response: str = ""
    history: tuple[tuple[datetime, int], ...] = ()


class Restart(Plain, frozen=True, kw_only=True):
    """When a held medicine may come back: condition, who decides, by when."""

    condition: str
    who: str
    by: datetime | None


class MedicineReason(NamedTuple):
    """One reason for one suggestion.

    Attributes:
        trigger: What met the rule, with its time.
        short: The same without it.
        trigger_is_said: Whether the sentence of the suggestion says all of it.
        why_is_said: Whether that sentence says why.
    """

    rule: str
    action: str
    why: str
    trigger: str
    source: Source
    measures: tuple[Measure, ...] = ()
    short: str = ""
    trigger_is_said: bool = False
    why_is_said: bool = False


class Decision(NamedTuple):
    """What suggestions may have in common: the same is asked, for the same reasons, as soon.

    Attributes:
        asks: What is asked, with {0} where the medicines are named.
        because: The reasons, each once.
        besides: What else is asked, each as a part of a sentence.
        urgency: How soon.
    """

    asks: str
    because: tuple[str, ...]
    besides: tuple[str, ...]
    urgency: Urgency


#: Key of the one single sign before which nothing else is said: no breathing, no pulse.
MOST_CATASTROPHIC: Final = "no-signs-of-life"
#: Keys of signs that somebody named by what it is; they are said before the numbers that it shows in.
TRANSFUSION_REACTION: Final = "transfusion-reaction"
RECORDED_EMERGENCIES: Final = frozenset({"anaphylaxis", "seizure", TRANSFUSION_REACTION})
#: How the key of a problem ends that is an emergency by its name.
RECORDED_AS_SUCH: Final = "-recorded"
#: Key of how long ago the last operation was.
POST_OPERATIVE_DAY: Final = "post-operative-day"
#: Key of the decline of several signs together, which says more than any of them.
SLOW_DECLINE: Final = "slow-decline"
#: Where a suggestion stands whose rules give it no place among the equally urgent.
LAST: Final = 99
#: How a reader finds what sudden omission of a medicine brings.
RISK_IF_STOPPED: Final = "Risk if stopped"


class MedicineFinding(Finding, frozen=True, kw_only=True):
    """A suggestion about one line of the drug chart; never an order.

    Attributes:
        order: The order as the request refers to it.
        medicine: The chart's own words.
        action: Strongest action suggested: a row of `actions.toml`.
        matched_by: How the medicine was recognised.
        also: Further actions suggested beside the strongest one.
        besides: Those that the strongest one does not say already, as parts of a sentence.
        doubt: Why the value it rests on may not be true, and what is done about that, in a sentence.
        once: When that doubt is over ("once the potassium is repeated and confirmed").
        if_confirmed: The action suggested then; empty, like the two before, without a doubt.
        monitor: What to measure, and how often.
        would_change: What would change the advice.
        limited_evidence: How little is known of pausing it, which goes with nearly every hold.
        do_not_stop: What sudden omission brings; shown as `risk_if_stopped`.
        review_by: Deadline of the review, when one is suggested.
        rank: Place among suggestions that are equally urgent, 1 first.
        named: The chart's own words with what has to be known: "when needed", "not signed yet".
        decision: What it shares with other suggestions; None where it is a decision of its own.
        hold_stands: Whether what speaks for a hold is still there; True forbids a restart.
    """

    order: Origin
    medicine: str
    ingredients: tuple[str, ...] = ()
    action: str
    matched_by: str = ""
    dose_text: str = ""
    as_needed: bool = False
    already_on_hold: bool = False
    reasons: tuple[MedicineReason, ...] = ()
    also: tuple[str, ...] = ()
    besides: tuple[str, ...] = ()
    doubt: str = ""
    once: str = ""
    if_confirmed: str = ""
    monitor: tuple[str, ...] = ()
    restart: Restart | None = None
    would_change: tuple[str, ...] = ()
    limited_evidence: str = ""
    do_not_stop: str = ""
    review_by: datetime | None = None
    hold_stands: bool = False
    rank: int = LAST
    named: str = ""
    decision: Decision | None = None

    @property
    def risk_if_stopped(self) -> str:
        """What sudden omission brings, under the label it is read by; empty where nothing is known.

        The label must not read as an instruction: it stands beside "consider holding".
        """
        return f"{RISK_IF_STOPPED}: {self.do_not_stop}" if self.do_not_stop else ""


class InteractionFinding(Finding, frozen=True, kw_only=True):
    """Medicines that are dangerous together, or with what is the matter.

    Attributes:
        orders: The orders that meet, in the order of the chart.
        medicines: The chart's own words for them.
        against: Those of the orders that are not to be pushed while the others are there.
        asks: What its sentence says beyond the few words, as a sentence.
        raised: Whether circumstances made it as urgent, and not its own harm: of equals it comes after.
    """

    orders: tuple[Origin, ...]
    medicines: tuple[str, ...]
    against: tuple[Origin, ...] = ()
    raised: bool = False
    asks: str = ""


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
    is_arrest: bool = False
    is_for_the_chart: bool = False
    is_undated: bool = False
    reader: str = ""

    @property
    def is_now(self) -> bool:
        """Whether there is no time to name: whoever is called comes at once."""
        return self.is_arrest or self.is_undated or self.within <= timedelta(minutes=1)


class Handover(Plain, frozen=True, kw_only=True):
    """A structured handover, in sentences; blanks say "not recorded".

    Attributes:
        spoken: What is said first on the telephone, at most 120 words; blanks are for the caller to fill.
    """

    situation: tuple[str, ...]
    background: tuple[str, ...]
    assessment: tuple[str, ...]
    recommendation: tuple[str, ...]
    spoken: tuple[str, ...] = ()


class Unassessed(NamedTuple):
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
        medicines_not_recognised: Medicines that nobody could recognise; each is a finding.
        ceiling: Recorded decisions about resuscitation and treatment, most binding first.
        told_first: What leads, each in its few words; empty where nobody is called.
        decisions: The same in few words; says so where nothing about resuscitation is recorded.
        at_bedside: What to do at the bedside until somebody comes; empty where nobody is called.
        is_limited: Whether any of them limits treatment; one about resuscitation does not.
        is_not_for_resuscitation: Whether one of them refuses resuscitation, another may conflict with it.
        investigations: Immediate investigations worth having: missing, or to repeat by a time.
        latest: The newest results that a ward doctor reads first, and what was sent and not read.
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
    told_first: tuple[str, ...] = ()
    findings: tuple[Finding, ...]
    escalation: Escalation | None
    handover: Handover
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
    medicines_not_recognised: int = 0
    investigations: tuple[str, ...] = ()
    latest: LatestResults = field(default_factory=LatestResults)
    cautions: tuple[str, ...] = ()
    labels: tuple[Label, ...] = ()
    zone: tzinfo = UTC

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
