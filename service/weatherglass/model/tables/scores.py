"""The shape of a track-and-trigger score: parameters, tables, response.

A score is data. `ScoreDefinition` holds the parameters that are added up, those
that stand in for another one (SpO2 scale 2 for scale 1), the keys of which only
the highest counts (breathing rate or carbon dioxide), and the tiers of response.
It checks itself when built: no key twice, no stand-in without its parameter, and
the rows reach exactly the printed range.

Who evaluates a score, and on which observations, is decided elsewhere.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from typing import Literal, TypeVar

from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.plain import Plain
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import BandTable, ChoiceTable, Cutoff

#: How soon somebody has to look, in descending order.
UrgencyWord = Literal["emergency", "urgent", "prompt", "routine"]


class CutoffTable(Plain, frozen=True, kw_only=True):
    """The same points for meeting any one of several printed inequalities.

    For criteria printed as "> 38.0 or < 36.0": the inequalities hold as printed and
    no value is rounded first. `BandTable` is for rows, this for inequalities; both
    answer the same questions.

    Raises:
        ValueError: When the cut-offs differ in unit, are none, or overlap.
    """

    cutoffs: tuple[Cutoff, ...]
    points: int
    source: Source

    def __post_init__(self) -> None:
        """Check that the cut-offs share a unit and leave a normal range between them."""
        if not self.cutoffs or len({cutoff.limit.unit for cutoff in self.cutoffs}) != 1:
            raise ValueError(f"{self.source.locator}: give cut-offs in one unit.")
        low = [c.limit.value for c in self.cutoffs if not c.compare.is_upward]
        high = [c.limit.value for c in self.cutoffs if c.compare.is_upward]
        if len(low) > 1 or len(high) > 1 or (low and high and low[0] >= high[0]):
            raise ValueError(f"{self.source.locator}: one cut-off a side, the low one lower.")

    @property
    def unit(self) -> Unit:
        """The unit the publication prints."""
        return self.cutoffs[0].limit.unit

    def points_of(self, value: Decimal) -> int:
        """Return the points of a number already known to be in the printed unit."""
        for cutoff in self.cutoffs:
            if cutoff.is_met_by(value):
                return self.points
        return 0

    def points_between(self, low: Decimal | None, high: Decimal | None) -> tuple[int, int]:
        """Return the lowest and highest points any value of an interval could score."""
        met = [self._met_within(cutoff, low, high) for cutoff in self.cutoffs]
        always = any(cutoff_always for _, cutoff_always in met)
        possible = any(cutoff_possible for cutoff_possible, _ in met)
        return (self.points if always else 0), (self.points if possible else 0)

    @staticmethod
    def _met_within(cutoff: Cutoff, low: Decimal | None, high: Decimal | None) -> tuple[bool, bool]:
        """Tell whether some value, and whether every value, of an interval meets a cut-off."""
        lower_side = not cutoff.compare.is_upward
        easiest, hardest = (low, high) if lower_side else (high, low)
        possible = easiest is None or cutoff.is_met_by(easiest)
        always = hardest is not None and cutoff.is_met_by(hardest)
        return possible, always

    @property
    def lowest(self) -> int:
        """The fewest points any value can score."""
        return 0

    @property
    def highest(self) -> int:
        """The most points any value can score."""
        return self.points

    def read_as(self, value: Decimal) -> Decimal:
        """Return the value as the cut-offs read it: unchanged."""
        return value


ScoreTable = BandTable | ChoiceTable | CutoffTable
Shape = TypeVar("Shape", BandTable, ChoiceTable, CutoffTable)


class ScoreParameter(Plain, frozen=True, kw_only=True):
    """One row of a score.

    Attributes:
        key: The sub-score's code without the score's name ("respiration").
        label: The row's name in a sentence.
        signal: What has to be observed.
        table: The points.
        name: The same without its scale.
        scale: Which of several scales it is on; empty where there is one.
        is_list: Whether its name is a list, behind which a value stands apart.
        note: When the row applies, or what to know about it; empty when nothing.
        replaces: For a stand-in, the key of the parameter it is scored instead of.
        required: False when the row counts if it is recorded and its absence does not
            make the score incomplete.
        bedside: False when the value comes from a laboratory or a fluid chart and not
            from the round of observations.
    """

    key: str
    label: str
    name: str
    signal: Signal | CodedSignal
    table: ScoreTable
    scale: str = ""
    is_list: bool = False
    note: str = ""
    replaces: str = ""
    required: bool = True
    bedside: bool = True


class ResponseTier(Plain, frozen=True, kw_only=True):
    """What a score asks for once it is reached.

    Attributes:
        at_least: The total from which the tier holds; `None` for a tier that a single
            parameter opens.
        single_parameter: The points in any one parameter that open the tier.
        label: The tier in words ("5-6").
        word: What a total in it is called beside it ("positive"); empty where its label says it.
        risk: The published risk label, empty when there is none.
        monitoring: How often to observe, in words; empty when the source is silent.
        observe_every: The longest interval that satisfies `monitoring`.
        is_continuous: Whether `monitoring` has no pause; `observe_every` is then how often it is recorded.
        response: What the source asks for, in our words.
        urgency: Our ranking; no publication uses these four words.
        within: The latest moment for the response, counted from the observation.
        source: Where the tier is printed.
        within_source: Where the deadline comes from, when not from the same place.
        response_source: Where the response comes from, when not from the same place.
    """

    at_least: int | None = None
    single_parameter: int | None = None
    label: str
    word: str = ""
    risk: str = ""
    monitoring: str = ""
    observe_every: timedelta | None = None
    is_continuous: bool = False
    response: str
    urgency: UrgencyWord
    within: timedelta | None = None
    source: Source
    within_source: Source | None = None
    response_source: Source | None = None

    def __post_init__(self) -> None:
        """Refuse a tier with no way in, or with two."""
        if (self.at_least is None) == (self.single_parameter is None):
            raise ValueError(f"{self.source.locator}: a tier opens by total or by one parameter.")

    def is_reached(self, *, total: int, highest_single: int) -> bool:
        """Tell whether a total, or the highest single sub-score, opens the tier."""
        if self.at_least is not None:
            return total >= self.at_least
        return self.single_parameter is not None and highest_single >= self.single_parameter


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreDefinition:
    """A published score, complete.

    Attributes:
        key: The score's code ("news2").
        public_key: Name and year, as it stands in addresses and findings ("news2-2017").
        name: What clinicians call it.
        edition: Which edition, in words.
        parameters: The rows that are added up.
        alternatives: Stand-ins, each scored instead of the parameter it `replaces`.
        either: Groups of keys of which only the highest score counts, once.
        thresholds: The tiers, in the order in which they are tried; the first reached holds.
        range: The printed lowest and highest total.
        source: The publication.
        notes: What a reader of the result has to know.

    Raises:
        ValueError: When a key is used twice, a stand-in or group names an unknown
            key, or the rows do not add up to the printed range.
    """

    key: str
    public_key: str
    name: str
    edition: str
    parameters: tuple[ScoreParameter, ...]
    alternatives: tuple[ScoreParameter, ...] = ()
    either: tuple[tuple[str, ...], ...] = ()
    thresholds: tuple[ResponseTier, ...]
    applies_to: str
    range: tuple[int, int]
    source: Source
    notes: tuple[str, ...] = ()
    is_plain_sum: bool = field(init=False, repr=False)  #: Every row has to be there and adds up.

    def __post_init__(self) -> None:
        """Check keys and range."""
        every = (*self.parameters, *self.alternatives)
        object.__setattr__(self, "is_plain_sum", not self.either and all(row.required for row in every))
        keys = [parameter.key for parameter in self.parameters]
        if len(set(keys)) != len(keys):
            raise ValueError(f"{self.public_key}: a parameter key is used twice.")
        named = [alternative.replaces for alternative in self.alternatives]
        named += [key for group in self.either for key in group]
        if unknown := set(named) - set(keys):
            raise ValueError(f"{self.public_key}: no parameter is called {sorted(unknown)}.")
        if (reach := self._reach()) != self.range:
            raise ValueError(f"{self.public_key}: rows reach {reach}, printed {self.range}.")

    def _reach(self) -> tuple[int, int]:
        """Return the lowest and highest total that the default rows can add up to."""
        grouped = {key for group in self.either for key in group}
        by_key = {parameter.key: parameter.table for parameter in self.parameters}
        single = [table for key, table in by_key.items() if key not in grouped]
        groups = [[by_key[key] for key in group] for group in self.either]
        lowest = sum(table.lowest for table in single)
        lowest += sum(max(table.lowest for table in group) for group in groups)
        highest = sum(table.highest for table in single)
        highest += sum(max(table.highest for table in group) for group in groups)
        return lowest, highest

    def tier_for(self, *, total: int, highest_single: int) -> ResponseTier | None:
        """Return the first tier, in the stated order, that the score reaches."""
        for tier in self.thresholds:
            if tier.is_reached(total=total, highest_single=highest_single):
                return tier
        return None

    def table(self, key: str, shape: type[Shape], *, form: int = 0) -> Shape:
        """Return the table of the row of a key; `form` counts the stand-ins of that key and shape.

        Raises:
            KeyError: If no row of that key has a table of that shape.
        """
        found = [table for row, table in self.tables() if row.key == key and isinstance(table, shape)]
        if len(found) <= form:
            raise KeyError(f"{self.public_key} has no row {key!r} of the shape {shape.__name__}.")
        return found[form]

    def tables(self) -> Iterator[tuple[ScoreParameter, ScoreTable]]:
        """Walk over every table of the score, stand-ins included."""
        for parameter in (*self.parameters, *self.alternatives):
            yield parameter, parameter.table


class AgedScore(Plain, frozen=True, kw_only=True):
    """The form of a score that holds for one band of age, in completed months.

    Attributes:
        label: The band as printed ("1-4 years").
        from_months: The first completed month of the band.
        below_months: The first completed month after it; `None` when it is open.
        definition: The score with this band's rows.
    """

    label: str
    from_months: int
    below_months: int | None
    definition: ScoreDefinition

    def covers(self, months: int) -> bool:
        """Tell whether an age in completed months belongs to the band."""
        return self.from_months <= months and (self.below_months is None or months < self.below_months)
