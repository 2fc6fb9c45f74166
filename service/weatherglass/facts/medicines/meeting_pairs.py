"""Which named pairs of medicines stand on the chart; what they come to is asked elsewhere."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Final

from weatherglass.facts.medicines.doses import daily_milligrams
from weatherglass.facts.medicines.drug_chart import DrugChart, Line, Standing, ended_line, is_in_use
from weatherglass.facts.medicines.named_lines import NamedLine, named
from weatherglass.knowledge.medicines.groups import ByMember
from weatherglass.knowledge.medicines.limits.washouts import WASHOUTS
from weatherglass.knowledge.medicines.pairs import PAIRS, Pair
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.medicines import Administration, MedicineOrder, Route
from weatherglass.model.sources import Origin

_BY_ONE: Final = ByMember(PAIRS, lambda pair: pair.one)


class MetPair(Plain, frozen=True):
    """A pair with the lines that make each side of it."""

    pair: Pair
    one: tuple[Line, ...]
    other: tuple[Line, ...]

    @property
    def lines(self) -> tuple[Line, ...]:
        """Every line that makes it, by its order."""
        return tuple(
            sorted(
                {line.order: line for line in (*self.one, *self.other)}.values(), key=lambda line: line.order
            )
        )


def pairs_on_chart(lines: Sequence[NamedLine], after: Sequence[NamedLine] = ()) -> Iterator[MetPair]:
    """Yield every named pair of which both sides are among these lines.

    Args:
        lines: What is taken or about to be.
        after: What has ended of late, or was lowered; it counts for the pairs that say so.
    """
    classes = frozenset[str]().union(*(each.line.classes for each in (*lines, *after)))
    words = frozenset[str]().union(*(each.words for each in (*lines, *after)))
    taken = {content_of(each.line) for each in lines}
    gone = [each for each in after if content_of(each.line) not in taken]
    for pair in _BY_ONE.that_may_mean(classes, words):
        if not pair.second.may_mean(classes, words):
            continue
        counted = (*lines, *gone) if pair.acts_on else lines
        ones = [each.line for each in (after if pair.ended else counted) if each.is_one_of(pair.one)]
        ones = _last_ends(ones) if pair.ended else ones
        least = 1 if pair.other is not None else 2  # The same medicine twice is two lines.
        if len(ones) < least:
            continue
        ones = [line for line in ones if _is_enough(pair, line)]
        if len(ones) < least:
            continue
        others = ones if pair.other is None else [each.line for each in counted if each.is_one_of(pair.other)]
        one, other = _meeting(pair, ones, others)
        met = MetPair(pair, one, other)
        if one and other and len(met.lines) > 1 and any(line.standing.is_taken for line in met.lines):
            yield met


def washing_out(chart: DrugChart, given: Sequence[Administration], as_of: datetime) -> Iterator[Line]:
    """Yield what has ended and acts on, as long as its row says, and is not taken any more or is at less.

    Args:
        chart: As it stands.
        given: Every dose on record, oldest first: it acts from the last one on, else from its end.
        as_of: The moment of the review.
    """
    last: dict[str, datetime] | None = None
    for order in chart.ended:
        if order.ends is None or order.ends > as_of or order.for_once:
            continue
        lasts = is_in_use(order.medicine, chart.used)
        if lasts and not _is_lowered(order, chart):
            continue
        line = ended_line(order)
        of_line = named(line)
        rows = [row for row in WASHOUTS if (row.lowered or not lasts) and of_line.is_one_of(row.members)]
        if rows and last is None:
            last = {name: dose.at for dose in given for name in dose.medicine.ingredients}
        doses = [last[name] for name in order.medicine.ingredients if last and name in last]
        taken = order.ends - order.began if order.began is not None else None
        rows = [row for row in rows if taken is None or taken >= row.taken_for]
        if any(as_of - max(doses, default=order.ends) <= row.lasts for row in rows):
            yield line


def _is_lowered(order: MedicineOrder, chart: DrugChart) -> bool:
    """Tell whether the same medicine is in use at a lower dose of a day than an order had that has ended."""
    before = daily_milligrams(order)
    content = content_of(ended_line(order))
    now = [daily_milligrams(line.charted) for line in chart.lines if content_of(line) == content]
    known = [dose for dose in now if dose is not None]
    return before is not None and len(known) == len(now) and sum(known) < before


def _last_ends(lines: Sequence[Line]) -> list[Line]:
    """Return the last line of each medicine that has ended, as of its end."""
    last: dict[frozenset[str], Line] = {}
    for line in lines:
        at = line.charted.ends if line.charted is not None else None
        known = last.get(content_of(line))
        if at is not None and (known is None or known.since is None or at > known.since):
            last[content_of(line)] = replace(line, since=at)
    return list(last.values())


def _meeting(
    pair: Pair, ones: Sequence[Line], others: Sequence[Line]
) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    if pair.same == "too":
        return tuple(ones), tuple(others)
    if pair.same != "no":  # A first dose beside what goes on is no order twice.
        ones = [line for line in ones if line.charted is None or not line.charted.for_once]
    if pair.same == "routes":
        twice = _by_two_routes(ones)
        return twice, twice
    if pair.same == "names":
        twice = _by_two_names(ones)
        return twice, twice
    if pair.same in ("only", "dose"):
        key = content_of if pair.same == "only" else _dose_of_a_day
        keyed = [(line, key(line)) for line in ones]
        count = Counter(each for _, each in keyed)
        twice = tuple(line for line, each in keyed if each is not None and count[each] > 1)
        return twice, twice
    return _unlike(ones, others), _unlike(others, ones)


def _unlike(lines: Sequence[Line], others: Sequence[Line]) -> tuple[Line, ...]:
    """Return the lines that have another medicine among the others: one medicine twice is no pair."""
    content = {content_of(line) for line in others}
    kept = {each for each in map(content_of, lines) if not all(each & other for other in content)}
    return tuple(line for line in lines if content_of(line) in kept)


def content_of(line: Line) -> frozenset[str]:
    """Return what a line holds: its ingredients, else its words."""
    return frozenset(line.medicine.ingredients or (line.medicine.text.casefold(),))


def _by_two_routes(lines: Sequence[Line]) -> tuple[Line, ...]:
    """Return the lines of what is given into a vein and by mouth, neither when needed nor once."""
    given: dict[frozenset[str], set[Route]] = {}
    regular = [line for line in lines if line.charted is not None and not line.charted.as_needed]
    for line in regular:
        given.setdefault(content_of(line), set()).add(line.route)
    both = {Route.INTRAVENOUS, Route.ORAL}
    return tuple(line for line in regular if line.route in both and both <= given[content_of(line)])


def _by_two_names(lines: Sequence[Line]) -> tuple[Line, ...]:
    """Return the regular orders that share a medicine and no name, by one route and at one time."""
    regular = [
        line
        for line in lines
        if line.charted is not None and not (line.charted.as_needed or line.charted.is_statement)
    ]
    names: dict[tuple[object, ...], set[str]] = {}
    for line in regular:
        for key in _given_alike(line):
            names.setdefault(key, set()).add(_first_word(line))
    return tuple(line for line in regular if any(len(names[key]) > 1 for key in _given_alike(line)))


def _given_alike(line: Line) -> Iterator[tuple[object, ...]]:
    """Yield each medicine of a line with its way and its times, which a second name has too."""
    way, parts = _way(line), _parts_of(line)
    return ((medicine, way, parts) for medicine in content_of(line))


def _way(line: Line) -> Route | None:
    """Return how a line gets in: of tablets and of a product named alone only one names its way."""
    return None if line.route in (Route.ORAL, Route.UNKNOWN) else line.route


def _first_word(line: Line) -> str:
    return line.medicine.text.casefold().partition(" ")[0]


def _parts_of(line: Line) -> frozenset[str]:
    order = line.charted
    return frozenset(_PARTS.findall(order.dose_text.casefold())) if order is not None else frozenset()


_WORDS: Final = word_patterns("chart-patterns.toml")
_PARTS: Final = _WORDS["parts-of-a-day"]


def _dose_of_a_day(line: Line) -> tuple[object, ...] | None:
    """Return what a line gives in a day and when; None where nobody knows, or it is given when needed."""
    order = line.charted
    if order is None or order.as_needed or line.standing not in (Standing.IN_USE, Standing.DRAFT):
        return None
    daily = daily_milligrams(order)
    return (content_of(line), daily, _way(line), order.due, _parts_of(line)) if daily is not None else None


def _is_enough(pair: Pair, line: Line) -> bool:
    """Tell whether a dose is one of which the pair speaks; one that is not recorded may be."""
    daily = daily_milligrams(line.charted)
    if daily is None or (pair.above is None and pair.below is None):
        return True
    return (pair.above is None or daily > pair.above) and (pair.below is None or daily < pair.below)


def against(met: MetPair) -> tuple[Origin, ...]:
    """Return the orders of a pair that nothing else may push."""
    sides = {"one": met.one, "other": met.other, "either": met.lines, "neither": ()}[met.pair.against]
    return tuple(line.order for line in sides)
