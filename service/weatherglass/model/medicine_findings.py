"""Findings about the drug chart: a suggestion about one line, and medicines that are dangerous together."""

from datetime import datetime
from typing import Final, NamedTuple

from weatherglass.model.findings import Finding, Measure, Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Origin, Source


class Restart(Plain, frozen=True, kw_only=True):
    """When a held medicine may come back: condition, who decides, by when."""

    condition: str
    who: str
    by: datetime | None


class MedicineReason(Plain, frozen=True):
    """One reason for one suggestion.

    Attributes:
        why: Why, in one sentence; empty where another reason of the suggestion says it too.
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
    """

    asks: str
    because: tuple[str, ...]
    besides: tuple[str, ...]
    urgency: Urgency


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
        raised: Whether circumstances made it as urgent, and not its own harm: of equals it comes after.
        sides: Of a pair of two kinds, the orders of each.
        settled: Whether holds that are asked as soon leave no two of them: it is named behind these.
    """

    orders: tuple[Origin, ...]
    medicines: tuple[str, ...]
    against: tuple[Origin, ...] = ()
    raised: bool = False
    sides: tuple[tuple[Origin, ...], ...] = ()
    settled: bool = False
