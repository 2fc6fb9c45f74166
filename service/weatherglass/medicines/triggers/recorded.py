"""Triggers that are recorded and not measured.

Fluid lost, an opioid reversed with naloxone, a head injury, a pregnancy.
"""

from collections.abc import Iterator, Mapping
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import doses_a_day
from weatherglass.facts.medicines.drug_chart import Standing
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.facts.pregnancy import pregnant_now
from weatherglass.facts.series.limits_met import surely
from weatherglass.facts.treatment_limits import Allowed, Treatment, allowed
from weatherglass.knowledge.medicines.groups import members_of
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.rules.rules import RULES_BY_TRIGGER
from weatherglass.knowledge.medicines.rules.said.do_not_stop import IN_LAST_DAYS
from weatherglass.knowledge.medicines.time_critical import TIME_CRITICAL
from weatherglass.knowledge.scores.score_choices import LONGEST_PREGNANCY
from weatherglass.medicines.triggers.gaps import GAPS, doses_missed
from weatherglass.medicines.triggers.met import (
    MetRule,
    MetTrigger,
    at_words,
    met_by,
    met_by_problems,
    met_by_words,
    of_late,
)
from weatherglass.model.plain import replace
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import Administration, Route
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.signals import Signal
from weatherglass.model.subject import Sex
from weatherglass.model.times.known_times import latest
from weatherglass.model.words.clauses import AgeLimit, Window
from weatherglass.model.words.lists import inside_a_sentence

#: Naloxone that is swallowed, as in a tablet with oxycodone, stays in the bowel and reverses nothing.
_REVERSES_NOTHING: Final = frozenset({Route.ORAL, Route.ENTERAL, Route.SUBLINGUAL})
_NALOXONE: Final = ("naloxone",)
_THROMBOLYTIC: Final = MedicineClass.THROMBOLYTIC.value


def recorded_triggers(bedside: Bedside) -> Iterator[MetTrigger]:
    """Return the triggers that the problem list and the doses given meet."""
    for found in (
        _fluid_loss(bedside),
        _reversal(bedside),
        _pregnancy(bedside) or _childbearing(bedside),
        _thrombolysis(bedside),
        _no_laxative(bedside),
        _no_steroid(bedside),
        _blood_refused(bedside),
        _smoke_stopped(bedside),
        _last_days(bedside),
        _age_below(bedside, Trigger.UNDER_12, timing.UNDER_12),
        _age_below(bedside, Trigger.UNDER_16, timing.UNDER_16),
        *(doses_missed(bedside, gap) for gap in GAPS),
        _warfarin_acts_on(bedside),
    ):
        if found is not None:
            yield found


def _fluid_loss(bedside: Bedside) -> MetTrigger | None:
    return _of_problems(
        bedside,
        Trigger.FLUID_LOSS,
        (ConditionKind.DEHYDRATION, ConditionKind.VOMITING_OR_DIARRHOEA),
        timing.LOSS_LISTED_FOR,
        key="fluid-loss",
    )


def _pregnancy(bedside: Bedside) -> MetTrigger | None:
    found = pregnant_now(bedside.record, bedside.as_of)
    if found is None:
        return None
    short = f"{inside_a_sentence(found.said)} on record"
    written = Recorded(found.said, found.since, found.origins[0])
    met = met_by_words(Trigger.PREGNANCY, short, (written,), key="pregnancy", source=LONGEST_PREGNANCY.source)
    return replace(met, origins=found.origins)


def _last_days(bedside: Bedside) -> MetTrigger | None:
    found = [Recorded(one.text, one.at, one.origin) for one in bedside.directives(DirectiveKind.END_OF_LIFE)]
    if not found:
        return None
    short = "last days of life on record"
    return met_by_words(Trigger.LAST_DAYS, short, found, key="last-days", source=IN_LAST_DAYS.source)


def _childbearing(bedside: Bedside) -> MetTrigger | None:
    """Return the age at which a woman may become pregnant, for what is then prevented by a programme."""
    age = bedside.age
    if bedside.record.subject.sex is not Sex.FEMALE or age is None:
        return None
    if not timing.CHILDBEARING_FROM.years <= age < timing.CHILDBEARING_UNTIL.years:
        return None
    short = f"a woman of {age} years"
    return MetTrigger(
        trigger=Trigger.CHILDBEARING, short=short, said=short, sources=(timing.CHILDBEARING_FROM.source,)
    )


def head_injury(bedside: Bedside, all_met: Mapping[Trigger, MetTrigger]) -> MetTrigger | None:
    """Return a recent head injury, with the neurological sign that makes it urgent."""
    found = _of_problems(
        bedside,
        Trigger.HEAD_INJURY,
        (ConditionKind.HEAD_INJURY,),
        timing.HEAD_INJURY_FOR,
        key="head-injury",
    )
    return found and _with_sign(found, all_met)


