"""Which named pairs stand on the chart, the same medicine or class twice among them.

Asked of what is taken, reported as taken, or about to be signed; what has ended makes a pair only while
it acts on.
A pair is said once, with every line that makes it, and not where another finding has said it of
the same lines.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import is_preventive, is_worded, single_in
from weatherglass.facts.medicines.drug_chart import Line, Standing, is_in_use
from weatherglass.facts.medicines.meeting_pairs import MetPair, against, content_of
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.facts.series.runs import present_run
from weatherglass.knowledge.medicines.groups import Members
from weatherglass.knowledge.medicines.medicine_classes import PROTECTS_THE_STOMACH, MedicineClass
from weatherglass.knowledge.medicines.pairs import (
    BEGUN_HERE_AFTER,
    BEGUN_LATELY,
    FIRST_EVERY_OTHER_DAY,
    FRESH_CLOT_FOR,
    FRESH_CORONARY_FOR,
    INR_ABOVE_USUAL,
    INR_CLIMBS_BY,
    INR_COMPARED_WITHIN,
    INR_DUE,
    INR_OF_THE_RANGE,
    LEVEL_SETTLES,
    LONG_FOR_A_PAIR,
    LOW_NORMAL_POTASSIUM,
    NEAR_LOW_GLUCOSE,
    PAIRS,
    SLOW_FOR_A_PAIR,
    STOMACH_OF_THE_OLD,
    URGENCY_SOURCE,
    Pair,
    PairCircumstance,
)
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.knowledge.medicines.washouts import WASHOUTS
from weatherglass.medicines.judging.judgement import is_in_vein
from weatherglass.medicines.judging.situation import Situation
from weatherglass.medicines.telling.wording import each_once, name_of
from weatherglass.medicines.triggers.doses import met_doses
from weatherglass.medicines.triggers.levels import MEASURED, met_levels
from weatherglass.model.findings import URGENCY_OF, Kind, Urgency
from weatherglass.model.known_times import earliest, latest
from weatherglass.model.medicine_findings import InteractionFinding
from weatherglass.model.once import cached_property
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import capital

_WEEK: Final = timedelta(days=7)
_INJECTED: Final = frozenset(
    {MedicineClass.HEPARIN.value, MedicineClass.LMWH.value, MedicineClass.FONDAPARINUX.value}
)


def pairs(
    bedside: Bedside, situation: Situation, said: Iterable[InteractionFinding]
) -> list[InteractionFinding]:
    """Return every pair on the chart that nothing among `said` has named already."""
    if not bedside.pairs_met:
        return []
    applying = _applying(situation)
    told: dict[str, list[frozenset[Origin]]] = {}
    for finding in said:
        told.setdefault(finding.key, []).append(frozenset(finding.orders))
    found = []
    for met in bedside.pairs_met:
        if is_left_at_home(bedside, met):
            continue
        asked = _Asked(bedside, met, applying)
        orders = frozenset(line.order for line in met.lines)
        if _is_said(met.pair, orders, told) or not asked.is_spoken_of:
            continue
        told.setdefault(met.pair.key, []).append(orders)
        asked_since = _worse_since(bedside, met.pair, situation) or _no_longer_calm(bedside, met)
        found.append(_finding(bedside, met, _urgency(asked), asked_since))
    return found


def is_of_one_kind(met: MetPair) -> bool:
    """Tell whether a pair asks which of two medicines of one kind is meant: that is no omission."""
    return met.pair.other is None and met.pair.same == "no" and met.pair.against == "neither"


def is_left_at_home(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether one of two is a home medicine that is not taken here, and no longer acts."""
    left = [line for line in met.lines if line.order in bedside.left_at_home]
    if not left or is_of_one_kind(met):
        return False
    return not met.pair.acts_on or any(not _acts_since_admission(bedside, line) for line in left)


def _acts_since_admission(bedside: Bedside, line: Line) -> bool:
    """Tell whether a medicine whose last dose was at home may still act."""
    of_line, admitted = bedside.named(line), bedside.admitted_at
    rows = (row for row in WASHOUTS if of_line.is_one_of(row.members))
    return admitted is None or any(bedside.as_of - admitted <= row.lasts for row in rows)


