"""The drug chart as it stands at one moment: one line for each medicine in question.

An order says what is meant to be given, a statement what is taken at home, a dose given
what has got into the patient. The three are put together here, so that a rule asks of
one line: is it in use, on hold, not signed yet, or ended but still acting?

A class that acts only where it is put (a gel, an inhaler, swallowed vancomycin) is not a
class of the line. Orders that have not begun, or ended long ago, make no line.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from functools import lru_cache
from typing import Final

from weatherglass.knowledge.medicines.medicine_classes import MedicineClass, acts_locally
from weatherglass.knowledge.medicines.rules import triggers
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.medicines import (
    Administration,
    MatchMethod,
    Medicine,
    MedicineOrder,
    NotTaken,
    OrderStatus,
    Route,
)
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin

_LONG_ACTING_AS_PATCH = frozenset(key.value for key in triggers.LONG_ACTING_AS_PATCH)


class Standing(StrEnum):
    """How a medicine stands to the patient at the moment of the review."""

    IN_USE = "in use"
    REPORTED = "reported as taken, with no order here"
    ON_HOLD = "on hold"
    DRAFT = "not signed yet"
    ENDED = "ended, but given recently"

    @property
    def is_taken(self) -> bool:
        """Whether it is taken, reported as taken, or about to be signed."""
        return self in (Standing.IN_USE, Standing.REPORTED, Standing.DRAFT)

    @property
    def can_be_held(self) -> bool:
        """Whether there is a next dose: not of what is not signed yet, nor of what has ended."""
        return self not in (Standing.DRAFT, Standing.ENDED)


#: What a patient is exposed to, or would be.
_COUNTS = frozenset(each for each in Standing if each.is_taken or each is Standing.ENDED)


_WORDS: Final = word_patterns("chart-patterns.toml")
_RATE: Final = _WORDS["rate"]
_RUNS_BY: Final = frozenset({Route.INTRAVENOUS, Route.SUBCUTANEOUS, Route.EPIDURAL, Route.UNKNOWN})


class Line(Plain, frozen=True):
    """One medicine on the chart.

    Attributes:
        order: What a suggestion about it points at: the order, the statement, or a dose given.
        classes: Keys of the classes that act in the whole body.
        since: When it began, as far as the record says.
        last_dose: The newest dose given.
        charted: The order or statement, None for doses without one.
        stopped_here: A home medicine whose order here has ended.
        not_taken: What says that an ordered medicine is not taken, or not to be given; None once a dose was.
    """

    order: Origin
    medicine: Medicine
    classes: frozenset[str]
    standing: Standing
    route: Route
    since: datetime | None
    last_dose: Administration | None
    charted: MedicineOrder | None
    stopped_here: bool = False
    not_taken: NotTaken | None = None

    @property
    def is_running(self) -> bool:
        """Whether a dose of it is going in at the moment of the review."""
        return self.last_dose is not None and self.last_dose.running

    @property
    def may_be_running(self) -> bool:
        """Whether its order is for what runs without an end, so that no next dose is there to hold."""
        charted = self.charted
        if charted is None or self.standing is not Standing.IN_USE or self.route not in _RUNS_BY:
            return False
        if charted.is_by_the_patient or charted.as_needed:
            return charted.is_by_the_patient
        words = f"{self.medicine.text} {charted.dose_text}".casefold()
        return charted.is_driven or ("infusion" in words and _RATE.search(words) is not None)

    @property
    def regular(self) -> MedicineOrder | None:
        """The order that lets it be given here by the clock; None where there is none."""
        charted = self.charted
        if self.standing is not Standing.IN_USE or charted is None:
            return None
        return None if charted.is_statement or charted.as_needed else charted

    @property
    def was_given_once(self) -> bool:
        """Whether its one dose was given, and still acts: nothing is due, and what meets it is met."""
        return self.standing is Standing.ENDED and self.charted is not None and self.charted.for_once

    @property
    def is_recognised(self) -> bool:
        """Whether anybody knows what it is."""
        return self.medicine.method is not MatchMethod.NONE


class DrugChart(Plain, frozen=True):
    """Every line in question, in the order of their origins, and what was ended before.

    Attributes:
        lines: What is in use, reported, on hold, not signed yet, or ended and given recently.
        ended: Orders that were stopped or have run out, whether or not they make a line.
        used: What the lines in use or reported hold.
    """

    lines: tuple[Line, ...]
    ended: tuple[MedicineOrder, ...]
    used: frozenset[str] = frozenset()

    @property
    def exposed(self) -> tuple[Line, ...]:
        """The lines that act on the patient, or would once signed."""
        return tuple(line for line in self.lines if line.standing in _COUNTS)

    @property
    def perhaps_running(self) -> tuple[Line, ...]:
        """The lines whose order is for what runs without an end."""
        return tuple(line for line in self.lines if line.may_be_running)


def drug_chart(record: Record, as_of: datetime) -> DrugChart:
    """Put orders, statements and doses given together, as they stand at a moment."""
    doses = _doses(record, as_of)
    not_taken = _not_taken(record, as_of)
    live: list[MedicineOrder] = []
    ended: list[MedicineOrder] = []
    for order in record.orders:
        if order.status is OrderStatus.STOPPED or _has_run_out(order, as_of):
            ended.append(order)
        elif order.status is OrderStatus.DRAFT or order.in_force_at(as_of):
            live.append(order)
    given = _doses_by_order(doses, (*live, *ended))
    over = {o.origin for o in live if _was_given_once(o, given.get(o.origin), as_of)}
    ended.extend(o for o in live if o.origin in over)
    live = [o for o in live if o.origin not in over]
    ordered = [o for o in live if not o.is_statement]
    lines = [
        replace(
            _begun(_line(order, _standing(order), given.get(order.origin)), as_of),
            not_taken=_spoken_against(order, given.get(order.origin), not_taken),
        )
        for order in ordered
    ]
    stopped, here = _held(o for o in ended if not o.is_statement), _held(ordered)
    lines.extend(
        replace(_reported(order), stopped_here=not stopped.isdisjoint(_content(order.medicine)))
        for order in live
        if order.is_statement and here.isdisjoint(_content(order.medicine))
        if _spoken_against(order, None, not_taken) is None
    )
    lines.extend(_still_acting(ended, given, live, as_of))
    lines.extend(_without_order(doses, given, as_of))
    lines = list(_without_contradiction(lines))
    lines.sort(key=lambda line: line.order)
    return DrugChart(tuple(lines), tuple(ended), used_by(lines))


def _begun(line: Line, as_of: datetime) -> Line:
    """Return a line with its beginning: an order that is not signed, and has no date, begins now."""
    is_now = line.standing is Standing.DRAFT and line.since is None
    return replace(line, since=as_of) if is_now else line


def _not_taken(record: Record, as_of: datetime) -> Mapping[str, NotTaken]:
    """Return what is said not to be taken, by what it holds: an order not to give it before a statement."""
    held = (one for one in record.not_taken if one.ends is None or one.ends >= as_of)
    said = sorted(held, key=lambda one: (one.is_order, one.at is not None, one.at or as_of, one.origin))
    return {content: one for one in said for content in _content(one.medicine)}


def _spoken_against(
    order: MedicineOrder, dose: Administration | None, not_taken: Mapping[str, NotTaken]
) -> NotTaken | None:
    """Return what says that the medicine of an order is not taken; no dose or statement has outdated it."""
    said = next((not_taken[each] for each in _content(order.medicine) if each in not_taken), None)
    if said is None or said.is_order:
        return said if said is not None and not order.is_statement else None
    if dose is not None and (said.at is None or dose.at > said.at):
        return None
    newer = order.is_statement and (said.at is None or (order.began is not None and order.began > said.at))
    return None if newer else said


def _without_contradiction(lines: Sequence[Line]) -> Iterator[Line]:
    """Return the lines without any that has ended while the same medicine is in use."""
    going = [line for line in lines if line.standing is Standing.IN_USE or line.is_running]
    used = _contents(line.medicine for line in going)
    for line in lines:
        if used.isdisjoint(_content(line.medicine)):
            yield line
        elif line.standing is not Standing.ENDED:
            yield replace(line, stopped_here=False)


def _has_run_out(order: MedicineOrder, as_of: datetime) -> bool:
    return order.status is not OrderStatus.DRAFT and order.ends is not None and order.ends < as_of


def _was_given_once(order: MedicineOrder, dose: Administration | None, as_of: datetime) -> bool:
    """Tell whether an order for one dose is over: the dose was given, or its day has passed."""
    if not order.for_once or order.status is not OrderStatus.ACTIVE or order.is_statement:
        return False
    if dose is not None and not dose.running:
        is_its_dose = order.began is None or dose.at >= order.began - triggers.ONCE_GIVEN_EARLY.length
        return is_its_dose and not (_is_long_acting(dose) and _acts(dose, as_of))
    return dose is None and order.began is not None and as_of - order.began > triggers.ONCE_WAITS_FOR.length


def _standing(order: MedicineOrder) -> Standing:
    if order.status is OrderStatus.DRAFT:
        return Standing.DRAFT
    return Standing.ON_HOLD if order.status is OrderStatus.ON_HOLD else Standing.IN_USE


def _reported(order: MedicineOrder) -> Line:
    return _line(order, Standing.REPORTED if order.status is OrderStatus.ACTIVE else _standing(order), None)


def ended_line(order: MedicineOrder) -> Line:
    """Return the line of an order that has ended, whether or not it still acts."""
    return _line(order, Standing.ENDED, None)


def _line(order: MedicineOrder, standing: Standing, dose: Administration | None) -> Line:
    route = order.route
    if route is Route.UNKNOWN and dose is not None:
        route = dose.route
    return Line(
        order.origin,
        order.medicine,
        systemic_classes(order.medicine.classes, route),
        standing,
        route,
        order.began,
        dose,
        order,
    )


_ANTIBACTERIAL: Final = frozenset({MedicineClass.ANTIBACTERIAL.value})
_NOT_ABSORBED: Final = frozenset(
    {MedicineClass.GLYCOPEPTIDE.value, MedicineClass.POLYMYXIN.value, MedicineClass.AMINOGLYCOSIDE.value}
)


@lru_cache(maxsize=4096)
def systemic_classes(classes: frozenset[str], route: Route) -> frozenset[str]:
    """Return the classes that act in the whole body by a route; what is not absorbed treats no infection."""
    found = frozenset(key for key in classes if not acts_locally(key, route))
    return found if found.issuperset(_NOT_ABSORBED & classes) else found - _ANTIBACTERIAL


# Doses given


def _doses(record: Record, as_of: datetime) -> list[Administration]:
    """Return the doses that still act, oldest first."""
    earliest = as_of - triggers.LONG_ACTING_EXPOSURE.length
    return [
        _as_of(dose, as_of)
        for dose in record.administrations
        if dose.running or dose.at >= earliest or _after(dose, earliest)
    ]


def _as_of(dose: Administration, as_of: datetime) -> Administration:
    """Return a dose as it stands: one whose end is still to come is running."""
    return replace(dose, running=True) if not dose.running and _ends_later(dose, as_of) else dose


def _after(dose: Administration, moment: datetime) -> bool:
    return dose.ended is not None and dose.ended >= moment


def _ends_later(dose: Administration, moment: datetime) -> bool:
    return dose.ended is not None and dose.ended > moment


def _doses_by_order(
    doses: Iterable[Administration], orders: Sequence[MedicineOrder]
) -> dict[Origin, Administration]:
    """Return the newest dose of each order, by its reference or else by what it holds."""
    by_name = {order.origin: order for order in orders if not order.is_statement}
    by_content: dict[str, MedicineOrder] = {}
    for order in reversed(orders):
        if not order.is_statement:
            by_content.update(dict.fromkeys(_content(order.medicine), order))
    newest: dict[Origin, Administration] = {}
    for dose in doses:
        named = by_name.get(dose.order) if dose.order is not None else None
        if named is not None and _are_different(named.medicine, dose.medicine):
            named = None
        found = named or next((by_content[c] for c in _content(dose.medicine) if c in by_content), None)
        origin = found.origin if found is not None else dose.origin
        newest[origin] = _rather(newest.get(origin), dose)
    return newest


def _are_different(one: Medicine, other: Medicine) -> bool:
    """Tell whether two medicines are both known and share nothing: a dose that names the wrong order."""
    return bool(one.ingredients and other.ingredients) and set(one.ingredients).isdisjoint(other.ingredients)


def _rather(earlier: Administration | None, later: Administration) -> Administration:
    """Return the dose that tells how a line stands: the newest, but one that runs before one that is over."""
    return earlier if earlier is not None and earlier.running and not later.running else later


def _still_acting(
    ended: Iterable[MedicineOrder],
    given: dict[Origin, Administration],
    live: Sequence[MedicineOrder],
    as_of: datetime,
) -> Iterable[Line]:
    held = _held(live)
    for order in ended:
        dose = given.get(order.origin)
        if dose is None or not _acts(dose, as_of):
            continue
        if dose.running or held.isdisjoint(_content(order.medicine)):
            yield _line(order, _standing_after(order, dose), dose)


def _without_order(
    doses: Iterable[Administration], given: dict[Origin, Administration], as_of: datetime
) -> Iterable[Line]:
    """Return one line for each medicine that was given and that no order names."""
    newest: dict[frozenset[str], Administration] = {}
    for dose in doses:
        if given.get(dose.origin) is dose and _acts(dose, as_of):
            content = frozenset(_content(dose.medicine))
            newest[content] = _rather(newest.get(content), dose)
    for dose in newest.values():
        # The order it refers to was not sent; it is still the thing to look at.
        order = dose.order or dose.origin
        classes = systemic_classes(dose.medicine.classes, dose.route)
        yield Line(order, dose.medicine, classes, _standing_by(dose), dose.route, dose.at, dose, None)


def _standing_by(dose: Administration) -> Standing:
    """Return how a medicine without an order in force stands: what is running has not ended."""
    return Standing.IN_USE if dose.running else Standing.ENDED


def _standing_after(order: MedicineOrder, dose: Administration) -> Standing:
    """Return how an order stands that is over: one that nobody stopped, and that is still given, goes on."""
    if order.ends is None or (order.status is OrderStatus.STOPPED and not order.ran_its_course):
        return _standing_by(dose)
    late = triggers.GIVEN_LATE.length if order.ran_its_course else timedelta(0)
    goes_on = dose.at > order.ends + late
    return Standing.IN_USE if goes_on else _standing_by(dose)


def _acts(dose: Administration, as_of: datetime) -> bool:
    window = triggers.LONG_ACTING_EXPOSURE if _is_long_acting(dose) else triggers.EXPOSURE
    return dose.running or as_of - dose.until <= window.length


def _is_long_acting(dose: Administration) -> bool:
    medicine = dose.medicine
    if not triggers.LONG_ACTING_INGREDIENTS.isdisjoint(medicine.ingredients):
        return True
    if dose.route is Route.TRANSDERMAL and not _LONG_ACTING_AS_PATCH.isdisjoint(medicine.classes):
        return True
    return not triggers.DEPOT_WORDS.isdisjoint(medicine.text.casefold().split())


# The same medicine twice


def _content(medicine: Medicine) -> tuple[str, ...]:
    """Return what tells a medicine: its ingredients, or else its words; nothing tells a nameless one."""
    if medicine.is_unnamed:
        return ()
    return medicine.ingredients or (medicine.text.casefold(),)


def used_by(lines: Iterable[Line]) -> frozenset[str]:
    """Return what the lines in use or reported hold."""
    return _contents(one.medicine for one in lines if one.standing in (Standing.IN_USE, Standing.REPORTED))


def is_in_use(medicine: Medicine, used: frozenset[str]) -> bool:
    """Tell whether what is used holds the same medicine."""
    return not used.isdisjoint(_content(medicine))


def _contents(medicines: Iterable[Medicine]) -> frozenset[str]:
    return frozenset(each for medicine in medicines for each in _content(medicine))


def _held(orders: Iterable[MedicineOrder]) -> frozenset[str]:
    """Return what orders hold that are more than drafts."""
    return _contents(order.medicine for order in orders if order.status is not OrderStatus.DRAFT)