def drowsy_after_thrombolysis(all_met: Mapping[Trigger, MetTrigger]) -> MetTrigger | None:
    """Return the thrombolysis of the last day, with the neurological sign that makes it worse."""
    found = all_met.get(Trigger.THROMBOLYSED)
    return found and _with_sign(found, all_met)


def _with_sign(found: MetTrigger, all_met: Mapping[Trigger, MetTrigger]) -> MetTrigger:
    signs = [all_met[each] for each in (Trigger.REDUCED_CONSCIOUSNESS, Trigger.DROWSINESS) if each in all_met]
    if not signs:
        return found
    return replace(
        found,
        short=f"{found.short} with {signs[0].short}",
        said=f"{found.said} with {signs[0].said}",
        measures=(*found.measures, *signs[0].measures),
        origins=tuple(dict.fromkeys((*found.origins, *signs[0].origins))),
        asked_since=latest((found.since, signs[0].since)),
        grade=1,
    )


def _of_problems(
    bedside: Bedside, trigger: Trigger, kinds: tuple[ConditionKind, ...], window: Window, *, key: str
) -> MetTrigger | None:
    told = of_late(bedside, kinds, window)
    return met_by_problems(trigger, told, key=key, source=window.source) if told else None


def _reversal(bedside: Bedside) -> MetTrigger | None:
    """Return the naloxone given lately: breathing looks better than the opioid left would have it."""
    earliest = bedside.as_of - timing.NALOXONE_WATCHED_FOR.length
    given = [one for one in bedside.record.administrations if _reverses(one)]
    given = [one for one in given if one.running or one.until >= earliest]
    if not given:
        return None
    last = max(given, key=lambda one: (one.until, one.origin))
    short = "naloxone running" if last.running else "naloxone given"
    return met_by_words(
        Trigger.OPIOID_REVERSED,
        short,
        [_written(one) for one in given],
        key="naloxone",
        label="given",
        said=at_words(short, last.until, bedside.clock),
        source=timing.NALOXONE_WATCHED_FOR.source,
    )


def _written(given: Administration) -> Recorded:
    return Recorded(given.medicine.text, given.at, given.origin)


def _thrombolysis(bedside: Bedside) -> MetTrigger | None:
    """Return the thrombolytic of the last day, running or over."""
    earliest = bedside.as_of - timing.THROMBOLYSIS_WATCHED_FOR.length
    given = [
        one
        for one in bedside.record.administrations
        if _THROMBOLYTIC in one.medicine.classes and (one.running or one.until >= earliest)
    ]
    if not given:
        return None
    last = max(given, key=lambda one: (one.at, one.origin))
    short = f"{last.medicine.text} {'running' if last.running else 'given'}"
    return met_by_words(
        Trigger.THROMBOLYSED,
        short,
        (_written(last),),
        key="thrombolytic",
        label="given",
        said=at_words(short, last.at, bedside.clock),
        source=timing.THROMBOLYSIS_WATCHED_FOR.source,
    )


_LAXATIVE: Final = members_of(["laxative"])
_FOR_SMOKE: Final = members_of(["stands-in-for-smoke"])
_NEEDS_A_STEROID: Final = members_of(["abiraterone"])


def _no_laxative(bedside: Bedside) -> MetTrigger | None:
    """Return that no laxative is on the chart of an adult, where an opioid has been regular for a day."""
    if bedside.is_child or bedside.problems.keys() & {ConditionKind.BOWEL_OBSTRUCTION}:
        return None
    began = [
        line.since
        for line in bedside.drug_chart.lines
        if MedicineClass.OPIOID in line.classes
        and line.standing is Standing.IN_USE
        and line.charted is not None
        and not line.charted.as_needed
        and doses_a_day(line.charted) is not None
        and line.since is not None
    ]
    since = min(began, default=bedside.as_of) + timing.OPIOID_REGULAR_FOR.length
    if since > bedside.as_of or any(each.is_one_of(_LAXATIVE) for each in bedside.named_lines):
        return None
    said = "no laxative on the chart"
    source = timing.OPIOID_REGULAR_FOR.source
    return MetTrigger(trigger=Trigger.NO_LAXATIVE, short=said, said=said, since=since, sources=(source,))


def _no_steroid(bedside: Bedside) -> MetTrigger | None:
    """Return that no glucocorticoid is on the chart beside what needs one."""
    needing = [each.line.since for each in bedside.named_lines if each.is_one_of(_NEEDS_A_STEROID)]
    if not needing or bedside.on_chart((MedicineClass.GLUCOCORTICOID,)):
        return None
    said = "no steroid on the chart"
    source = timing.STEROID_BESIDE_SOURCE
    return MetTrigger(
        trigger=Trigger.NO_STEROID, short=said, said=said, since=latest(needing), sources=(source,)
    )


