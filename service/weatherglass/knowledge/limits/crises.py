"""Crises that a problem or a medicine on record makes likely, with the signs that ask for them.

The rows stand in `crises.toml`. Each is a question: what decides it (clonus, stiffness, hormones) is not in
the record.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, TableError, cite, cutoff, toml_rows
from weatherglass.knowledge.medicines import pairs
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Window
from weatherglass.model.letters import Letter
from weatherglass.model.plain import Plain
from weatherglass.model.record import ConditionKind, ProcedureKind, Route
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "crises"
COUNTS_FOR: Final = Window(
    length=timedelta(hours=24), source=our_choice("signs and results of the last day count for a crisis")
)
ANSWERED_FOR: Final = Window(
    length=timedelta(days=28),
    source=our_choice("a problem that answers the question of a crisis does so for four weeks"),
)

#: Rows are for adults where they do not say otherwise.
ADULT_MONTHS: Final = 16 * 12
_SIGNALS: Final = {each.value: each for each in Signal}


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
    """

    classes: tuple[MedicineClass, ...]
    asks: str


class _Row(Columns, frozen=True):
    asked: str
    letter: Letter
    numbers: tuple[str, ...]
    grades: tuple[Grade, ...]
    asks: str
    sources: tuple[str, ...]
    at_once: str = ""
    problems: tuple[ConditionKind, ...] = ()
    recorded_within: int = 0
    classes: tuple[MedicineClass, ...] = ()
    pairs: tuple[str, ...] = ()
    given: tuple[MedicineClass, ...] = ()
    operated: int = 0
    procedures: tuple[ProcedureKind, ...] = ()
    operated_after: int = 0
    beside: tuple[ConditionKind, ...] = ()
    but_not: tuple[MedicineClass, ...] = ()
    unless_by: tuple[Route, ...] = ()
    from_months: int = ADULT_MONTHS
    below_months: int = 0
    below_days: int = 0
    fever_days: int = 0
    whoever: str = ""
    settled_by_operation: bool = False
    treated: Treated | None = None
    unless: tuple[ConditionKind, ...] = ()


class Crisis(Plain, frozen=True, kw_only=True):
    """One crisis.

    Attributes:
        key: Stable key.
        asked: The question.
        letter: Where it is told.
        problems: Problems of which one is on record,
        recorded_within: of which none counts that was written down longer ago; zero where all do,
        classes: or classes of medicines on the chart,
        pairs: or pairs of medicines on the chart,
        given: or classes of medicines given in the last day,
        operated: or an operation this long ago at most,
        operated_after: and this long ago at least;
        procedures: or, in its place, a procedure of these kinds.
        beside: Problems of which one is there too, none where that does not matter.
        but_not: Classes on the chart that answer the question.
        unless_by: Routes of which a line on the chart leaves it to another question.
        from_months: Not asked of who is younger; who has no age recorded is taken for an adult.
        below_months: Not asked from this age on; zero where there is no such age.
        below_days: Not asked from this age in days on; zero where there is no such age.
        fever_days: Or a temperature of 38 or more on each of so many days, zero where that says nothing.
        whoever: Or who is of this age, in these words; empty where that says nothing.
        settled_by_operation: Whether an operation since the problem was written down answers it.
        treated: What is asked instead where it is being treated.
        unless: Problems of the last weeks that answer it.
        signs: The measured signs.
        grades: How soon, the most urgent first.
        asks: What the sentence goes on with.
        at_once: What is done at the bedside before anybody comes.
        sources: Where it is stated, the first one first.
    """

    key: str
    asked: str
    letter: Letter
    problems: frozenset[ConditionKind]
    recorded_within: timedelta
    classes: tuple[MedicineClass, ...]
    pairs: frozenset[str]
    given: frozenset[str]
    operated: timedelta
    operated_after: timedelta
    procedures: frozenset[ProcedureKind]
    beside: tuple[ConditionKind, ...]
    but_not: tuple[MedicineClass, ...]
    unless_by: frozenset[Route]
    from_months: int
    below_months: int
    below_days: int
    fever_days: int
    whoever: str
    settled_by_operation: bool
    treated: Treated | None
    unless: tuple[ConditionKind, ...]
    signs: tuple[tuple[Signal, Cutoff], ...]
    grades: tuple[Grade, ...]
    asks: str
    at_once: str
    sources: tuple[Source, ...]


def _crisis(key: str, row: _Row) -> Crisis:
    unknown = set(row.pairs) - {pair.key for pair in pairs.PAIRS}
    if unknown:
        raise TableError(f"crises.toml, [{key}]: {sorted(unknown)} is no pair.")
    sources = tuple(cite(line) for line in row.sources)
    return Crisis(
        key=key,
        asked=row.asked,
        letter=row.letter,
        problems=frozenset(row.problems),
        recorded_within=timedelta(days=row.recorded_within),
        classes=row.classes,
        pairs=frozenset(row.pairs),
        given=frozenset(each.value for each in row.given),
        operated=timedelta(days=row.operated),
        operated_after=timedelta(days=row.operated_after),
        procedures=frozenset(row.procedures),
        beside=row.beside,
        but_not=row.but_not,
        unless_by=frozenset(row.unless_by),
        from_months=row.from_months,
        below_months=row.below_months,
        below_days=row.below_days,
        fever_days=row.fever_days,
        whoever=row.whoever,
        settled_by_operation=row.settled_by_operation,
        treated=row.treated,
        unless=row.unless,
        signs=tuple(_sign(key, line, sources[0]) for line in row.numbers),
        grades=row.grades,
        asks=row.asks,
        at_once=row.at_once,
        sources=sources,
    )


def _sign(key: str, line: str, source: Source) -> tuple[Signal, Cutoff]:
    name, _, when = line.partition(" ")
    if name not in _SIGNALS:
        raise TableError(f"crises.toml, [{key}]: {name!r} is no signal; write 'pulse > 100'.")
    return _SIGNALS[name], cutoff(_SIGNALS[name], when, source)


CRISES: Final = tuple(_crisis(key, row) for key, row in toml_rows("limits/crises.toml", _Row).items())
