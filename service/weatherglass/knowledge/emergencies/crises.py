"""Crises that a problem or a medicine on record makes likely, with the signs that ask for them.

The rows stand in `crises.toml`. Each is a question: what decides it (clonus, stiffness, hormones) is not in
the record.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import timedelta
from functools import cached_property
from typing import Final

from weatherglass.knowledge.data_files import Columns, Days, Hours, TableError, cutoff, toml_members
from weatherglass.knowledge.limits.asking_rows import AskingRow
from weatherglass.knowledge.medicines import pairs
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Window
from weatherglass.model.record.care import OPERATIONS, ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "crises"
COUNTS_FOR: Final = Window(
    length=timedelta(hours=24), source=our_choice("signs and results of the last day count for a crisis")
)
TWINS_FOR: Final = Window(
    length=timedelta(hours=1),
    source=our_choice("of twins any slow fetal heart of an hour counts: a later one may be the other's"),
)
ANSWERED_FOR: Final = Window(
    length=timedelta(days=28),
    source=our_choice("a problem that answers the question of a crisis does so for four weeks"),
)
#: How long ago what a crisis comes after was begun, at least and at most.
AFTER: Final = (timedelta(days=2), timedelta(days=56))

#: Rows are for adults where they do not say otherwise.
ADULT_MONTHS: Final = 16 * 12


class Grade(Columns, frozen=True):
    """How soon, at which signs.

    Attributes:
        soon: How soon.
        numbers: How many measured signs are asked for.
        mind: Whether an altered mind is asked for.
    """

    soon: UrgencyWord
    numbers: int
    mind: bool = False


class Treated(Columns, frozen=True):
    """What is asked instead where the crisis is being treated.

    Attributes:
        classes: Classes of which one is given by a vein or into a muscle.
        asks: What the sentence goes on with then, behind the name of the medicine.
        by_any_route: Whether a dose by mouth treats it too; then a line on the chart alone does not.
    """

    classes: tuple[MedicineClass, ...]
    asks: str
    by_any_route: bool = False


class Crisis(AskingRow, frozen=True, kw_only=True, dict=True):
    """One crisis.

    Attributes:
        asked: The question.
        problems: Problems of which one is on record,
        named: What is asked, as a problem on record: then it is said and no question any more.
        recorded_within: of which none counts that was written down longer ago; zero where all do; beside an
            early pregnancy it is what stands in `beside` that counts no longer,
        times: How often one of them was written down within that time, at different hours, at least,
        classes: or classes of medicines on the chart,
        acts_for: or given, or ended, within this time: they act on;
        pairs: or pairs of medicines on the chart,
        given: or classes of medicines given in the last day, or a procedure of `procedures` done then,
        within_hours: of which none counts that was given longer ago, and no sign that was there before it;
            zero where a day counts, and whatever there is;
        operated: or an operation this long ago at most,
        operated_after: and this long ago at least;
        procedures: or, in its place, a procedure of these kinds.
        early_pregnancy: or a pregnancy of the first weeks, or known by a test alone;
        beside: Problems of which one is there too, none where that does not matter.
        beside_within: of which none counts that was written down longer ago; zero where all do.
        mother: Whether pregnancy or its end within 42 days must be there, or else what stands in `beside`.
        unless_mother: Whether it is not asked then: white cells, pulse and lactate rise in every labour.
        but_not: Classes on the chart that answer the question.
        unless_by: Routes of which a line on the chart leaves it to another question.
        from_months: Not asked of who is younger; who has no age recorded is taken for an adult.
        below_months: Not asked from this age on; zero where there is no such age.
        below_days: Not asked from this age in days on; zero where there is no such age.
        fever_days: Or a temperature of 38 or more on each of so many days, zero where that says nothing.
        whoever: Or who is of this age, in these words; empty where that says nothing.
        settled_by_operation: Whether an operation since the problem was written down answers it,
        settled_by: or a procedure of these kinds.
        treated: What is asked instead where it is being treated.
        unless: Problems of the last weeks that answer it.
        mind_after: How long after the problem a mind must have altered to count, unless it was alert between;
            zero where that is all one.
        unless_gap: Whether an anion gap that nothing explains comes first.
        numbers: The measured signs, as they are written.
        swings: By how much a sign differs within the day: a sign each, too.
        new: Results of these that were as high for long are none of them.
        asked_by: Keys of findings that ask the same by what was measured; not asked beside one as urgent.
        after: Classes of which one was begun two days to eight weeks ago, as an order or a dose.
        grades: How soon, the most urgent first.
    """

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
        """Refuse a pair or a sign that is none.

        Raises:
            ValueError: If it names one.
        """
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