def _blood_refused(bedside: Bedside) -> MetTrigger | None:
    """Return an advance directive that refuses blood."""
    found = [
        Recorded(one.text, one.at, one.origin)
        for one in bedside.directives(DirectiveKind.ADVANCE_DIRECTIVE)
        if allowed((one,), Treatment.BLOOD) is Allowed.EXCLUDED
    ]
    source = timing.BLOOD_REFUSED_SOURCE
    return (
        met_by_problems(Trigger.BLOOD_REFUSED, found, key="blood-refused", source=source) if found else None
    )


def _smoke_stopped(bedside: Bedside) -> MetTrigger | None:
    """Return that somebody smokes no more: on record, by what stands in for it, or lately in hospital."""
    length, source = timing.SMOKE_PAUSES_FOR.length, timing.SMOKE_PAUSES_FOR.source
    came, problems = bedside.admitted_at, bedside.problems
    paused = came is not None and bedside.as_of - came <= length
    smoked = problems.get(ConditionKind.SMOKER, ()) if paused else ()
    given_up = problems.get(ConditionKind.SMOKE_STOPPED, ())
    recorded = (*smoked, *(one for one in given_up if one.may_have_begun_within(length, bedside.as_of)))
    if recorded:
        found = [Recorded(one.text, one.began, one.origin) for one in recorded]
        met = met_by_problems(Trigger.SMOKE_STOPPED, found, key="smoking", source=source)
        return replace(met, since=came) if smoked else met
    instead = [each.line for each in bedside.named_lines if each.is_one_of(_FOR_SMOKE)]
    if not instead:
        return None
    said = f"{instead[0].medicine.text} on the chart"
    since = latest(line.since for line in instead)
    return MetTrigger(trigger=Trigger.SMOKE_STOPPED, short=said, said=said, since=since, sources=(source,))


def _age_below(bedside: Bedside, trigger: Trigger, limit: AgeLimit) -> MetTrigger | None:
    """Return the age of a child, for what is not for children."""
    if bedside.age is None or bedside.age >= limit.years:
        return None
    years = "1 year" if bedside.age == 1 else f"{bedside.age} years"
    short = f"age {years}" if bedside.age else "age below 1 year"
    return MetTrigger(trigger=trigger, short=short, said=short, sources=(limit.source,))


def _warfarin_acts_on(bedside: Bedside) -> MetTrigger | None:
    """Return the INR that warfarin, or its like, has left within days of its end."""
    newest = bedside.record.series(Signal.INR).recent(bedside.as_of, bedside.choices.laboratory_counts_for)
    if newest is None or not surely(timing.DIRECT_AFTER_WARFARIN, newest):
        return None
    if bedside.on_chart((MedicineClass.VITAMIN_K_ANTAGONIST,)):
        return None
    kind = MedicineClass.VITAMIN_K_ANTAGONIST.value
    ended = [
        (one.ends, one.medicine.text)
        for one in bedside.drug_chart.ended
        if kind in one.medicine.classes
        and one.ends is not None
        and bedside.as_of - one.ends <= timing.WARFARIN_ACTS_FOR.length
    ]
    if not ended:
        return None
    at, text = max(ended)
    since, source = max(at, newest.at), timing.DIRECT_AFTER_WARFARIN.source
    met = met_by(bedside, Trigger.WARFARIN_ACTS_ON, Signal.INR, newest, source, since)
    after = f"after {text}, ended {bedside.clock.full(at)}"
    return replace(met, short=f"{met.short} {after}", said=f"{met.said} {after}")


def _reverses(given: Administration) -> bool:
    return given.medicine.ingredients == _NALOXONE and given.route not in _REVERSES_NOTHING


# Is an ordered medicine recorded as not taken, or ordered not to be given?

_SAID: Final = {
    Trigger.NOT_TAKEN: "recorded as not taken",
    Trigger.NOT_TO_BE_GIVEN: "ordered not to be given",
}


def met_not_taken(bedside: Bedside, of_line: NamedLine) -> Iterator[MetRule]:
    """Return the rule about one line that something on record speaks against."""
    against = of_line.line.not_taken
    if against is None:
        return
    trigger = Trigger.NOT_TO_BE_GIVEN if against.is_order else Trigger.NOT_TAKEN
    (rule,) = RULES_BY_TRIGGER[trigger]
    told = against.since or against.at
    known = (bedside.clock.full(told) if told is not None else "", against.reason)
    beside = ", ".join(filter(None, known))
    said = f"{_SAID[trigger]} ({beside})" if beside else _SAID[trigger]
    met = met_by_words(
        trigger,
        said,
        (Recorded(against.medicine.text, against.at, against.origin),),
        key="not-taken",
        label="said of it",
        source=rule.sources[0],
        since=latest((against.at, of_line.line.since)),
    )
    harms = any(row.home and of_line.is_one_of(row.members) for row in TIME_CRITICAL)
    yield rule, replace(met, grade=1) if harms and not against.is_order else met
