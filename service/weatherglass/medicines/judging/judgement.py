"""Which rules speak of a line of the chart, and what each suggests in the present situation.

The rules are laid out by trigger and class once, when this module is loaded; a line looks
up its own classes and never goes through the rules one by one.
"""

from collections.abc import Callable, Iterator
from datetime import datetime
from functools import lru_cache
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.prevention import only_prevents
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.series.limits_met import Met, meets
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import timing, triggers
from weatherglass.knowledge.medicines.rules.actions import RANK, Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, Step, Trigger
from weatherglass.knowledge.medicines.rules.rules import NOT_TO_BE_STARTED, RULES_BY_TRIGGER
from weatherglass.knowledge.medicines.rules.said.do_not_stop import COMFORT, SYMPTOM_REVIEW
from weatherglass.medicines.judging.of_line import NOTHING, circumstances_of, notes_for
from weatherglass.medicines.judging.situation import Applying, Situation
from weatherglass.medicines.triggers.doses import met_doses
from weatherglass.medicines.triggers.kidney_limits import met_limits
from weatherglass.medicines.triggers.measured.levels import MEASURED, met_levels
from weatherglass.medicines.triggers.measured.results import deciding_potassium
from weatherglass.medicines.triggers.met import MetRule, MetTrigger, met_by, since_beyond
from weatherglass.medicines.triggers.named_rules import met_named
from weatherglass.medicines.triggers.operations import met_needle
from weatherglass.medicines.triggers.recorded import met_not_taken
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Origin


class Variant(Plain, frozen=True):
    """One way in which a rule comes to an action, without the values; see `fixed`."""

    rule: str
    action: Action
    would_be: Action
    decided_by: tuple[Circumstance, ...]
    is_doubtful: bool


class Judged(Plain, frozen=True):
    """One rule that speaks of one line.

    Attributes:
        action: What it comes to, in this situation and for this line.
        would_be: What it would come to for an order in use; for one not signed or ended it differs.
        decided_by: The circumstances that made it stronger or milder than the rule's own action.
        if_confirmed: What it would come to if a doubtful trigger were true; None without doubt.
        since: When this suggestion began to hold.
        asked_since: When it began to hold as urgently as now.
        origins: What the circumstances rest on.
        words: How the suggestion begins where the words of its action do not fit; else empty.
        is_for_comfort: Whether a medicine for comfort is looked at in the last days of life.
        variant: The way in which the rule came to its action.
    """

    rule: MedicineRule
    met: MetTrigger
    action: Action
    would_be: Action
    decided_by: tuple[Circumstance, ...]
    if_confirmed: Action | None
    since: datetime | None
    asked_since: datetime | None
    origins: tuple[Origin, ...]
    words: str
    is_for_comfort: bool
    variant: Variant


class _Indexed(Plain, frozen=True):
    rule: MedicineRule
    but_not: frozenset[str]


def _index() -> dict[Trigger, dict[str, tuple[_Indexed, ...]]]:
    """Lay the rules out by trigger and by class."""
    table: dict[Trigger, dict[str, tuple[_Indexed, ...]]] = {}
    for trigger, rules in RULES_BY_TRIGGER.items():
        by_class = table.setdefault(trigger, {})
        for rule in rules:
            indexed = _Indexed(rule, frozenset(key.value for key in rule.but_not))
            for key in rule.classes:
                by_class[key.value] = (*by_class.get(key.value, ()), indexed)
    return table


_BY_TRIGGER: Final = _index()


#: Asked of what is given here.
_OF_THE_ROUTE: Final = frozenset({Trigger.NOTHING_BY_MOUTH, Trigger.FASTING})


def judge(bedside: Bedside, line: Line, situation: Situation) -> tuple[Judged, ...]:
    """Return every rule that speaks of a line, strongest action first."""
    found = []
    never_hold: bool | None = None
    of_line: frozenset[Circumstance] = NOTHING
    for rule, met in _rules_for(bedside, line, situation):
        if rule.trigger in _OF_THE_ROUTE and line.order in bedside.left_at_home:
            continue
        if never_hold is None:
            never_hold = notes_for(bedside, line, situation).never_hold
            of_line = circumstances_of(bedside, line, situation)
        judged = _apply(bedside, rule, met, line, situation, never_hold=never_hold, of_line=of_line)
        if judged is not None:
            found.append(judged)
    if len(found) > 1:
        found.sort(key=_rank_of_draft if line.standing is Standing.DRAFT else _rank)
    return tuple(found)


def _rank(judged: Judged) -> int:
    return RANK[judged.action]


def _rank_of_draft(judged: Judged) -> int:
    """Put first whether an order that is not signed yet is started at all."""
    return -1 if judged.action is Action.AVOID else RANK[judged.action]


