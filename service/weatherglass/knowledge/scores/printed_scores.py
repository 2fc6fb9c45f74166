"""Read a published score from the file of its name: rows, answers, tiers, each with its place.

    rows    bands = "..8: 3 | 9-11: 1 | 12-20: 0 | 21..: 2"     points by value, as printed
            below = 36.0, above = 38.0                          one point outside, as printed
            answers = "alert: 0 | voice pain unresponsive: 3"   points by a recorded answer
    ages    one name a band of age; a row then has one `bands` for each of them
    tiers   in the order in which they are tried

A row's unit is the one that the signal has in the program, unless it names its own.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, TableError, cite, length, toml_rows
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.plain import Plain
from weatherglass.model.signals import ACVPU, CodedSignal, OxygenDelivery, RespiratoryEffort, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Band, BandTable, ChoiceTable, Compare, Cutoff, GapRule
from weatherglass.model.tables.scores import (
    AgedScore,
    CutoffTable,
    ResponseTier,
    ScoreDefinition,
    ScoreParameter,
    ScoreTable,
    UrgencyWord,
)

_GAPS: Final[Mapping[str, GapRule]] = {
    "round half up": GapRule.ROUND_HALF_UP,
    "keep the lower row": GapRule.KEEP_LOWER_ROW,
}
#: What can be answered, from the best to the worst.
_SCALES: Final[Mapping[CodedSignal, Sequence[Enum]]] = {
    CodedSignal.CONSCIOUSNESS: ACVPU,
    CodedSignal.OXYGEN_DELIVERY: tuple(OxygenDelivery),
    CodedSignal.RESPIRATORY_EFFORT: tuple(RespiratoryEffort),
}


class _Row(Columns, frozen=True):
    key: str
    label: str
    signal: str
    source: str
    bands: str | tuple[str, ...] = ()
    answers: str = ""
    below: Decimal | None = None
    above: Decimal | None = None
    at_least: Decimal | None = None
    at_most: Decimal | None = None
    unit: Unit | None = None
    step: Decimal = Decimal(1)
    between: Literal["round half up", "keep the lower row"] = "round half up"
    note: str = ""
    scale: str = ""
    is_list: bool = False
    replaces: str = ""
    required: bool = True
    bedside: bool = True


class _Tier(Columns, frozen=True):
    label: str
    urgency: UrgencyWord
    source: str
    word: str = ""
    at_least: int | None = None
    single_parameter: int | None = None
    risk: str = ""
    monitoring: str = ""
    observe_every: str = ""
    continuous: bool = False
    response: str = ""
    within: str = ""
    within_source: str = ""
    response_source: str = ""


class _Age(Columns, frozen=True):
    label: str
    from_months: int
    below_months: int | None = None


class _Score(Columns, frozen=True):
    key: str
    name: str
    edition: str
    applies_to: str
    range: tuple[int, int]
    source: str
    rows: tuple[_Row, ...]
    tiers: tuple[_Tier, ...]
    either: tuple[tuple[str, ...], ...] = ()
    notes: tuple[str, ...] = ()
    ages: tuple[_Age, ...] = ()


def printed_score(public_key: str) -> ScoreDefinition:
    """Return the score of the file `scores/PUBLIC_KEY.toml`."""
    return _definition(public_key, _printed(public_key))


def printed_by_age(public_key: str) -> tuple[AgedScore, ...]:
    """Return a score that has rows of its own for each band of age, youngest first."""
    score = _printed(public_key)
    return tuple(
        AgedScore(
            label=age.label,
            from_months=age.from_months,
            below_months=age.below_months,
            definition=_definition(public_key, score, place),
        )
        for place, age in enumerate(score.ages)
    )


def _printed(public_key: str) -> _Score:
    file = f"scores/{public_key}.toml"
    rows = toml_rows(file, _Score)
    if list(rows) != [public_key]:
        raise TableError(f"{file}: write the one score of this file as [{public_key}].")
    return rows[public_key]


def _definition(public_key: str, score: _Score, age: int | None = None) -> ScoreDefinition:
    """Put one score together; `age` is the place of a band of age in `ages`."""
    form = _Form(f"scores/{public_key}.toml", age or 0, score.ages[age].label if age is not None else "")
    rows = [(form.parameter(row), row) for row in score.rows]
    return ScoreDefinition(
        key=score.key,
        public_key=public_key,
        name=score.name,
        edition=f"{score.edition}, {form.age}" if form.age else score.edition,
        parameters=tuple(parameter for parameter, row in rows if not row.replaces),
        alternatives=tuple(parameter for parameter, row in rows if row.replaces),
        either=score.either,
        thresholds=tuple(_tier(tier) for tier in score.tiers),
        applies_to=score.applies_to,
        range=score.range,
        source=cite(score.source),
        notes=score.notes,
    )


class _Form(Plain, frozen=True):
    """The form of a score that is being put together."""

    file: str
    place: int  # Of the band of age.
    age: str

    def parameter(self, row: _Row) -> ScoreParameter:
        signal = self._signal(row)
        return ScoreParameter(
            key=row.key,
            label=f"{row.label}, scale {row.scale}" if row.scale else row.label,
            name=row.label,
            scale=row.scale,
            is_list=row.is_list,
            signal=signal,
            table=self._table(row, signal),
            note=row.note,
            replaces=row.replaces,
            required=row.required,
            bedside=row.bedside,
        )

    def _signal(self, row: _Row) -> Signal | CodedSignal:
        for kind in (Signal, CodedSignal):
            if row.signal in set(kind):
                return kind(row.signal)
        raise self._wrong(row, f"there is no signal {row.signal!r}")

    def _table(self, row: _Row, signal: Signal | CodedSignal) -> ScoreTable:
        if isinstance(signal, CodedSignal):
            return self._answers(row, signal)
        unit = row.unit or signal.unit
        return self._bands(row, unit) if row.bands else self._outside(row, unit)

    def _source(self, row: _Row) -> Source:
        return cite(row.source.replace("{age}", self.age))

    def _bands(self, row: _Row, unit: Unit) -> BandTable:
        text = row.bands if isinstance(row.bands, str) else row.bands[self.place]
        return BandTable(
            unit=unit,
            step=row.step,
            gap_rule=_GAPS[row.between],
            bands=tuple(self._band(row, part) for part in text.split("|")),
            source=self._source(row),
        )

    def _band(self, row: _Row, text: str) -> Band:
        span, _, points = text.partition(":")
        low, dots, high = span.strip().partition("..")
        if not dots:
            low, _, high = span.strip().partition("-")
        try:
            return Band(Decimal(low) if low else None, Decimal(high) if high else None, int(points))
        except (ArithmeticError, ValueError):
            raise self._wrong(row, f"{text.strip()!r} is no band; write '9-11: 1' or '..8: 3'") from None

    def _outside(self, row: _Row, unit: Unit) -> CutoffTable:
        source = self._source(row)
        printed = (
            (Compare.BELOW, row.below),
            (Compare.AT_MOST, row.at_most),
            (Compare.ABOVE, row.above),
            (Compare.AT_LEAST, row.at_least),
        )
        cutoffs = tuple(
            Cutoff(compare=compare, limit=Quantity(limit, unit), source=source)
            for compare, limit in printed
            if limit is not None
        )
        return CutoffTable(cutoffs=cutoffs, points=1, source=source)

    def _answers(self, row: _Row, signal: CodedSignal) -> ChoiceTable:
        """Return the points by answer; "others" are all that stand before it."""
        scale = {answer.name.lower().replace("_", "-"): answer for answer in _SCALES[signal]}
        points = dict[str, int]()
        for part in row.answers.split("|"):
            named, _, number = part.partition(":")
            if not number.strip().isdecimal():
                raise self._wrong(row, f"{part.strip()!r} gives no points; write 'alert: 0'")
            points |= dict.fromkeys(scale if "others" in named else named.split(), int(number)) | points
        if points.keys() != scale.keys():
            wrong = ", ".join(sorted(points.keys() ^ scale.keys()))
            raise self._wrong(row, f"name every answer of the scale and no other ({wrong})")
        return ChoiceTable(
            points_by_choice={answer: points[name] for name, answer in scale.items()},
            source=self._source(row),
        )

    def _wrong(self, row: _Row, why: str) -> TableError:
        return TableError(f"{self.file}, row {row.key!r}: {why}.")


@cache  # One tier for all bands of age.
def _tier(tier: _Tier) -> ResponseTier:
    return ResponseTier(
        at_least=tier.at_least,
        single_parameter=tier.single_parameter,
        label=tier.label,
        word=tier.word,
        risk=tier.risk,
        monitoring=tier.monitoring,
        observe_every=length(tier.observe_every),
        is_continuous=tier.continuous,
        response=tier.response,
        urgency=tier.urgency,
        within=length(tier.within),
        source=cite(tier.source),
        within_source=cite(tier.within_source) if tier.within_source else None,
        response_source=cite(tier.response_source) if tier.response_source else None,
    )
