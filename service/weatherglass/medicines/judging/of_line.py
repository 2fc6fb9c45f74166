"""What holds of one line of the chart: its circumstances, and what stands beside each suggestion about it."""

from functools import lru_cache
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.thinned import prevents_after
from weatherglass.facts.medicines.doses import daily_milligrams, is_preventive, prevents_by_its_dose
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.medicines.groups import members_of
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.knowledge.medicines.rules.said.do_not_stop import DO_NOT_STOP, DoNotStop
from weatherglass.medicines.judging.form_of_line import forms_of
from weatherglass.medicines.judging.situation import Situation
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.medicines import Route

_IN_VEIN_MATTERS: Final = frozenset(
    key.value
    for entry in DO_NOT_STOP
    for key in entry.classes
    if Circumstance.INTRAVENOUS in (*entry.when, *entry.unless)
)
NOTHING: Final[frozenset[Circumstance]] = frozenset()
_INJECTED_ANTICOAGULANT: Final = members_of(["injected-or-direct-anticoagulant"]).classes
_FOR_MEALS: Final = members_of(["mealtime-insulin"])
_ANTIBACTERIAL: Final = frozenset(
    {
        MedicineClass.ANTIBACTERIAL.value,
        MedicineClass.BETA_LACTAM.value,
        MedicineClass.AMINOGLYCOSIDE.value,
    }
)
_NOT_SWALLOWED: Final = frozenset(
    {
        Route.ENTERAL,
        Route.INTRAMUSCULAR,
        Route.RECTAL,
        Route.SUBCUTANEOUS,
        Route.SUBLINGUAL,
        Route.TRANSDERMAL,
    }
)
#: Beside these nobody is as alert as a bleed that does not grow lets expect.
_CLOUDED: Final = frozenset({Trigger.REDUCED_CONSCIOUSNESS, Trigger.DROWSINESS})
#: Into the cheek, the nose or the rectum: for a fit and nothing else, as a rule.
_RESCUE_ROUTES: Final = frozenset({Route.SUBLINGUAL, Route.NASAL, Route.RECTAL})
_RESCUE_WORDS: Final = frozenset(
    {"crisis", "buccal", "oromucosal", "nasal", "intranasal", "rectal", "rectally"}
)


class Notes(Plain, frozen=True):
    """What is kept beside every suggestion about a line.

    Attributes:
        entries: The groups of the do-not-stop list that it belongs to, in the order of the list.
        text: What sudden omission brings.
        never_hold: Whether a hold is never suggested.
    """

    entries: tuple[DoNotStop, ...]
    text: str
    never_hold: bool


def notes_for(bedside: Bedside, line: Line, situation: Situation) -> Notes:
    """Return what is kept beside every suggestion about a line."""
    applying = situation.for_notes
    if line.charted is not None and line.charted.as_needed:
        applying = (*applying, Circumstance.AS_NEEDED)
    if _only_prevents(bedside, line):
        applying = (*applying, Circumstance.PREVENTIVE_DOSE)
    if not _IN_VEIN_MATTERS.isdisjoint(line.classes) and is_in_vein(line):
        applying = (*applying, Circumstance.INTRAVENOUS)
    notes = _notes(line.classes, applying)
    return replace(notes, never_hold=True) if Circumstance.LAST_DAYS in situation.applies else notes


def _only_prevents(bedside: Bedside, line: Line) -> bool:
    """Tell whether it is an anticoagulant, or aciclovir, in a dose that only prevents."""
    if MedicineClass.ACICLOVIR_LIKE in line.classes:
        return line.charted is not None and not is_in_vein(line) and prevents_by_its_dose(line.charted)
    return not _INJECTED_ANTICOAGULANT.isdisjoint(line.classes) and is_preventive(bedside.named(line))


@lru_cache(maxsize=4096)
def _notes(classes: frozenset[str], applying: tuple[Circumstance, ...]) -> Notes:
    found = tuple(
        entry
        for entry in DO_NOT_STOP
        if not classes.isdisjoint(entry.classes)
        and (not entry.when or any(each in applying for each in entry.when))
        and not any(each in applying for each in entry.unless)
    )
    text = " ".join(dict.fromkeys(entry.harm for entry in found))
    return Notes(found, text, any(entry.never_hold for entry in found))


def is_in_vein(line: Line) -> bool:
    """Tell whether a line goes into a vein, by its route or, without one, by its words."""
    return line.route is Route.INTRAVENOUS or (
        line.route is Route.UNKNOWN and Form.INFUSION in forms_of(line)
    )


def circumstances_of(bedside: Bedside, line: Line, situation: Situation) -> frozenset[Circumstance]:
    """Return the circumstances that are those of one line."""
    found = NOTHING
    if is_in_vein(line):
        found |= {Circumstance.INTRAVENOUS}
    elif MedicineClass.INSULIN in line.classes and bedside.named(line).is_one_of(_FOR_MEALS):
        found |= {Circumstance.MEALTIME_INSULIN}
    if line.charted is not None and line.charted.as_needed:
        found |= {Circumstance.AS_NEEDED}
    if line.route in _NOT_SWALLOWED:
        found |= {Circumstance.NOT_SWALLOWED}
    if _only_prevents(bedside, line):
        found |= {Circumstance.PREVENTIVE_DOSE}
        now = bedside.bleeding
        if bedside.bleeding_has_stopped or (now is not None and now.is_small_fall):
            found |= {Circumstance.PREVENTIVE_IN_A_SMALL_FALL}
        bled = bedside.bled_critically_at
        if bled is not None and prevents_after(bedside, line, bled) and _CLOUDED.isdisjoint(situation.met):
            found |= {Circumstance.PREVENTS_DAYS_AFTER}
    if MedicineClass.GLUCOCORTICOID in line.classes and _is_raised(line):
        found |= {Circumstance.STEROID_RAISED}
    if line.route is Route.EPIDURAL:
        found |= {Circumstance.EPIDURAL}
    if _is_rescue(bedside, line):
        found |= {Circumstance.RESCUE}
    machine = bedside.ventilation
    if machine is not None and any(line.order == one.order for one in machine.sedatives):
        found |= {Circumstance.SEDATES_ON_PURPOSE}
    if not _ANTIBACTERIAL.isdisjoint(line.classes) and _is_early(bedside, line):
        found |= {Circumstance.FIRST_48_HOURS_OF_TREATMENT}
    return found


def _is_raised(line: Line) -> bool:
    """Tell whether a steroid is written in a dose that is enough in an infection."""
    daily = daily_milligrams(line.charted)
    enough = [
        timing.STEROID_ENOUGH[name] for name in line.medicine.ingredients if name in timing.STEROID_ENOUGH
    ]
    return is_in_vein(line) or (daily is not None and any(daily >= each.value for each in enough))


def _is_rescue(bedside: Bedside, line: Line) -> bool:
    """Tell whether a benzodiazepine lies ready for a seizure and was not given: it made nobody drowsy."""
    if MedicineClass.BENZODIAZEPINE not in line.classes:
        return False
    dose = line.last_dose
    if dose is not None and bedside.as_of - dose.until <= timing.RESCUE_ACTS_FOR.length:
        return False
    words = line.medicine.text.casefold().split()
    return line.route in _RESCUE_ROUTES or not _RESCUE_WORDS.isdisjoint(words)


def _is_early(bedside: Bedside, line: Line) -> bool:
    """Tell whether treatment of an infection began lately: by the order, or else by the infection."""
    infection = bedside.infection
    began = line.since or (infection.since if infection is not None else None)
    return began is not None and bedside.as_of - began <= timing.EARLY_TREATMENT.length