def _rules_for(bedside: Bedside, line: Line, situation: Situation) -> Iterator[MetRule]:
    all_met = situation.met
    of_line = bedside.named(line)
    by_function = met_limits(bedside, of_line, injured=all_met.get(Trigger.AKI))
    yield from by_function
    for rule in _rules_of(situation.triggers, line.classes):
        # The limit of the medicine itself comes before that of its class.
        if not (by_function and rule.trigger is Trigger.LOW_EGFR):
            yield rule, all_met[rule.trigger]
    yield from met_named(bedside, of_line, all_met)
    yield from met_doses(bedside, of_line)
    yield from met_not_taken(bedside, of_line)
    yield from met_needle(bedside, of_line)
    if not MEASURED.isdisjoint(line.medicine.ingredients):
        yield from met_levels(bedside, line, injured=all_met.get(Trigger.AKI))
    if line.standing is Standing.DRAFT:
        yield from _not_to_be_started(bedside, line, situation)


@lru_cache(maxsize=8192)
def _rules_of(triggers_met: tuple[Trigger, ...], classes: frozenset[str]) -> tuple[MedicineRule, ...]:
    """Return the rules of these triggers that speak of any of these classes, each once."""
    found: list[MedicineRule] = []
    for trigger in triggers_met:
        by_class = _BY_TRIGGER[trigger]
        rules = {
            indexed.rule.key: indexed.rule
            for key in classes
            for indexed in by_class.get(key, ())
            if indexed.but_not.isdisjoint(classes)
        }
        found.extend(rules[name] for name in sorted(rules))
    return tuple(found)


_NOT_TO_BE_STARTED: Final = frozenset(key.value for key in NOT_TO_BE_STARTED.classes)


def _not_to_be_started(bedside: Bedside, line: Line, situation: Situation) -> Iterator[MetRule]:
    """Return the limit for starting, where potassium is above it and below that of the rules."""
    if Trigger.HYPERKALAEMIA in situation.met or _NOT_TO_BE_STARTED.isdisjoint(line.classes):
        return
    met = potassium_forbids_start(bedside)
    if met is not None:
        yield NOT_TO_BE_STARTED, met


def potassium_forbids_start(bedside: Bedside) -> MetTrigger | None:
    """Return a potassium above the limit at which a renin-angiotensin blocker is not started."""
    found = deciding_potassium(bedside)
    if found is None or meets(triggers.DO_NOT_START_RAAS, found.measured) is not Met.YES:
        return None
    signal, measured, _ = found
    limit = triggers.DO_NOT_START_RAAS
    since = since_beyond(bedside.record.series(signal).items, limit, least=Met.YES)
    return met_by(bedside, Trigger.HYPERKALAEMIA, signal, measured, limit.source, since)


# One rule and one line


def _apply(
    bedside: Bedside,
    rule: MedicineRule,
    met: MetTrigger,
    line: Line,
    situation: Situation,
    *,
    never_hold: bool,
    of_line: frozenset[Circumstance],
) -> Judged | None:
    if rule.until_given and _is_no_first_dose(bedside, line):
        return None
    if met.trigger in _NOT_OF_A_FLUSH and _is_flush(line):
        return None
    if rule.except_for and rule.except_for.issuperset(line.medicine.ingredients or ("",)):
        return None
    decided_by: tuple[Circumstance, ...] = ()
    origins: tuple[Origin, ...] = ()
    decisive: list[Applying] = []
    required: list[Applying] = []
    action = rule.action
    if rule.only_when or rule.unless or rule.stronger or rule.milder:
        applies = situation.applies

        def is_so(circumstance: Circumstance) -> bool:
            return circumstance in applies or circumstance in of_line

        if any(map(is_so, rule.unless)) or (rule.only_when and not any(map(is_so, rule.only_when))):
            return None
        step = _step(rule, is_so)
        if step is not None:
            action = step.action
            decided_by = tuple(filter(is_so, step.when))
            decisive = [applies[each] for each in decided_by if each in applies]
        required = [applies[each] for each in rule.only_when if each in applies]
        needed = [*decisive, *required]
        origins = tuple(dict.fromkeys(origin for each in needed for origin in each.origins))
    if_confirmed = _if_confirmed(rule, met, never_hold=never_hold) if met.doubt else None
    if action is Action.HOLD and (never_hold or met.doubt):
        action = Action.REVIEW
    suggested = action if line.standing is Standing.IN_USE else _for_standing(action, rule, line)
    if suggested is None:
        return None
    comforts = suggested in (Action.REVIEW, Action.REDUCE) and _is_for_comfort(line, situation)
    if comforts:
        suggested = Action.REVIEW  # A lower dose is not what is asked of the palliative team.
    return Judged(
        rule,
        met,
        suggested,
        action,
        decided_by,
        if_confirmed,
        _since(met.since, line, decisive, required),
        _since(met.asked_since or met.since, line, decisive, required),
        origins,
        SYMPTOM_REVIEW if comforts else rule.says if suggested is action is rule.action else "",
        comforts,
        Variant(rule.key, suggested, action, decided_by, bool(met.doubt)),
    )


