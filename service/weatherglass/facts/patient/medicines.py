"""What the patient takes: the drug chart, the allergies it meets, the doses; and who is sedated by it."""

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.facts.anaphylaxis import Anaphylaxis, met_as_suspects, recent_anaphylaxis
from weatherglass.facts.breathing.ventilation import Ventilation, ventilation
from weatherglass.facts.medicines.allergy_check import Meeting, meetings
from weatherglass.facts.medicines.doses import Dose, largest_doses
from weatherglass.facts.medicines.drug_chart import DrugChart, Line, Standing, drug_chart
from weatherglass.facts.medicines.meeting_pairs import MetPair, pairs_on_chart, washing_out
from weatherglass.facts.medicines.named_lines import NamedLine, is_taken, named
from weatherglass.facts.medicines.paracetamol import DaySum, paracetamol_of_a_day
from weatherglass.facts.metabolic.ketoacidosis import DIABETES, TREATS_DIABETES
from weatherglass.facts.metabolic.potassium_shift import is_for_potassium
from weatherglass.facts.patient.person import Person
from weatherglass.facts.seizures import Seizure, recent_seizures
from weatherglass.facts.whereabouts import Presence
from weatherglass.knowledge.medicines.limits.preventive_doses import HEAVY, NEW_JOINT, PREVENTS_AFTER_A_JOINT
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass, acts_locally
from weatherglass.knowledge.medicines.time_critical import EARLY, RECONCILED_WITHIN
from weatherglass.model.once import cached_property
from weatherglass.model.plain import replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.medicines import Administration, MedicineOrder, Omission, OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin


