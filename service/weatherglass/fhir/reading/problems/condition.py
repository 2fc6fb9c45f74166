"""Conditions: what a rule can use of a problem list."""

from datetime import timedelta
from typing import Final

from weatherglass.fhir import r4
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import is_modified
from weatherglass.fhir.reading.medicines.allergy import allergy_of_problem
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.plans.plan_source import open_source, speaks
from weatherglass.fhir.reading.plans.plan_words import Said
from weatherglass.fhir.reading.problems.concept_words import status_of, text_of
from weatherglass.fhir.reading.problems.problem_words import Words, asserted, earlier_year_in, meaning_of
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import replace
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.sources import Origin
from weatherglass.terminology import problems as table

_ACTIVE = frozenset({"active", "recurrence", "relapse"})
_INACTIVE = frozenset({"inactive", "remission", "resolved"})
_UNCONFIRMED = frozenset({"unconfirmed", "provisional", "differential"})
_NOT_TRUE = frozenset({"refuted", "entered-in-error"})


def read_condition(collector: Collector, condition: r4.Condition, entry: SentEntry, origin: Origin) -> None:
    """Take in one Condition, or write down why not."""
    collector.problems.update(
        filter(None, (origin, entry.full_url, entry.alias, f"Condition/{condition.id}"))
    )
    data = collector.data_for(condition.subject, entry, "subject")
    if data is None or not _may_be_used(collector, data, condition, entry):
        return
    verification = status_of(condition.verificationStatus)
    if verification not in _UNCONFIRMED | {"", "confirmed"}:
        collector.say("condition-status-unknown", f"{entry.path}.verificationStatus", data.key)
        verification = "unconfirmed"
    clinical = status_of(condition.clinicalStatus)
    if clinical not in _ACTIVE | _INACTIVE | {""}:
        collector.say("condition-status-unknown", f"{entry.path}.clinicalStatus", data.key)
    words = meaning_of(condition)
    text = text_of(condition.code)
    if not text and not words.kinds:
        collector.say("condition-unnamed", f"{entry.path}.code", data.key)
        return
    if words.set_aside:
        collector.say("condition-denied-in-part", f"{entry.path}.code.text", data.key)
    is_sure = verification not in _UNCONFIRMED and not words.asked
    found = _problem(collector, condition, words, origin, clinical=clinical, is_sure=is_sure)
    data.conditions.append(found)
    _take_allergy(data, found)
    if found.active and found.confirmed:
        read_problem_plan(collector, data, condition, entry, origin)


def _problem(
    collector: Collector,
    condition: r4.Condition,
    words: Words,
    origin: Origin,
    *,
    clinical: str,
    is_sure: bool,
) -> Condition:
    text = text_of(condition.code)
    onset = condition.onsetDateTime or (condition.onsetPeriod.start if condition.onsetPeriod else None)
    earlier_year = earlier_year_in(text, collector.begins(condition.recordedDate or onset))
    # A date of recording says when it was known, at the latest.
    dated = onset or earlier_year or condition.recordedDate
    only = collector.roughly(dated)
    is_active, kinds = _still_there(
        words, is_active=clinical not in _INACTIVE and condition.abatementDateTime is None
    )
    is_of_then = bool(kinds) and not kinds & table.LASTING and earlier_year is not None
    return Condition(
        origin=origin,
        text=text,
        kinds=kinds,
        began=collector.begins(dated),
        began_by=only.ends if only is not None else None,
        ended=collector.ends(condition.abatementDateTime),
        has_onset=onset is not None,
        active=is_active and not is_of_then,
        confirmed=is_sure,
    )


def _still_there(words: Words, *, is_active: bool) -> tuple[bool, frozenset[ConditionKind]]:
    """Tell whether a problem goes on, and what of it."""
    if not (words.past and is_active):
        return is_active, words.kinds
    # What lasts stays with the person; an infection of the past does not. A reaction of the past is
    # no emergency, and goes on being an allergy.
    kinds = words.kinds - {ConditionKind.ANAPHYLAXIS}
    lasting = kinds & table.LASTING
    return bool(lasting) or not kinds, lasting or kinds


def _take_allergy(data: PatientData, condition: Condition) -> None:
    """Take an allergy from the problem list, where some records keep them."""
    if not condition.active:
        return
    found = allergy_of_problem(condition, asserted(condition.text.casefold()))
    if found is not None:
        data.allergies.append(found)


def _may_be_used(collector: Collector, data: PatientData, condition: r4.Condition, entry: SentEntry) -> bool:
    if is_modified(collector, condition, entry.path, data.key):
        return False
    if status_of(condition.verificationStatus) in _NOT_TRUE:
        collector.say("condition-not-true", f"{entry.path}.verificationStatus", data.key)
        return False
    return True


# Decisions that a team keeps on the problem list, where some records have no other place for them.
#
# Only what the words themselves decide is taken: that the last days have come, for resuscitation or not,
# a ceiling or none, what is refused, the saturation that is usual or meant. Nothing is inferred from a
# diagnosis.

#: Ours: a problem list is seldom tidied, and last days are few. Older than this it only limits; without a
#: date it counts beside a syringe driver of what relieves.
_LAST_DAYS_COUNT_FOR: Final = timedelta(days=28)
_WORDS: Final = word_patterns("plan-patterns.toml")
_A_CEILING: Final = _WORDS["ceiling-in-a-problem"]

_KINDS: Final = frozenset(
    {
        DirectiveKind.RESUSCITATION,
        DirectiveKind.FULL_TREATMENT,
        DirectiveKind.END_OF_LIFE,
        DirectiveKind.ADVANCE_DIRECTIVE,
        DirectiveKind.OXYGEN_TARGET,
    }
)


def read_problem_plan(
    collector: Collector, data: PatientData, condition: r4.Condition, entry: SentEntry, origin: Origin
) -> None:
    """Take in what a problem in force decides about treatment."""
    if not speaks(condition.code, is_target=False):
        return
    source = open_source(
        collector,
        data,
        entry,
        origin,
        recorded=condition.recordedDate or condition.onsetDateTime,
        period=None,
        recorded_by="",
    )
    found = [one for one in source.in_concept(condition.code, "code", is_target=False) if _counts(one)]
    source.keep(one for one in found if one.kind is not DirectiveKind.END_OF_LIFE)
    for one in (each for each in found if each.kind is DirectiveKind.END_OF_LIFE):
        source.keep([Said(kind=DirectiveKind.CEILING, text=one.text)])
        if source.at is not None:
            replace(source, ends=source.at + _LAST_DAYS_COUNT_FOR).keep([one])
        else:
            source.keep([replace(one, wants_support=True)])


def _counts(said: Said) -> bool:
    if said.kind is DirectiveKind.CEILING:
        return _A_CEILING.search(said.text.casefold()) is not None
    return said.kind in _KINDS
