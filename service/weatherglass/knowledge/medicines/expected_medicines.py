"""Medicines that a recorded problem lets one expect, and that harm by being absent.

The rows stand in `expected_medicines.toml`. A chart that holds none of them is a question to somebody, not
proof of an omission: it may be given elsewhere, by a pump, or have been stopped on purpose.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, Lasting, Named, cutoff, toml_members
from weatherglass.knowledge.medicines.groups import Who
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.once import cached_property
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "expected-medicines"
_ROWS: Final = PrintedRows("medicines/expected-medicines-rows", globals())

BLEEDING_SPEAKS_AGAINST: Final = frozenset(_ROWS.members("bleeding-speaks-against", Trigger))


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

    Its columns are explained in `expected_medicines.toml`.
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
    after_operation: Lasting | None = None
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