_COMFORT: Final = frozenset(key.value for key in COMFORT)


def _is_no_first_dose(bedside: Bedside, line: Line) -> bool:
    """Tell whether a dose was given, or an order is so old that none is its first, or only prevents."""
    if line.last_dose is not None or (line.charted is not None and only_prevents(line.charted)):
        return True
    return line.since is not None and bedside.as_of - line.since > timing.LONG_STANDING_ORDER.length


#: A few units that keep a line open matter in heparin-induced thrombocytopenia and in nothing else.
_NOT_OF_A_FLUSH: Final = frozenset({Trigger.BLEEDING, Trigger.HYPERKALAEMIA, Trigger.LOW_PLATELETS})
_FLUSH: Final = frozenset({"flush", "flushes", "lock", "hepsal", "hepflush"})


def _is_flush(line: Line) -> bool:
    is_heparin = MedicineClass.HEPARIN in line.classes
    return is_heparin and not _FLUSH.isdisjoint(line.medicine.text.casefold().split())


def _is_for_comfort(line: Line, situation: Situation) -> bool:
    return Circumstance.LAST_DAYS in situation.applies and not _COMFORT.isdisjoint(line.classes)


def _step(rule: MedicineRule, is_so: Callable[[Circumstance], bool]) -> Step | None:
    """Return the milder step that holds, or else the strongest one."""
    for ease in rule.milder:
        if any(map(is_so, ease.when)):
            return ease
    stronger = [step for step in rule.stronger if any(map(is_so, step.when))]
    return min(stronger, key=lambda step: RANK[step.action], default=None)


def _if_confirmed(rule: MedicineRule, met: MetTrigger, *, never_hold: bool) -> Action:
    """Return what a rule would suggest if a doubtful trigger were true, in nothing but its circumstances."""
    stronger = [step.action for step in rule.stronger if not set(step.when).isdisjoint(met.if_confirmed)]
    action = min((rule.action, *stronger), key=RANK.__getitem__)
    return Action.REVIEW if action is Action.HOLD and never_hold else action


def _for_standing(action: Action, rule: MedicineRule, line: Line) -> Action | None:
    """Return what an action comes to for an order that is not signed yet, or has ended."""
    if line.standing is Standing.DRAFT:
        return _for_draft(action, rule, line)
    if line.stopped_here:
        # Its order was ended here: only what must not be missed is still said of it.
        return action if action is Action.CONTINUE else None
    if line.standing is Standing.ENDED:
        if action is Action.HOLD:
            return Action.AVOID
        if action is Action.CONTINUE:
            # It may have ended by mistake: said only of what must never be missed, and was no single dose.
            # Without any order nobody has ended it.
            had_an_order = line.charted is not None and not line.was_given_once
            return action if rule.trigger is Trigger.ANY and had_an_order else None
        # Of what was meant once there is no next dose.
        return action if action is Action.LEVEL and not line.was_given_once else None
    return action


def _for_draft(action: Action, rule: MedicineRule, line: Line) -> Action | None:
    """Return what is asked before the signature: whether to start at all comes before any level or dose."""
    if action is Action.CONTINUE:
        return Action.REVIEW if rule.trigger is Trigger.NOTHING_BY_MOUTH else None
    avoids = rule.not_to_start or Action.AVOID in rule.also
    if action is Action.HOLD or (action is rule.action and avoids):
        return Action.AVOID
    if action is not Action.LEVEL or line.last_dose is not None:
        return action
    # What was never given has no level: its need and dose are the question, and no old level is overdue.
    return None if rule.trigger is Trigger.LEVEL_OVERDUE else Action.REVIEW


def _since(trigger: datetime | None, line: Line, *circumstances: list[Applying]) -> datetime | None:
    """Return when a suggestion began: with its trigger, its circumstances and the order, the last of them.

    Of the circumstances of one list any is enough, and the first counts.
    """
    latest = trigger
    if latest is None:
        return None
    for enough in circumstances:
        dated = [each.since for each in enough if each.since is not None]
        if dated:
            latest = max(latest, min(dated))
    if line.since is not None and line.since > latest and line.standing is not Standing.DRAFT:
        return line.since
    return latest