def _applying(situation: Situation) -> frozenset[str]:
    sure = (each for each, met in situation.met.items() if not met.doubt)
    return frozenset[str]((*situation.applies, *sure))


def _is_said(pair: Pair, orders: frozenset[Origin], told: Mapping[str, list[frozenset[Origin]]]) -> bool:
    return any(orders <= others for key in pair.said_by for others in told.get(key, ()))


# How urgent


class _Asked(Plain, frozen=True):
    bedside: Bedside
    met: MetPair
    applying: frozenset[str]

    def any_of(self, circumstances: frozenset[str], *, if_none: bool = False) -> bool:
        """Tell whether any of these circumstances holds; without any, as said."""
        if not circumstances:
            return if_none
        return not circumstances.isdisjoint(self.applying) or any(
            _ANSWERS[PairCircumstance(each)](self.bedside, self.met)
            for each in circumstances
            if each in _SPECIAL
        )

    @property
    def is_spoken_of(self) -> bool:
        """Whether the pair speaks in these circumstances."""
        pair = self.met.pair
        return self.any_of(pair.only_when, if_none=True) and not self.any_of(pair.silent_when)


def _urgency(asked: _Asked) -> Urgency:
    pair = asked.met.pair
    urgency = URGENCY_OF[pair.urgency]
    if Circumstance.LAST_DAYS in asked.applying:
        return Urgency.ROUTINE
    if asked.any_of(pair.worse_when):
        urgency = Urgency(min(urgency + 1, Urgency.URGENT))
    elif asked.any_of(pair.calm_when):
        urgency = Urgency.ROUTINE
    if any(line.standing is Standing.REPORTED or _fades(line) for line in asked.met.lines):
        urgency = Urgency(max(urgency - 1, Urgency.ROUTINE))
    return urgency


#: What is gone within days of its end, and is no reason to hurry.
_FADES: Final = frozenset({MedicineClass.SSRI.value, MedicineClass.SNRI.value})


def _fades(line: Line) -> bool:
    is_fluoxetine = "fluoxetine" in line.medicine.ingredients
    return line.standing is Standing.ENDED and not is_fluoxetine and not _FADES.isdisjoint(line.classes)


def _newest(bedside: Bedside, signal: Signal) -> Measurement | None:
    return bedside.record.series(signal).recent(bedside.as_of, bedside.choices.laboratory_counts_for)


def _by_result(signal: Signal, limit: Cutoff, *, is_met: bool = True) -> Callable[[Bedside, MetPair], bool]:
    def answer(bedside: Bedside, _: MetPair) -> bool:
        newest = _newest(bedside, signal)
        return newest is not None and limit.is_met_by(newest.value) is is_met

    return answer


def _inr_since(bedside: Bedside, met: MetPair) -> bool:
    began = [line.since for line in met.lines]
    newest = bedside.record.series(Signal.INR).latest
    if newest is None or INR_ABOVE_USUAL.is_met_by(newest.value):
        return False
    return all(each is not None and each < newest.at for each in began)


def _is_inr_climbing(bedside: Bedside, _: MetPair) -> bool:
    newest = _newest(bedside, Signal.INR)
    if newest is None or not INR_ABOVE_USUAL.is_met_by(newest.value):
        return False
    before = bedside.record.series(Signal.INR).within(newest.at - INR_COMPARED_WITHIN.length, newest.at)
    return any(newest.value - one.value >= INR_CLIMBS_BY.value for one in before)


