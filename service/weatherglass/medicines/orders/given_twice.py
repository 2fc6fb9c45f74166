"""Was a whole dose given twice within a part of its interval, or may it be, of what harms when it is doubled?

A question: two entries may be of one dose, and another order may have taken the place of one on hold.
Parts of a dose are written down together, or with another amount.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from decimal import Decimal
from itertools import islice, pairwise
from typing import Final

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import doses_a_day
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.medicines.meeting_pairs import content_of
from weatherglass.knowledge.medicines import time_critical as table
from weatherglass.medicines.orders.doses_due import DAY
from weatherglass.medicines.telling.wording import as_charted, name_of
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import Administration, MedicineOrder, Route
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin, our_choice
from weatherglass.model.words.patterns import when_asked

#: An amount as a dose is written: "30 [iU]".
_AMOUNT: Final = when_asked(r"\s*(\d+(?:\.\d+)?)\s*(\S*)")
_MOST_A_DAY: Final = 4
_HELD_AND_IN_USE: Final = our_choice(
    "of what harms when it is doubled an order on hold beside one in use is prompt"
)


class _Given(Plain, frozen=True):
    """The doses of what a line holds, by their order, and whether one line alone is ordered for all of it."""

    by_order: Mapping[Origin | None, Sequence[Administration]]
    is_alone: bool

    def of(self, order: MedicineOrder) -> Sequence[Administration]:
        """Return the doses of an order: by its reference, or of what it holds where it alone holds it."""
        if self.by_order.keys() - {None}:
            return self.by_order.get(order.origin, ())
        return self.by_order.get(None, ()) if self.is_alone else ()


class _Twice(Plain, frozen=True):
    """Two whole doses that are nearer than they are meant."""

    line: Line
    first: Administration
    second: Administration


def assess_given_twice(bedside: Bedside) -> Iterator[Finding]:
    """Ask about every dose that seems to have been given twice, in one finding."""
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        return
    known: dict[frozenset[str], _Given] = {}
    found = [
        one
        for each in bedside.named_lines
        if each.is_one_of(table.HARMS_TWICE)
        if (one := _twice(bedside, each.line, known)) is not None
    ]
    if found:
        yield _finding(bedside, found)
    yield from _held_and_in_use(bedside)


# On hold, and in use by another name


def _held_and_in_use(bedside: Bedside) -> Iterator[Finding]:
    """Ask which of two orders of one medicine is meant, of which one is on hold; one finding for each."""
    lines = bedside.drug_chart.lines
    on_hold = [
        one
        for one in lines
        if one.standing is Standing.ON_HOLD
        and one.charted is not None
        and bedside.named(one).is_one_of(table.HARMS_TWICE)
    ]
    if not on_hold:
        return
    in_use, given_of = _InUse(lines), _LastGiven(bedside.record)
    for held in on_hold:
        other = in_use.in_place_of(held)
        if other is None or other.charted is None or held.charted is None:
            continue
        given = given_of.on_hold(held, other)
        # What was written after the other was put on hold takes its place, unless that is given all the same.
        if given is not None or _is_no_newer(other.charted, held.charted):
            yield _either(bedside, held, other, given)


class _InUse:
    """The first line in use of each medicine, way and need, as the chart has them."""

    def __init__(self, lines: Sequence[Line]) -> None:
        self._first: dict[tuple[str, bool], dict[Route, tuple[int, Line]]] = {}
        for place, line in enumerate(lines):
            order = line.charted
            if line.standing is not Standing.IN_USE or order is None or order.is_statement or order.for_once:
                continue
            for medicine in content_of(line):
                by_route = self._first.setdefault((medicine, order.as_needed), {})
                by_route.setdefault(line.route, (place, line))

    def in_place_of(self, held: Line) -> Line | None:
        """Return the first that may be given in the place of a line on hold; an unknown way may be any."""
        is_needed = held.charted is not None and held.charted.as_needed
        found = [
            one
            for medicine in content_of(held)
            for route, one in self._first.get((medicine, is_needed), {}).items()
            if len({route, held.route} - {Route.UNKNOWN}) < 2
        ]
        return min(found, key=lambda one: one[0])[1] if found else None


class _LastGiven:
    """The last dose by the order that it names, and of those that name none by their words."""

    def __init__(self, record: Record) -> None:
        self._last: dict[str, Administration] = {}
        for one in record.administrations:
            what = one.order if one.order is not None else one.medicine.text
            if what not in self._last or one.at > self._last[what].at:
                self._last[what] = one

    def on_hold(self, held: Line, other: Line) -> Administration | None:
        """Return the last dose of the order on hold since the other was written: by its reference or name."""
        since = other.charted.began if other.charted is not None else None
        keys = [held.order, *({held.medicine.text} - {other.medicine.text})]
        doses = [one for key in keys if (one := self._last.get(key)) is not None]
        last = max(doses, key=lambda one: one.at, default=None)
        return last if last is not None and (since is None or last.at > since) else None


def _is_no_newer(order: MedicineOrder, held: MedicineOrder) -> bool:
    return order.began is None or held.began is None or order.began <= held.began


def _either(bedside: Bedside, held: Line, other: Line, given: Administration | None) -> Finding:
    said = f"{name_of(held)} is on hold, and {name_of(other)}, the same medicine, is in use"
    dose = f"; what is on hold was given {bedside.clock.at(given.at)}" if given is not None else ""
    began = [one for one in (held.since, other.since) if one is not None]
    return tell(
        About(Kind.MEDICINE_MISSING, "held-and-in-use", Letter.EXPOSURE),
        Urgency.PROMPT,
        rests_on(
            bedside,
            given.at if given is not None else max(began, default=None),
            held.order,
            other.order,
            *((given.origin,) if given is not None else ()),
        ),
        brief=said,
        sentence=f"{said}{dose}: ask before the next dose which is meant.",
        sources=(_HELD_AND_IN_USE,),
        decided_by="one medicine on hold and in use",
    )


def _twice(bedside: Bedside, line: Line, known: dict[frozenset[str], _Given]) -> _Twice | None:
    order = line.regular
    if order is None or order.for_once:
        return None
    often = doses_a_day(order)
    if often is None or not 0 < often <= _MOST_A_DAY:
        return None
    interval = DAY / float(often)
    nearest = interval * float(table.GIVEN_TWICE_WITHIN.value)
    since = bedside.as_of - max(interval, DAY)
    content = frozenset(line.medicine.ingredients)
    if content not in known:
        known[content] = _given(bedside.record, content)
    doses = [one for one in known[content].of(order) if one.at >= since - nearest]
    for first, second in reversed(list(pairwise(doses))):
        if second.at >= since and _are_two(order, first, second, nearest):
            return _Twice(line, first, second)
    return None


def _given(record: Record, content: frozenset[str]) -> _Given:
    by_order = defaultdict[Origin | None, list[Administration]](list)
    for dose in record.administrations:
        if not content.isdisjoint(dose.medicine.ingredients):
            by_order[dose.order].append(dose)
    here = (
        one
        for one in record.orders
        if not one.is_statement and not content.isdisjoint(one.medicine.ingredients)
    )
    return _Given(by_order, len(list(islice(here, 2))) == 1)


def _are_two(order: MedicineOrder, first: Administration, second: Administration, nearest: timedelta) -> bool:
    apart = second.at - first.at
    is_alike = bool(first.dose_text) and first.dose_text == second.dose_text
    return is_alike and table.WRITTEN_TOGETHER.length < apart <= nearest and not _is_a_part(order, first)


def _is_a_part(order: MedicineOrder, dose: Administration) -> bool:
    """Tell whether a dose is less than what is ordered, in the same unit."""
    said = _AMOUNT.match(dose.dose_text)
    if said is None or order.dose is None or said[2] != order.dose_unit:
        return False
    return Decimal(said[1]) < order.dose


def _finding(bedside: Bedside, found: Sequence[_Twice]) -> Finding:
    clock = bedside.clock
    said = [
        f"{one.line.medicine.written} ({one.first.dose_text} {clock.at(one.first.at)} and again "
        f"{clock.at(one.second.at)})"
        for one in found
    ]
    return tell(
        About(Kind.MEDICINE_MISSING, "given-twice", Letter.EXPOSURE),
        Urgency.PROMPT,
        rests_on(
            bedside,
            min(one.second.at for one in found),
            *(one.line.order for one in found),
            *(dose.origin for one in found for dose in (one.first, one.second)),
        ),
        brief=f"Given twice? {', '.join(as_charted(one.line.medicine.text) for one in found)}",
        sentence=f"Given twice, or written down twice? {'; '.join(said)}. Ask before the next dose, and "
        "watch for what too much of it brings.",
        sources=(table.GIVEN_TWICE_WITHIN.source,),
        decided_by="two whole doses within a part of their interval",
    )
