"""Crises that a problem or a medicine on record makes likely, with the signs that ask for them.

The rows stand in `crises.toml`. Each is a question: what decides it (clonus, stiffness, hormones) is not in
the record.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, Days, Hours, TableError, cutoff, toml_members
from weatherglass.knowledge.limits.asking_rows import AskingRow
from weatherglass.knowledge.medicines import pairs
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.once import cached_property
from weatherglass.model.record.care import OPERATIONS, ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "crises"
_ROWS: Final = PrintedRows("emergencies/crises-rows", globals())
#: How long ago what a crisis comes after was begun, at least and at most.
AFTER: Final = (timedelta(days=2), timedelta(days=56))

#: Rows are for adults where they do not say otherwise.
ADULT_MONTHS: Final = 16 * 12


class Grade(Columns, frozen=True):
    """How soon, at which signs."""

    soon: UrgencyWord
    numbers: int
    mind: bool = False


class Treated(Columns, frozen=True):
    """What is asked instead where the crisis is being treated."""

    classes: tuple[MedicineClass, ...]
    asks: str
    by_any_route: bool = False


class Crisis(AskingRow, frozen=True, kw_only=True, dict=True):
    """One crisis; its columns are explained in `crises.toml`."""

    asked: str
    problems: frozenset[ConditionKind] = frozenset()
    named: frozenset[ConditionKind] = frozenset()
    recorded_within: Days = timedelta(0)
    times: int = 1
    classes: tuple[MedicineClass, ...] = ()
    acts_for: Days = timedelta(0)
    pairs: frozenset[str] = frozenset()
    given: frozenset[MedicineClass] = frozenset()
    within_hours: Hours = timedelta(0)
    operated: Days = timedelta(0)
    operated_after: Days = timedelta(0)
    procedures: frozenset[ProcedureKind] = frozenset()
    early_pregnancy: bool = False
    may_be_pregnant: bool = False
    beside: tuple[ConditionKind, ...] = ()
    beside_within: Days = timedelta(0)
    mother: bool = False
    unless_mother: bool = False
    but_not: tuple[MedicineClass, ...] = ()
    unless_by: frozenset[Route] = frozenset()
    from_months: int = ADULT_MONTHS
    below_months: int = 0
    below_days: int = 0
    fever_days: int = 0
    whoever: str = ""
    settled_by_operation: bool = False
    settled_by: frozenset[ProcedureKind] = frozenset()
    treated: Treated | None = None
    unless: tuple[ConditionKind, ...] = ()
    mind_after: Hours = timedelta(0)
    unless_gap: bool = False
    asked_by: frozenset[str] = frozenset()
    after: frozenset[MedicineClass] = frozenset()
    numbers: tuple[str, ...]
    swings: tuple[str, ...] = ()
    new: frozenset[Signal] = frozenset()
    grades: tuple[Grade, ...]

    def __post_init__(self) -> None:
        """Refuse a pair or a sign that is none."""
        if unknown := self.pairs - {pair.key for pair in pairs.PAIRS}:
            raise TableError(f"{sorted(unknown)} is no pair.")
        _ = self.signs, self.differences

    @cached_property
    def is_of_what_is_on_record(self) -> bool:
        """Whether nothing but one of its problems, medicines or procedures makes it likely."""
        return not (self.early_pregnancy or self.pairs or self.fever_days or self.whoever)

    @property
    def was_done(self) -> frozenset[ProcedureKind]:
        """The procedures of which one makes it likely."""
        if self.operated:
            return self.procedures or frozenset(OPERATIONS)
        return self.procedures if self.given else frozenset()

    @cached_property
    def medicines(self) -> frozenset[str]:
        """The keys of the classes of which one makes it likely."""
        return frozenset(each.value for each in (*self.classes, *self.given))

    @cached_property
    def signs(self) -> tuple[tuple[Signal, Cutoff], ...]:
        """The measured signs, each with its limit."""
        return tuple(_sign(line, self.sources[0]) for line in self.numbers)

    @cached_property
    def differences(self) -> tuple[tuple[Signal, Cutoff], ...]:
        """The signs that may swing, each with the difference from which it does."""
        return tuple(_sign(line, self.sources[0]) for line in self.swings)


def _sign(line: str, source: Source) -> tuple[Signal, Cutoff]:
    name, _, when = line.partition(" ")
    return Signal(name), cutoff(Signal(name), when, source)


CRISES: Final = toml_members("emergencies/crises.toml", Crisis)


#: A kind of problem, class of medicines or kind of procedure; of two with one name each is its own.
_Ground = tuple[type, str]


def _places() -> tuple[frozenset[int], Mapping[_Ground, frozenset[int]]]:
    """Lay out which crises any record may hold, and which ones something on record makes likely."""
    always: set[int] = set()
    by_ground: dict[_Ground, set[int]] = {}
    for place, crisis in enumerate(CRISES):
        if not crisis.is_of_what_is_on_record:
            always.add(place)
        for ground in _grounds(crisis.problems, crisis.medicines, crisis.was_done):
            by_ground.setdefault(ground, set()).add(place)
    return frozenset(always), {ground: frozenset(places) for ground, places in by_ground.items()}


def _grounds(
    problems: Iterable[ConditionKind], medicines: Iterable[str], procedures: Iterable[ProcedureKind]
) -> Iterator[_Ground]:
    yield from ((ConditionKind, each.value) for each in problems)
    yield from ((str, each) for each in medicines)
    yield from ((ProcedureKind, each.value) for each in procedures)


_ALWAYS, _BY_GROUND = _places()


def possible(
    problems: frozenset[ConditionKind], medicines: Iterable[str], procedures: Iterable[ProcedureKind]
) -> Iterator[Crisis]:
    """Yield the crises that anything on record could make likely, in the order of the table.

    Args:
        problems: All kinds that are told.
        medicines: Keys of the classes of all that was ordered or given.
        procedures: All kinds of what was done.
    """
    known = (_BY_GROUND.get(each, frozenset()) for each in _grounds(problems, medicines, procedures))
    for place in sorted(_ALWAYS.union(*known)):
        crisis = CRISES[place]
        # What must stand beside it may be a pregnancy in its place.
        if crisis.mother or not crisis.beside or not problems.isdisjoint(crisis.beside):
            yield crisis
