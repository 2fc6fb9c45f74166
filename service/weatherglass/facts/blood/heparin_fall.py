"""Have platelets fallen on heparin: the fall, its day, and the 4Ts as far as the record tells."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Standing, systemic_classes
from weatherglass.facts.results.open_points import Known, OpenTotal, Points, points_of_part, unknown_points
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores.points import four_ts_2006 as score
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Administration, MedicineOrder
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import inside_a_sentence

_HEPARIN = MedicineClass.HEPARIN.value
_DAY = timedelta(days=1)
#: Ours: with more than this between two doses another course began.
_ONE_COURSE = timedelta(days=2)


class HeparinCourse(Plain, frozen=True):
    """One line of heparin: what it is called, and when it began and ended as far as is recorded."""

    name: str
    origin: Origin
    starts: datetime | None
    ends: datetime | None


class PlateletFall(Plain, frozen=True):
    """A fall that is still there.

    Attributes:
        onset: The first count that was low enough.
        before: The count before it; the fall began between the two.
    """

    highest: Measurement
    lowest: Measurement
    newest: Measurement
    before: Measurement
    onset: Measurement
    heparin: HeparinCourse
    earlier: tuple[HeparinCourse, ...]

    @property
    def share(self) -> Decimal:
        """By which share of the highest count they fell."""
        return 1 - self.lowest.value / self.highest.value


def platelet_fall(bedside: Bedside) -> PlateletFall | None:
    """Return the fall of platelets that began under heparin and is still there."""
    series = bedside.record.series(Signal.PLATELETS)
    newest = series.recent(bedside.as_of, bedside.choices.laboratory_counts_for)
    if newest is None or not newest.is_exact:
        return None
    courses = tuple(heparin_courses(bedside))
    if not courses:
        return None
    start = newest.at - score.BEFORE.length
    counts = [one for one in series.within(start, newest.at) if one.is_exact]
    place = max(range(len(counts)), key=lambda each: (counts[each].value, each))
    after = counts[place:]
    limit = counts[place].value * (1 - score.FALL.value)
    if newest.value > limit or counts[place].value <= 0:
        return None
    first = next(each for each, one in enumerate(after) if one.value <= limit)
    onset, before = after[first], after[first - 1]
    given = [one for one in courses if one.starts is None or one.starts < onset.at]
    if not given:
        return None
    now = max(given, key=lambda one: (one.starts is not None, one.starts or onset.at, one.origin))
    now = _begun_with(now, given)
    lowest = min(after, key=lambda one: one.value)
    earlier = tuple(one for one in given if one is not now and _ended_before(one, now))
    return PlateletFall(counts[place], lowest, newest, before, onset, now, earlier)


def heparin_courses(bedside: Bedside) -> Iterator[HeparinCourse]:
    """Yield every heparin on the chart, or ended or given no longer ago than counts."""
    for line in bedside.drug_chart.exposed:
        if _HEPARIN in line.classes and line.standing is not Standing.DRAFT:
            yield HeparinCourse(line.medicine.text, line.order, line.since, None)
    earliest = bedside.as_of - score.EXPOSED_BEFORE.length
    doses = [
        dose
        for dose in bedside.record.administrations
        if _HEPARIN in dose.medicine.classes
        and dose.until >= earliest
        and _HEPARIN in systemic_classes(dose.medicine.classes, dose.route)
    ]
    for order in bedside.drug_chart.ended:
        ends = order.ends or _last_of(order, doses)
        if ends is None or ends < earliest:
            continue
        if _HEPARIN in systemic_classes(order.medicine.classes, order.route):
            yield HeparinCourse(order.medicine.text, order.origin, order.began, ends)
    yield from _given(doses)


def _last_of(order: MedicineOrder, doses: Sequence[Administration]) -> datetime | None:
    """Return the last dose of an order whose end nobody recorded; None where nothing was given."""
    same = [one for one in doses if one.medicine.ingredients == order.medicine.ingredients]
    return max((one.until for one in same if order.began is None or one.at >= order.began), default=None)


def _given(doses: Sequence[Administration]) -> Iterator[HeparinCourse]:
    """Yield doses that follow each other as a course."""
    for name in dict.fromkeys(dose.medicine.ingredients for dose in doses):
        first: Administration | None = None
        last: datetime | None = None
        for dose in (one for one in doses if one.medicine.ingredients == name):
            if first is not None and last is not None and dose.at - last > _ONE_COURSE:
                yield HeparinCourse(first.medicine.text, first.origin, first.at, last)
                first = None
            first, last = first or dose, dose.until
        if first is not None:
            yield HeparinCourse(first.medicine.text, first.origin, first.at, last)


def _begun_with(now: HeparinCourse, given: Sequence[HeparinCourse]) -> HeparinCourse:
    """Return the first of the courses that follow each other without a day between them."""
    for one in sorted(given, key=lambda each: each.origin):
        if one is now or now.starts is None or one.starts is None or one.starts >= now.starts:
            continue
        if one.ends is None or one.ends >= now.starts - _DAY:
            return _begun_with(one, given)
    return now


def _ended_before(one: HeparinCourse, now: HeparinCourse) -> bool:
    return one.ends is not None and now.starts is not None and one.ends < now.starts


def four_ts(bedside: Bedside, fall: PlateletFall) -> OpenTotal:
    """Work the score out; what a record cannot say stays open."""
    known: dict[str, Known | None] = dict(_known(bedside, fall))
    return OpenTotal(
        score.KEY,
        (
            points_of_part("fall", score.ROWS, known),
            _timing(fall),
            points_of_part("thrombosis", score.ROWS, known, what="whether there is a thrombosis"),
            points_of_part("other-cause", score.ROWS, known, what=_cause_words(bedside)),
        ),
    )


def _cause_words(bedside: Bedside) -> str:
    """Return what is not known of another cause."""
    cause = next(iter(bedside.record.told_of(*score.OTHER_CAUSES)), None)
    if cause is None:
        return "whether there is another cause"
    return f"whether {inside_a_sentence(cause.text)} is the cause"


def _known(bedside: Bedside, fall: PlateletFall) -> Iterator[tuple[str, Known | None]]:
    shown = f"platelets {plain(fall.highest.value)} to {plain(fall.lowest.value)}"
    origins = (fall.highest.origin, fall.lowest.origin)
    by_half = fall.share > score.FALL_BY_HALF.value and fall.lowest.value >= score.NADIR.value
    is_fall = fall.lowest.value >= score.LEAST_NADIR.value
    numbers = ((fall.onset.at, fall.lowest.value),)
    yield "a fall by more than half to 20 or more", Known(shown, numbers, origins, by_half)
    yield "a fall by 30 % or more to 10 or more", Known(shown, numbers, origins, is_fall)
    yield "thrombosis or reaction", _thrombosis(bedside, fall)
    cause = next(iter(bedside.record.told_of(*score.OTHER_CAUSES)), None)
    if cause is not None:
        words = inside_a_sentence(cause.text)
        yield "no other cause", Known(words, origins=(cause.origin,), is_there=False)


def _thrombosis(bedside: Bedside, fall: PlateletFall) -> Known | None:
    """Return a thrombosis that began under heparin; that there is none no record says."""
    started = fall.heparin.starts
    for one in bedside.record.conditions_of(ConditionKind.VENOUS_THROMBOEMBOLISM, ConditionKind.STROKE):
        if one.began is not None and started is not None and one.began > started:
            return Known(inside_a_sentence(one.text), origins=(one.origin,), began=one.began)
    return None


def _timing(fall: PlateletFall) -> Points:
    """Return the points of the day on which the fall began, which lies between two counts."""
    started = fall.heparin.starts
    if started is None:
        return unknown_points("timing", "when heparin began", 2)
    soonest, latest = (max(0.0, (at - started) / _DAY) for at in (fall.before.at, fall.onset.at))
    points = {given for first, end, given in score.DAYS if soonest < end and latest >= first}
    was_exposed = any(_is_recent(one, started) for one in fall.earlier)
    if soonest <= score.FIRST_DAY.length / _DAY:
        # An earlier exposure may not be on record: its points stay possible.
        points |= {2}
        if was_exposed and latest <= score.FIRST_DAY.length / _DAY:
            points = {2}
    days = f"day {int(latest)}" if int(soonest) == int(latest) else f"day {int(soonest)} to {int(latest)}"
    origins = (fall.before.origin, fall.onset.origin, fall.heparin.origin)
    shown = f"{days} of {inside_a_sentence(fall.heparin.name)}"
    lowest, highest = min(points), max(points)
    began = fall.onset.at if lowest else None
    return Points("timing", lowest, highest, began, 0, shown, fall.onset.at, tuple(dict.fromkeys(origins)))


def _is_recent(one: HeparinCourse, started: datetime) -> bool:
    return one.ends is not None and started - one.ends <= score.EXPOSED_BEFORE.length