class Medicines(Person):
    """What is on the drug chart."""

    @cached_property
    def drug_chart(self) -> DrugChart:
        """Every medicine in use, reported, on hold, not signed yet, or ended and still acting."""
        return drug_chart(self.record, self.as_of)

    def on_chart(self, classes: Collection[MedicineClass]) -> tuple[MedicineOrder, ...]:
        """Return the active orders of these classes that reach the blood, home medicines too."""
        return tuple([order for order, reaching in self._in_force if not reaching.isdisjoint(classes)])

    @cached_property
    def _in_force(self) -> tuple[tuple[MedicineOrder, frozenset[str]], ...]:
        """The active orders, home medicines too, with those of their classes that reach the blood.

        An order for one dose is there as long as that acts, or may still be given.
        """
        over = {order.origin for order in self.drug_chart.ended if order.for_once}
        over -= {line.order for line in self.drug_chart.lines}
        return tuple(
            (one, frozenset(key for key in one.medicine.classes if not acts_locally(key, one.route)))
            for one in self.record.orders
            if one.status is OrderStatus.ACTIVE and one.in_force_at(self.as_of) and one.origin not in over
        )

    @cached_property
    def has_diabetes(self) -> bool:
        """Whether diabetes, or a treatment of it, is on record."""
        return self.record.has(*DIABETES) or any(
            not is_for_potassium(self.record, one) for one in self.on_chart(TREATS_DIABETES)
        )

    @cached_property
    def named_lines(self) -> tuple[NamedLine, ...]:
        """What is taken, reported as taken or about to be signed, with the words that name it."""
        return tuple(self.named(line) for line in self.drug_chart.lines if is_taken(line))

    @cached_property
    def left_at_home(self) -> frozenset[Origin]:
        """Home medicines that nobody has ordered within a day in hospital: they are not taken here.

        Where no orders are sent a statement is all that is known.
        """
        admitted = self.admitted_at
        if admitted is None or self.in_hospital is not Presence.HERE:
            return frozenset()
        if self.as_of - admitted < RECONCILED_WITHIN.length or not self.has_orders:
            return frozenset()
        lines = (one for one in self.drug_chart.lines if one.standing is Standing.REPORTED)
        return frozenset(one.order for one in lines if not one.medicine.is_unnamed)

    @property
    def has_orders(self) -> bool:
        """Whether any medicine is ordered here."""
        return any(o.status is OrderStatus.ACTIVE and not o.is_statement for o in self.record.orders)

    @cached_property
    def insulin_by_vein(self) -> tuple[Origin, ...]:
        """The lines of insulin that go, or would go, into a vein."""
        return tuple(
            line.order
            for line in self.drug_chart.exposed
            if MedicineClass.INSULIN in line.classes and line.route is Route.INTRAVENOUS
        )

    @cached_property
    def pairs_met(self) -> tuple[MetPair, ...]:
        """Every named pair of medicines of which both are on the chart, or one has ended and acts on."""
        after = tuple(map(self.named, washing_out(self.drug_chart, self.record.administrations, self.as_of)))
        return tuple(pairs_on_chart(self.named_lines, after))

    @cached_property
    def given_of_a_day(self) -> Mapping[Origin, tuple[Administration, ...]]:
        """The doses of the last day, by the order of their line."""
        return given_of_a_day(self.record.administrations, self.drug_chart.lines, self.as_of)

    @cached_property
    def paracetamol(self) -> DaySum:
        """What the lines of paracetamol come to in a day, written and given."""
        return paracetamol_of_a_day(self.named_lines, self.given_of_a_day)

    def named(self, line: Line) -> NamedLine:
        """Return a line of the chart with the words that name it."""
        known = self._named.get(line.order)
        if known is None or known.line is not line:
            known = named(line)
            if self._words_of_prevention:
                known = replace(known, words=known.words | self._words_of_prevention)
            self._named[line.order] = known
        return known

    @cached_property
    def _words_of_prevention(self) -> frozenset[str]:
        """What decides which doses only prevent clots: a new joint, a high weight."""
        weights = self.record.series(Signal.WEIGHT).items
        newest = next((one.value for one in reversed(weights) if one.is_exact), Decimal(0))
        heavy = {word for word, limit in HEAVY.items() if newest >= limit.value}
        return frozenset(heavy | ({NEW_JOINT} if self._has_new_joint else set()))

    @property
    def _has_new_joint(self) -> bool:
        """Whether a hip or knee was replaced so lately that a low dose prevents clots, and none is known."""
        if self.record.told_of(ConditionKind.ATRIAL_FIBRILLATION, ConditionKind.VENOUS_THROMBOEMBOLISM):
            return False
        done = self.record.done(ProcedureKind.JOINT_REPLACEMENT)
        return any(timedelta(0) <= self.as_of - one.at <= PREVENTS_AFTER_A_JOINT.length for one in done)

    @cached_property
    def _named(self) -> dict[Origin, NamedLine]:
        return {}

    @cached_property
    def omitted(self) -> Mapping[Origin, tuple[Omission, ...]]:
        """The doses recorded as not given, oldest first, by their order, where one is of the last day."""
        earliest = self.as_of - timedelta(days=1)
        lines = self.drug_chart.lines
        by_content = {name: line.order for line in lines for name in line.medicine.ingredients}
        by_words = {line.medicine.text.casefold(): line.order for line in lines}
        found: dict[Origin, list[Omission]] = {}
        for one in self.record.omissions:
            written = by_words.get(one.medicine.text.casefold())
            named = [by_content[name] for name in one.medicine.ingredients if name in by_content]
            order = one.order or written or next(iter(named), None)
            if order is not None:
                found.setdefault(order, []).append(one)
        return {order: tuple(doses) for order, doses in found.items() if doses[-1].at >= earliest}

    @cached_property
    def largest_doses(self) -> Mapping[tuple[str, str], tuple[Dose, ...]]:
        """The two largest single doses of each ingredient among all orders, in force or ended."""
        chart = self.drug_chart
        in_force = (line.charted for line in chart.lines if line.charted is not None)
        return largest_doses((*in_force, *chart.ended))

    # What it meets

    @cached_property
    def anaphylaxis(self) -> Anaphylaxis | None:
        """The anaphylaxis that was recorded in the last day, if there was one."""
        return recent_anaphylaxis(self.record, self.as_of)

    @cached_property
    def allergies_met(self) -> Mapping[Origin, Meeting]:
        """Which lines of the drug chart meet a recorded allergy, and how."""
        lines = self.drug_chart.lines
        recorded = meetings(self.record.allergies, lines)
        if self.anaphylaxis is None:
            return recorded
        return {**recorded, **met_as_suspects(self.anaphylaxis, lines)}

    @cached_property
    def seizures(self) -> tuple[Seizure, ...]:
        """The seizures that were recorded in the last day."""
        return tuple(recent_seizures(self.record, self.as_of))

    # Ventilated and sedated

    @cached_property
    def ventilation(self) -> Ventilation | None:
        """The ventilation through a tube that is going on, with what sedates for it; None where none is."""
        return ventilation(self.record, self.as_of, self.where, self.drug_chart.lines)

    @property
    def is_sedated(self) -> bool:
        """Whether the patient is ventilated and sedated on purpose: then no answer is no sign."""
        return self.ventilation is not None and self.ventilation.is_sedated


# What was given in the last day, by the line of the drug chart that it is of.

#: A dose that comes an hour early is no dose more.
_A_DAY_OF_DOSES: Final = timedelta(days=1) - EARLY.length


def given_of_a_day(
    doses: Iterable[Administration], lines: Iterable[Line], as_of: datetime
) -> Mapping[Origin, tuple[Administration, ...]]:
    """Return the doses of the last day by the order of their line, oldest first.

    A dose is of the order that it names, or else of the one line that holds the same.
    """
    holding: dict[frozenset[str], list[Line]] = {}
    for line in lines:
        holding.setdefault(frozenset(line.medicine.ingredients), []).append(line)
    found: dict[Origin, list[Administration]] = {}
    for dose in doses:
        if not timedelta(0) <= as_of - dose.at <= _A_DAY_OF_DOSES:
            continue
        held = frozenset(dose.medicine.ingredients)
        same = holding.get(held, []) if held else []
        order = dose.order if dose.order is not None else same[0].order if len(same) == 1 else None
        if order is not None:
            found.setdefault(order, []).append(dose)
    return {order: tuple(of_it) for order, of_it in found.items()}
