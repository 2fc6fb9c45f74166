"""Medicines that a recorded problem lets one expect, and that harm by being absent.

The rows stand in `expected_medicines.toml`. A chart that holds none of them is a question to somebody, not
proof of an omission: it may be given elsewhere, by a pump, or have been stopped on purpose.
"""

from datetime import timedelta
from functools import cached_property
from typing import Final

from weatherglass.knowledge.data_files import Columns, Lasting, Named, cutoff, toml_members
from weatherglass.knowledge.medicines.groups import Who
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.model.clauses import Window
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "expected-medicines"

#: Bleeds, or soon may: what is expected against clots is then not urged.
BLEEDING_SPEAKS_AGAINST: Final = frozenset(
    {
        Trigger.BLEEDING,
        Trigger.CRITICAL_BLEEDING,
        Trigger.HEAD_INJURY,
        Trigger.LOW_PLATELETS,
        Trigger.PLATELETS_HALVED_ON_HEPARIN,
        Trigger.INR_5_TO_8,
        Trigger.INR_ABOVE_8,
    }
)


class WorseValue(Columns, frozen=True, dict=True):
    """A value that makes the question urgent, and why."""

    signal: Signal
    when: str
    why: str

    @cached_property
    def cutoff(self) -> Cutoff:
        """Its limit."""
        return cutoff(self.signal, self.when, our_choice(self.why))


class ExpectedMedicine(Columns, frozen=True, kw_only=True):
    """One problem and the medicine that goes with it.

    Attributes:
        key: Stable key.
        problem: The problem, as it begins a sentence.
        medicine: The medicine as a reader calls it.
        kinds: What the problem is recorded as.
        procedures: Or a procedure that says the same.
        lasts: Whether an inactive record of the problem counts.
        speaks_against_by_bleeding: Whether a bleeding may be why it is not given.
        highest: How urgent it can become.
        within: How long ago it may have begun, by a recorded date; None where that does not matter.
        classes: Any of these in use is enough.
        core: Those whose end is asked about although another of `classes` is in use.
        harm: What its absence brings.
        worse: A value that makes the question urgent.
        for_comfort: Whether it is asked about in recorded last days of life too.
        only_these: It is missing where something of `classes` is in use and all of that is of these.
        treats: Whether a dose that only prevents clots is not enough.
        suspected: Whether a suspicion of the problem is enough.
        pressing: Of `kinds`, those that make it urgent by themselves while they are new.
        named: Or any of these in use is enough.
        beside: Only where one of these is recorded too.
        once: Whether it is given once: a dose or an order since the problem began answers it.
        in_altered_mind: What its absence may mean where the mind is altered now, which makes it urgent.
    """

    key: str
    problem: str
    medicine: str
    kinds: frozenset[Named[ConditionKind]]
    classes: frozenset[Named[MedicineClass]] = frozenset()
    core: frozenset[Named[MedicineClass]] = frozenset()
    harm: str
    source: Source
    procedures: frozenset[Named[ProcedureKind]] = frozenset()
    lasts: bool = True
    within: Lasting | None = None
    speaks_against_by_bleeding: bool = False
    highest: UrgencyWord = "emergency"
    worse: WorseValue | None = None
    for_comfort: bool = True
    only_these: Who | None = None
    treats: bool = False
    suspected: bool = False
    pressing: frozenset[Named[ConditionKind]] = frozenset()
    named: Who | None = None
    in_altered_mind: str = ""
    beside: frozenset[Named[ConditionKind]] = frozenset()
    once: bool = False

    @property
    def speaks_against(self) -> frozenset[Trigger]:
        """Triggers that may be why it is not given."""
        return BLEEDING_SPEAKS_AGAINST if self.speaks_against_by_bleeding else frozenset()


EXPECTED: Final = toml_members("medicines/expected_medicines.toml", ExpectedMedicine)
#: An order that ended within this time, or without a date, is asked about by name.
RECENTLY_ENDED: Final = Window(
    length=timedelta(days=14), source=our_choice("an order that ended in the last 14 days is asked about")
)
#: For how long a problem that presses by itself is new.
PRESSES_FOR: Final = Window(
    length=timedelta(days=7), source=our_choice("a problem makes it urgent by itself for its first 7 days")
)
URGENCY_SOURCE: Final = our_choice(
    "prompt; urgent with any acute trigger; an emergency with shock, sepsis or ketones; prompt at most in "
    "recorded last days of life"
)