def _level_since(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether a level of one of the two was in order, so long after the last of both began."""
    began = [line.since for line in met.lines if line.since is not None]
    if len(began) < len(met.lines):
        return False
    settled = max(began) + LEVEL_SETTLES.length
    return any(
        _is_in_order(bedside, line, settled)
        for line in met.lines
        if not MEASURED.isdisjoint(line.medicine.ingredients)
    )


def _is_in_order(bedside: Bedside, line: Line, settled: datetime) -> bool:
    signals = [each.signal for each in LEVEL_RULES if each.key in line.medicine.ingredients]
    newest = [found for signal in signals if (found := bedside.record.series(signal).latest) is not None]
    if not newest or max(each.at for each in newest) < settled:
        return False
    return not any(met.trigger is Trigger.LEVEL_HIGH for _, met in met_levels(bedside, line, injured=None))


def _inr_is_not_due(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether the INR was in order before, and both have not been there for so long that it is due."""
    newest, due = _newest(bedside, Signal.INR), _inr_due(met)
    return (
        newest is not None
        and not INR_ABOVE_USUAL.is_met_by(newest.value)
        and due is not None
        and bedside.as_of < due
    )


def _inr_due(met: MetPair) -> datetime | None:
    """Return when an INR is due: so long after the last of both began; None where that is not recorded."""
    began = [line.since for line in met.lines if line.since is not None]
    return max(began) + INR_DUE.length if len(began) == len(met.lines) else None


def _no_potassium(bedside: Bedside, _: MetPair) -> bool:
    return bedside.record.series(Signal.POTASSIUM).recent(bedside.as_of, _WEEK) is None


def _glucose_near_low(bedside: Bedside) -> list[Measurement]:
    lately = bedside.record.series(Signal.GLUCOSE).within(bedside.as_of - timedelta(days=1), bedside.as_of)
    return [one for one in lately if NEAR_LOW_GLUCOSE.is_met_by(one.value)]


def _is_glucose_near_low(bedside: Bedside, _: MetPair) -> bool:
    return bool(_glucose_near_low(bedside))


def _has_liver_disease(bedside: Bedside, _: MetPair) -> bool:
    return any(one.confirmed for one in bedside.record.conditions_of(ConditionKind.LIVER_DISEASE))


def _prevents(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether every anticoagulant of the pair only prevents clots."""
    return all(is_preventive(bedside.named(line)) for line in met.other)


def _prevents_safely(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether every anticoagulant only prevents clots, beside an acid blocker or below an age."""
    is_young = bedside.age is not None and bedside.age < STOMACH_OF_THE_OLD.value
    is_protected = any(
        not PROTECTS_THE_STOMACH.isdisjoint(line.classes) for line in bedside.drug_chart.exposed
    )
    return (is_young or is_protected) and _prevents(bedside, met)


def _is_of_a_fresh_syndrome(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether every anticoagulant of the pair is injected, in the first days of a coronary syndrome."""
    recorded = bedside.record.conditions_of(ConditionKind.ACUTE_CORONARY_SYNDROME)
    is_fresh = any(
        one.began is not None and bedside.as_of - one.began <= FRESH_CORONARY_FOR.length for one in recorded
    )
    return is_fresh and all(not _INJECTED.isdisjoint(line.classes) for line in met.other)


def _has_fresh_clot(bedside: Bedside, _: MetPair) -> bool:
    clots = bedside.record.conditions_of(ConditionKind.VENOUS_THROMBOEMBOLISM)
    return any(one.began is not None and bedside.as_of - one.began <= FRESH_CLOT_FOR.length for one in clots)


def _is_child(bedside: Bedside, _: MetPair) -> bool:
    return bedside.is_child


def _is_by_vein(_: Bedside, met: MetPair) -> bool:
    return any(is_in_vein(line) for line in met.other)


def _is_added_up(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether the limits of the dose judge the sum of a day: all is known, or enough is to be much."""
    if bedside.paracetamol.is_whole:
        return True
    return any(True for line in met.one for _ in met_doses(bedside, bedside.named(line)))


def _first_is_new(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether the first was begun lately: not carried on from home or from an earlier order.

    What was ordered within a day of coming in may have been taken before.
    """
    before = {name for one in bedside.drug_chart.ended for name in one.medicine.ingredients}
    came = bedside.admitted_at
    return all(
        line.standing is not Standing.REPORTED
        and line.since is not None
        and bedside.as_of - line.since <= BEGUN_LATELY.length
        and (came is None or abs(line.since - came) > BEGUN_HERE_AFTER.length)
        and before.isdisjoint(line.medicine.ingredients)
        and not _is_every_other_day(line)
        for line in met.one
    )


#: Half of what is written for a day.
_EVERY_OTHER_DAY: Final = ("every other day", "alternate day", "every 48 hours", "every 2 days")


def _is_every_other_day(line: Line) -> bool:
    """Tell whether its words say so, and its dose is not known to be more than such a beginning."""
    if line.charted is None or not is_worded(line.charted, _EVERY_OTHER_DAY):
        return False
    single = single_in("mg", line.charted)
    return single is None or single <= FIRST_EVERY_OTHER_DAY.value


_ANSWERS: Final[Mapping[PairCircumstance, Callable[[Bedside, MetPair], bool]]] = {
    PairCircumstance.INR_BELOW_RANGE: _by_result(Signal.INR, INR_OF_THE_RANGE, is_met=False),
    PairCircumstance.INR_IN_RANGE: _by_result(Signal.INR, INR_OF_THE_RANGE),
    PairCircumstance.INR_SINCE: _inr_since,
    PairCircumstance.INR_NOT_DUE: _inr_is_not_due,
    PairCircumstance.POTASSIUM_UNKNOWN: _no_potassium,
    PairCircumstance.POTASSIUM_LOW_NORMAL: _by_result(Signal.POTASSIUM, LOW_NORMAL_POTASSIUM),
    PairCircumstance.LIVER_DISEASE: _has_liver_disease,
    PairCircumstance.PREVENTIVE: _prevents,
    PairCircumstance.PREVENTIVE_AND_SAFE: _prevents_safely,
    PairCircumstance.FRESH_CORONARY: _is_of_a_fresh_syndrome,
    PairCircumstance.BY_VEIN: _is_by_vein,
    PairCircumstance.PARACETAMOL_ADDED: _is_added_up,
    PairCircumstance.QTC_480: _by_result(Signal.CORRECTED_QT, LONG_FOR_A_PAIR),
    PairCircumstance.SLOW_BREATHING: _by_result(Signal.RESPIRATION_RATE, SLOW_FOR_A_PAIR),
    PairCircumstance.LEVEL_SINCE: _level_since,
    PairCircumstance.FIRST_BEGUN: _first_is_new,
    PairCircumstance.INR_CLIMBING: _is_inr_climbing,
    PairCircumstance.FRESH_CLOT: _has_fresh_clot,
    PairCircumstance.CHILD: _is_child,
    PairCircumstance.GLUCOSE_BELOW_6: _is_glucose_near_low,
}
_SPECIAL: Final = frozenset(each.value for each in _ANSWERS)


_WORSE_BY_RESULT: Final = (
    (PairCircumstance.QTC_480, Signal.CORRECTED_QT, LONG_FOR_A_PAIR),
    (PairCircumstance.INR_CLIMBING, Signal.INR, INR_ABOVE_USUAL),
    (PairCircumstance.SLOW_BREATHING, Signal.RESPIRATION_RATE, SLOW_FOR_A_PAIR),
)


def _worse_since(bedside: Bedside, pair: Pair, situation: Situation) -> datetime | None:
    """Return since when a trigger or a result makes a pair more urgent; None where none does."""
    worse = [
        met.since for trigger, met in situation.met.items() if trigger in pair.worse_when and not met.doubt
    ]
    worse += [
        _since(bedside, signal, limit.is_met_by)
        for each, signal, limit in _WORSE_BY_RESULT
        if each in pair.worse_when
    ]
    if PairCircumstance.GLUCOSE_BELOW_6 in pair.only_when:
        worse.extend(one.at for one in _glucose_near_low(bedside))
    return earliest(worse)


def _no_longer_calm(bedside: Bedside, met: MetPair) -> datetime | None:
    """Return since when a result is no longer one beside which both may be meant, or one is due."""
    pair = met.pair
    if PairCircumstance.POTASSIUM_LOW_NORMAL in pair.calm_when:
        return _since(bedside, Signal.POTASSIUM, lambda value: not LOW_NORMAL_POTASSIUM.is_met_by(value))
    if PairCircumstance.INR_SINCE in pair.calm_when:
        above = _since(bedside, Signal.INR, INR_ABOVE_USUAL.is_met_by)
        due = _inr_due(met) if PairCircumstance.INR_NOT_DUE in pair.calm_when else None
        is_due = due is not None and due <= bedside.as_of and _newest(bedside, Signal.INR) is not None
        return due if is_due and above is None else above
    return None


def _since(bedside: Bedside, signal: Signal, is_met: Callable[[Decimal], bool]) -> datetime | None:
    """Return since when the newest results of a signal have been so, without a break."""
    items = bedside.record.series(signal).items
    run = present_run([one.at for one in items], [is_met(one.value) for one in items])
    return run.since if run is not None else None


# What is said


def _against(met: MetPair, urgency: Urgency) -> tuple[Origin, ...]:
    """Return the orders that nothing else may push; what is routine forbids nothing."""
    if urgency is Urgency.ROUTINE:
        return ()
    return against(met)


def _finding(
    bedside: Bedside, met: MetPair, urgency: Urgency, worse_since: datetime | None
) -> InteractionFinding:
    pair, lines = met.pair, met.lines
    names = each_once(
        (line.medicine.ingredients, line.medicine.written, _named(bedside, pair, line)) for line in lines
    )
    orders = tuple(line.order for line in lines)
    # The last of the orders made the pair.
    since = latest(line.since for line in lines)
    return InteractionFinding(
        kind=Kind.MEDICINE_INTERACTION,
        key=pair.key,
        letter=Letter.EXPOSURE,
        urgency=urgency,
        sentence=f"{' + '.join(names)}. {pair.says}",
        brief=f"{' + '.join(names)}. {pair.harm}",
        **rests_on(
            bedside,
            since,
            *orders,
            asked_since=worse_since if since is not None and worse_since and worse_since > since else None,
        ),
        sources=(*pair.sources, URGENCY_SOURCE),
        decided_by="a named pair on the chart",
        orders=orders,
        medicines=tuple(line.medicine.text for line in lines),
        against=_against(met, urgency),
        asks=capital(pair.asks),
        raised=urgency > URGENCY_OF[pair.urgency],
    )


def _named(bedside: Bedside, pair: Pair, line: Line) -> str:
    """Return the name of a line, with when it ended, or was lowered, where that makes the pair."""
    ends = line.charted.ends if line.charted is not None and line.standing is Standing.ENDED else None
    if ends is None:
        return name_of(line)
    if not pair.ended:
        return f"{name_of(line)} (ended {bedside.clock.full(ends)}, acts on)"
    how = "lowered" if is_in_use(line.medicine, bedside.drug_chart.used) else "ended"
    return f"{line.medicine.written} ({how} {bedside.clock.full(ends)})"


# What is on hold


class Partners:
    """What is taken, by the pairs that it could make with a medicine that would come back."""

    def __init__(self, bedside: Bedside, situation: Situation) -> None:
        """Take the patient; both sides of every pair are laid out when the first medicine asks."""
        self._bedside = bedside
        self._applying = _applying(situation)

    @cached_property
    def _sides(self) -> list[tuple[Pair, Mapping[frozenset[str], Line], Mapping[frozenset[str], Line]]]:
        lines = self._bedside.named_lines
        return [
            (pair, _distinct(lines, pair.one), _distinct(lines, pair.second))
            for pair in PAIRS
            if pair.against != "neither" and lines
        ]

    def of(self, line: Line) -> Line | None:
        """Return what is taken that a pair forbids to be given with a line, None where nothing is."""
        of_line = self._bedside.named(line)
        for pair, ones, others in self._sides:
            if pair.against != "other" and others and of_line.is_one_of(pair.one):
                found = self._beside(pair, line, others)
            elif pair.against != "one" and ones and of_line.is_one_of(pair.second):
                found = self._beside(pair, line, ones)
            else:
                continue
            if found is not None:
                return found
        return None

    def _beside(self, pair: Pair, line: Line, others: Mapping[frozenset[str], Line]) -> Line | None:
        content = content_of(line)
        for each, other in others.items():
            if other.order == line.order or (pair.same == "no" and each & content):
                continue
            asked = _Asked(self._bedside, MetPair(pair, (line,), (other,)), self._applying)
            return other if asked.is_spoken_of and _urgency(asked) > Urgency.ROUTINE else None
        return None


def _distinct(lines: Iterable[NamedLine], members: Members) -> Mapping[frozenset[str], Line]:
    """Return one line for each different medicine among those that are meant."""
    return {content_of(each.line): each.line for each in lines if each.is_one_of(members)}
