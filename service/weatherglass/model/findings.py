"""What the review found, as plain values that a writer can turn into any format.

A finding carries everything a writer needs: the sentence, the numbers with units and
times, where each input came from, what was missing and what that could change, the
publication, and the cautions. A writer never compares numbers.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from enum import IntEnum, StrEnum
from typing import Final

from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin, Source
from weatherglass.model.tables.scores import ScoreParameter
from weatherglass.model.times.known_times import latest


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
#: Key of the one single sign before which nothing else is said: no breathing, no pulse.
MOST_CATASTROPHIC: Final = "no-signs-of-life"
#: Keys of signs that somebody named by what it is; they are said before the numbers that it shows in.
TRANSFUSION_REACTION: Final = "transfusion-reaction"
RECORDED_EMERGENCIES: Final = frozenset({"anaphylaxis", "seizure", TRANSFUSION_REACTION})
#: How the key of a problem ends that is an emergency by its name.
RECORDED_AS_SUCH: Final = "-recorded"
#: Key of how long ago the last operation was.
POST_OPERATIVE_DAY: Final = "post-operative-day"
#: Key of what was abnormal and was left out of every round since.
NOT_RECORDED_SINCE: Final = "not-recorded-since"
#: Key of the decline of several signs together, which says more than any of them.
SLOW_DECLINE: Final = "slow-decline"


class Measure(Plain, frozen=True):
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
    return latest(one.at for one in measures)


class Step(Plain, frozen=True):
    """One step of how a finding was worked out, with its inputs and the source of its formula."""

    key: str
    said: str
    source: Source
    measures: tuple[Measure, ...] = ()


class MissingReason(StrEnum):
    """Why an input could not be used."""

    NOT_RECORDED = "not recorded"
    NOT_READ = "sent and not read"
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
        asks: What its sentence says beyond the few words, as a sentence; empty where it begins otherwise.
        behind: The same behind a finding that has just said its first number; empty where that
            changes nothing.
        at_once: What is done at the bedside before anybody comes, without a full stop.
        dated: The moment that the few words name; None where they name none.
        at: Time of the newest input used.
        since: When the present run of the finding began.
        asked_since: When the reason for its present urgency began, which is when its deadline
            starts to count; None where that is the same moment as `since`.
        course: What has changed, as a clause behind the total that it follows: "up from 1 (18 hours before)";
            empty but for a score that is followed.
        within: How soon its own rule asks for somebody; None where the urgency says it.
        waits: How long its own rule lets it wait, where that is longer than the urgency says.
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
    sources: tuple[Source, ...]
    asks: str = ""
    behind: str = ""
    at_once: str = ""
    state: State | None = None
    since: datetime | None = None
    asked_since: datetime | None = None
    dated: datetime | None = None
    course: str = ""
    within: timedelta | None = None
    waits: timedelta | None = None
    measures: tuple[Measure, ...] = ()
    evidence: tuple[Origin, ...] = ()
    missing: tuple[Missing, ...] = ()
    cautions: tuple[str, ...] = ()
    steps: tuple[Step, ...] = ()
    decided_by: str = ""
    provisional: bool = False


class ScorePart(Plain, frozen=True):
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


class ScorePoint(Plain, frozen=True):
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
    """A score of one round of observations; its key is that of the score ("news2").

    Attributes:
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
        history: Past scores, oldest first, this one last.
    """

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
