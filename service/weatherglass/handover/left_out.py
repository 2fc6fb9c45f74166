"""What of the last day was sent and not read, or read and judged by no rule: by name and value.

"Nothing urgent found" over a value that nobody looked at is reassurance that was not earned.
No publication says how to word it; which values count and how many are named are ours.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.facts.acute_problems import new_and_untold, without_a_date
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.results.unjudged import put_up_now, supplied_now, undated_of_late
from weatherglass.facts.rounds.measures import measure_of, show
from weatherglass.handover.kinds import KINDS, KindRow
from weatherglass.knowledge.limits.context_choices import GRAVE_INFECTIONS
from weatherglass.knowledge.limits.out_of_range import OUT_OF_RANGE, USUAL_AFTER, USUAL_FOR, OutOfRange
from weatherglass.knowledge.limits.slow_results import says_nothing_of_today
from weatherglass.model.findings import AkiFinding, Finding, Kind, Measure, State, Urgency
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.values import Flag, Later, Measurement, PutUp, SentValue, Undated
from weatherglass.model.signals import Signal
from weatherglass.model.times.known_times import latest
from weatherglass.model.words.lists import inside_a_sentence

#: In a head, and in the handover, which is read out and where a value may stand for the only time.
_MOST_NAMED, _MOST_READ_OUT = 6, 24
#: On the telephone.
_MOST_TOLD = 2
_KDIGO = "aki-kdigo"
_CALLS_BY_NAME = frozenset(
    {
        "possible-bleeding",
        "anaphylaxis",
        "neutropenic-sepsis",
        "seizure",
        "creatine-kinase-high",
        "haemoglobin-low",
        "inr-high",
        "microangiopathy",
        "neutrophils-low",
        "paracetamol-level-high",
        "platelets-low",
    }
)


class LeftOut(Plain, frozen=True):
    """What stands between a quiet review and "nothing urgent found".

    Attributes:
        known: Not read, though its words name a sign or result that is read in other codes, or its
            sender flagged it: without it the patient is not fully assessed.
        unread: Not read; what it is, is not known here.
        slow: Not read, and of no acute illness by its name: listed, and in no head.
        unjudged: Read, and judged by no rule.
        abnormal: Judged, and clearly abnormal though no limit that calls is reached.
        problems: Problems of the last day that no finding asks for anybody about.
        undated: Problems without a date that are emergencies if they are new.
        quiet: What calls by its name and is treated or has stopped: it asks nobody now.
        danger: Of what was not read the words that may name danger: they stand beside a call too.
        danger_at: When the newest of them was written.
        flags: Warnings that stand since longer: no reason against the calm, which they stand beside.
        ahead: What is dated a little after the moment of the review, in a sentence.
        has_signs: Vital signs are among what was known and not read.
    """

    known: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    slow: tuple[str, ...] = ()
    unjudged: tuple[str, ...] = ()
    abnormal: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    undated: tuple[str, ...] = ()
    quiet: tuple[str, ...] = ()
    danger: tuple[str, ...] = ()
    danger_at: datetime | None = None
    flags: tuple[str, ...] = ()
    supplied: tuple[str, ...] = ()
    ahead: str = ""
    has_signs: bool = False

    def __bool__(self) -> bool:
        """Tell whether anything was left out."""
        return bool(self.sentences)

    @property
    def not_read(self) -> tuple[str, ...]:
        """What was sent and not read, in a sentence; beside a call this alone is said."""
        named = (*self.known, *self.unread)
        return (f"Sent and not read: {_named(named)}.",) if named else ()

    @property
    def dangerous(self) -> str:
        """What of it may name danger, in a sentence; empty where there is none."""
        return f"Written down: {_named(self.danger, _MOST_TOLD)}." if self.danger else ""

    @property
    def not_read_in_full(self) -> tuple[str, ...]:
        """The same for the handover, which has room for every value."""
        named = (*self.known, *self.unread, *self.slow)
        return (f"Sent and not read: {_named(named, _MOST_READ_OUT)}.",) if named else ()

    @property
    def flagged(self) -> str:
        """What its sender put up as a warning, and what was dispensed; empty where there is neither."""
        flags = f"Flags, not read: {_named(self.flags)}." if self.flags else ""
        supplied = f"Dispensed, not read as taken: {_named(self.supplied)}." if self.supplied else ""
        return " ".join(filter(None, (flags, supplied)))

    @property
    def sentences(self) -> tuple[str, ...]:
        """What was left out, in a sentence each."""
        unjudged = (f"Read, but judged by no rule here: {_named(self.unjudged)}.",) if self.unjudged else ()
        abnormal = (
            (f"Abnormal, short of a limit that calls: {_named(self.abnormal)}.",) if self.abnormal else ()
        )
        problems = (f"New on record: {_named(self.problems)}.",) if self.problems else ()
        undated = (f"Without a date, an emergency if new: {_named(self.undated)}.",) if self.undated else ()
        quiet = (f"Quiet for now: {_named(self.quiet)}.",) if self.quiet else ()
        ahead = (self.ahead,) if self.ahead else ()
        return (*self.not_read, *ahead, *quiet, *abnormal, *unjudged, *problems, *undated)


def _is_beside(kind: KindRow) -> bool:
    return kind.of_chart or kind.never_first


def left_unread(bedside: Bedside, ahead: Later | None = None) -> LeftOut:
    """Return what of the last day was sent and not read: all that a narrowed review can say of the rest.

    Whether a rule would have judged what was read, a review that asked few of them does not know.
    """
    left = [
        one
        for one in bedside.sent_unread
        if one.flag is not Flag.CRITICAL  # Which is a finding by itself.
    ]
    slow = [one for one in left if not one.danger and says_nothing_of_today(one.name)]
    apart = {id(one) for one in slow}
    left = [one for one in left if id(one) not in apart]
    # Signs of the patient come before results: a head names only the first of many.
    known = sorted((one for one in left if one.is_known), key=lambda one: not one.vital)
    undated = sorted(undated_of_late(bedside.record, bedside.as_of), key=lambda one: not one.value.vital)
    unread = [one for one in left if not one.is_known and one.outside is not False]
    put_up, standing = put_up_now(bedside.record, bedside.as_of)
    return LeftOut(
        ahead=_not_yet(bedside, ahead) if ahead is not None else "",
        known=(
            *(_said(bedside, one) for one in known),
            *dict.fromkeys(_said_without_a_day(bedside, one) for one in undated),
        ),
        unread=(*(_said(bedside, one) for one in unread), *(_said(bedside, one) for one in put_up)),
        slow=tuple(_said(bedside, one) for one in slow),
        danger=tuple(_said(bedside, one) for one in left if one.danger),
        danger_at=latest(one.at for one in left if one.danger),
        flags=tuple(dict.fromkeys(one.name for one in standing)),
        supplied=tuple(
            f"{one.name} ({bedside.clock.full(one.at)})" if one.at is not None else one.name
            for one in supplied_now(bedside.record, bedside.as_of, bedside.drug_chart.used)
        ),
        has_signs=any(one.vital for one in (*known, *(one.value for one in undated))),
    )


def left_unjudged(bedside: Bedside, findings: Sequence[Finding], ahead: Later | None = None) -> LeftOut:
    """Return what of the last day no rule has looked at, once every question was asked.

    A value that lies inside the range that its sender gave it, unflagged, has been judged by that.
    """
    grave = {one.origin for one in bedside.record.conditions_of(*GRAVE_INFECTIONS)}
    # What a routine line says of a medicine, or of the whole patient, is no word about a problem it rests on.
    said = (f for f in findings if f.urgency is not Urgency.ROUTINE or not _is_beside(KINDS[f.kind]))
    told = {o for finding in said for o in finding.evidence if o not in grave or not _is_low_risk(finding)}
    asked = {o for finding in findings if finding.urgency is not Urgency.ROUTINE for o in finding.evidence}
    quiet = [one for one in findings if _is_quiet(one)]
    told_as_quiet = {origin for one in quiet for origin in one.evidence}
    return replace(
        left_unread(bedside, ahead),
        unjudged=tuple(_measured(bedside, one) for one in bedside.unjudged),
        abnormal=tuple(
            _measured(bedside, measure_of(signal, one))
            for signal, one in out_of_range(bedside)
            if one.origin not in asked and one.origin not in told_as_quiet
        ),
        problems=tuple(
            f"{one.text} ({bedside.clock.full(one.at)})"
            for one in new_and_untold(bedside.record, bedside.as_of, told, asked)
        ),
        undated=without_a_date(bedside.record),
        quiet=tuple(inside_a_sentence(one.brief) for one in quiet),
    )


def _is_low_risk(finding: Finding) -> bool:
    """Tell whether it is a low risk by the signs: no answer to an infection that is grave by its name."""
    return finding.kind is Kind.SEPSIS_RISK and finding.urgency is Urgency.ROUTINE


def _is_quiet(one: Finding) -> bool:
    """Tell whether it calls by its name, and has stopped or is treated."""
    is_stage = isinstance(one, AkiFinding) and bool(one.stage) and one.criterion == _KDIGO
    calls = is_stage or one.key in _CALLS_BY_NAME
    return calls and one.urgency is Urgency.ROUTINE and one.state is not State.SETTLING


def _not_yet(bedside: Bedside, ahead: Later) -> str:
    values, were = ("value", "was") if ahead.count == 1 else ("values", "were")
    dated = f"dated after this review, up to {bedside.clock.full(ahead.until)}"
    return f"{ahead.count} {values} {dated}, {were} not looked at: does a clock run ahead?"


def _said(bedside: Bedside, one: SentValue | PutUp) -> str:
    when = f"({bedside.clock.full(one.at)})" if one.at is not None else ""
    name = one.heading if isinstance(one, SentValue) else one.name
    return " ".join(filter(None, (name, one.shown, when)))


def _said_without_a_day(bedside: Bedside, one: Undated) -> str:
    when = bedside.clock.full(one.earliest) if one.earliest is not None else "no usable time"
    return f"{one.value.name} {one.value.shown} ({when})"


def _measured(bedside: Bedside, one: Measure) -> str:
    when = f" ({bedside.clock.full(one.at)})" if one.at is not None else ""
    return f"{one.label} {show(one)}{when}"


def _named(words: Sequence[str], most: int = _MOST_NAMED) -> str:
    more = f"; and {len(words) - most} more" if len(words) > most else ""
    return f"{'; '.join(words[:most])}{more}"


# Results that are clearly abnormal, short of every limit that calls, and not this person's own level.


def out_of_range(patient: Illness) -> Iterator[tuple[Signal, Measurement]]:
    """Yield the newest result of each kind that is abnormal without a reason on record."""
    for row in OUT_OF_RANGE:
        values = patient.exact(row.signal, patient.choices.laboratory_counts_for)
        is_abnormal = values and row.cutoff.is_met_by(values[-1].value)
        if is_abnormal and not _is_explained(patient, row) and not _is_usual(row, values):
            yield row.signal, values[-1]


def _is_explained(patient: Illness, row: OutOfRange) -> bool:
    is_known = bool(row.unless) and bool(patient.record.known_of(*row.unless))
    return is_known or bool(patient.on_chart(row.unless_on))


def _is_usual(row: OutOfRange, values: tuple[Measurement, ...]) -> bool:
    newest = values[-1].at
    return any(
        USUAL_AFTER.length < newest - one.at <= USUAL_FOR.length and row.cutoff.is_met_by(one.value)
        for one in values
    )
