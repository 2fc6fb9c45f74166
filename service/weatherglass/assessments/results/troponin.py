"""What does troponin show: the newest, the one before, and the laboratory's own limit?

Above that limit, or changing, it asks for an ECG and a senior review. It is never silent:
what asks for nobody is a line among the results. Assays are never compared with each other.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import first_of_run, last_run
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.medicines.rules.thrombosis import ANTITHROMBOTICS
from weatherglass.knowledge.signs import heart_and_pressure as limits
from weatherglass.model.findings import Finding, Kind, Measure, State, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Done, ProcedureKind
from weatherglass.model.record.problems import Recorded
from weatherglass.model.record.values import Flag, Measurement, Series
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited, Origin
from weatherglass.model.times.dates_alone import latest_of
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.model.words.value_words import value_words

_WINDOW = limits.TROPONIN_CHANGE_WINDOW.length
#: So many newest results of an assay are held against what explains them.
_MOST = 50
_ON_THE_HEART = (ProcedureKind.CARDIAC_SURGERY, ProcedureKind.CORONARY_STENT)
_ASKS = "ECG and senior review; whether this is an infarction is not judged here"


class _Result(Plain, frozen=True):
    """One troponin against its limit and its own past; `against` is what it has changed from."""

    result: Measurement
    above: str
    against: Measurement | None

    @property
    def asks(self) -> bool:
        """Whether it is above a limit or has changed."""
        return bool(self.above) or self.against is not None


def assess_troponin(bedside: Bedside) -> Iterator[Finding]:
    """Show the newest troponin of every assay that still counts."""
    results = bedside.record.series(Signal.TROPONIN).items
    assays = dict.fromkeys(one.method for one in reversed(results))
    for place, assay in enumerate(assays):
        own = [one for one in results if one.method == assay]
        if Series(own).recent(bedside.as_of, bedside.choices.laboratory_counts_for) is not None:
            yield _of_assay(bedside, own, key=f"troponin-{assay}" if place else "troponin")


def _of_assay(bedside: Bedside, results: Sequence[Measurement], *, key: str) -> Finding:
    judged = _replay(bedside, results)
    newest = judged[-1]
    # A new rise after a fall that was expected asks from then on.
    told, known = max(0, len(judged) - _MOST), _known(bedside)
    expected = [
        _expected(known, results[: n + 1]) if n >= told and one.asks else "" for n, one in enumerate(judged)
    ]
    after = expected[-1]
    asked = [one.asks and bool(after) is bool(said) for one, said in zip(judged, expected, strict=True)]
    run = last_run([one.result.at for one in judged], asked)
    is_old = bedside.as_of - newest.result.at > limits.TROPONIN_COUNTS_FOR.length
    is_urgent = newest.asks and not is_old and not after
    before = results[-2] if len(results) > 1 else None
    return tell(
        About(Kind.CARDIAC, key, Letter.CIRCULATION),
        Urgency.URGENT if is_urgent else Urgency.ROUTINE,
        rests_on(
            bedside,
            run
            if newest.asks
            else Course(_first_alike(judged), state=State.SETTLING if _settles(bedside, judged) else None),
            newest.against,
            before,
            newest.result,
        ),
        brief=_value(bedside, newest, before),
        sentence=_sentence(bedside, newest, before, after, is_old=is_old),
        measures=_measures(newest, before),
        sources=(*_sources(newest), *((limits.TROPONIN_EXPECTED_FOR,) if after else ())),
        cautions=(limits.NOT_AN_INFARCTION.text,) if newest.asks and not after else (),
        decided_by=_rule(newest) if is_urgent else "",
    )


def _first_alike(judged: Sequence[_Result]) -> datetime:
    """Return since when nothing has asked for anybody."""
    first = first_of_run(judged, lambda one: not one.asks)
    return (first or judged[-1]).result.at


def _settles(bedside: Bedside, judged: Sequence[_Result]) -> bool:
    settled_after = bedside.as_of - bedside.choices.settled_within
    return any(one.asks and one.result.at >= settled_after for one in judged[:-1])


# After an infarction on record, and after the heart was operated on


class _Known(Plain, frozen=True):
    """What can explain a troponin: what was done to the heart, oldest first, and what is on record.

    Attributes:
        is_treated: Whether anything against clots is on the chart.
    """

    done: Sequence[Done]
    operated: Sequence[Done]
    problems: Sequence[Recorded]
    is_treated: bool


def _known(bedside: Bedside) -> _Known:
    record = bedside.record
    return _Known(
        record.done(*_ON_THE_HEART),
        record.done(ProcedureKind.CARDIAC_SURGERY),
        record.known_of(*limits.TROPONIN_KNOWN_FROM),
        is_treated=bool(bedside.on_chart(ANTITHROMBOTICS)),
    )


def _expected(known: _Known, results: Sequence[Measurement]) -> str:
    """Return in or after what a troponin is expected, "after NSTEMI"; empty where nothing explains it.

    An infarction or an embolism that was written down before explains a fall, and while it is treated what
    is not above the result before: where troponin rises after it somebody has to look.
    """
    newest = results[-1]
    named = [one for one in known.problems if one.at is not None and latest_of(one.at) >= newest.at]
    if named and known.is_treated:  # Who wrote it down and treats it has seen the result.
        return f"in {inside_a_sentence(named[0].text)}"
    earliest = newest.at - limits.TROPONIN_EXPECTED_FOR.length
    done = [one for one in known.done if earliest <= one.until <= newest.at]
    if done and newest.at - done[-1].until <= limits.TROPONIN_RISES_FOR.length:
        return f"after {done[-1].text}"
    operated = [one for one in known.operated if earliest <= one.until <= newest.at]
    if operated and not _rises(results, operated[-1].until):
        return f"after {operated[-1].text}"
    treated = [one for one in known.problems if one.at and earliest <= one.at <= newest.at]
    if treated and known.is_treated and _rises_no_more(results):
        return f"in {inside_a_sentence(treated[0].text)}"
    if not _falls(results, earliest):
        return ""
    texts = [one.text for one in reversed(done)]
    texts += [
        inside_a_sentence(one.text) for one in known.problems if one.at and earliest <= one.at <= newest.at
    ]
    return f"after {texts[0]}" if texts else ""


def _rises(results: Sequence[Measurement], since: datetime) -> bool:
    """Tell whether the newest is by the counted share above an earlier one since an operation."""
    lowest = min((_ends(one)[0] for one in results[:-1] if one.at >= since), default=None)
    share = 1 + limits.TROPONIN_CHANGE.value / 100
    highest = _ends(results[-1])[1]
    return lowest is not None and (highest is None or highest > share * lowest)


def _rises_no_more(results: Sequence[Measurement]) -> bool:
    """Tell whether the newest is not by the counted share above the one before."""
    if len(results) < 2:
        return False
    lowest, highest = _ends(results[-2])[0], _ends(results[-1])[1]
    return highest is not None and highest <= (1 + limits.TROPONIN_CHANGE.value / 100) * lowest


def _falls(results: Sequence[Measurement], earliest: datetime) -> bool:
    """Tell whether the newest is by the counted share below the peak, and no more above the lowest since."""
    exact = [one.value for one in results if one.is_exact and one.at >= earliest]
    if len(exact) < 2 or not results[-1].is_exact:
        return False
    share = limits.TROPONIN_CHANGE.value / 100
    peak = max(exact)
    lowest = min(exact[exact.index(peak) :])
    return exact[-1] < (1 - share) * peak and exact[-1] <= (1 + share) * lowest


# Against the limit, and against its own past


def _replay(bedside: Bedside, results: Sequence[Measurement]) -> list[_Result]:
    """Judge every result by what had come before it."""
    flagged = {
        one.origin
        for one in bedside.record.sent
        if one.signal == Signal.TROPONIN.value and one.flag is not Flag.NONE
    }
    lowest, highest = SlidingExtreme(_WINDOW), SlidingExtreme(_WINDOW, highest=True)
    judged = []
    for place, result in enumerate(results):
        around = [
            results[at] for at in (lowest.before(result.at), highest.before(result.at)) if at is not None
        ]
        above = _above(result, flagged)
        changed = [one for one in around if _has_changed(one, result, is_above=bool(above))]
        judged.append(_Result(result, above, _comes_from(result, around, changed)))
        lowest.add(result.at, result.value, place)
        highest.add(result.at, result.value, place)
    return judged


def _comes_from(
    result: Measurement, around: Sequence[Measurement], changed: Sequence[Measurement]
) -> Measurement | None:
    """Return what a result is told against: the farther of the extremes, between the two the later one."""
    if len(changed) > 1 and around[0].value < result.value < around[1].value:
        return max(changed, key=lambda one: one.at)  # 400, 1900, 1300 has come down.
    return max(changed, key=lambda one: abs(one.value - result.value), default=None)


def _ends(result: Measurement) -> tuple[Decimal, Decimal | None]:
    """Return the lowest and the highest that a result may be; None is open."""
    return result.lowest or Decimal(0), result.highest


def _above(result: Measurement, flagged: set[Origin]) -> str:
    """Say what limit a result is surely above; empty when none."""
    low, _ = _ends(result)
    if result.reference_high is not None:
        at_limit = not result.is_exact and low == result.reference_high  # "> 14" is above 14.
        if low > result.reference_high or at_limit:
            return f"above the laboratory's own limit of {plain(result.reference_high)} ng/L"
    elif limits.TROPONIN_WITHOUT_LIMIT.is_met_by(low):
        return "with no limit of the laboratory's own, above every usual one"
    return "flagged by the laboratory" if result.origin in flagged else ""


def _has_changed(before: Measurement, after: Measurement, *, is_above: bool) -> bool:
    """Tell whether two results surely differ by more than a fifth of the earlier one."""
    (before_low, before_high), (after_low, after_high) = _ends(before), _ends(after)
    part = limits.TROPONIN_CHANGE.value / 100
    rise = after_low - before_high if before_high is not None else None
    fall = before_low - after_high if after_high is not None else None
    rises = rise is not None and before_high is not None and rise > part * before_high
    falls = fall is not None and fall > part * before_low
    if not (rises or falls):
        return False
    is_large = limits.TROPONIN_LEAST_CHANGE.is_met_by(max(rise or Decimal(0), fall or Decimal(0)))
    return is_large or is_above or after.reference_high is None


# In words


def _number(result: Measurement) -> str:
    return value_words(Signal.TROPONIN, result)


def _value(bedside: Bedside, newest: _Result, before: Measurement | None) -> str:
    said = f"Troponin {_number(newest.result)}"
    against = newest.against or before
    if against is None:
        return said
    way = ""
    if newest.against is not None:
        way = "up from " if newest.result.value > against.value else "down from "
    apart = bedside.clock.apart(against.at, newest.result.at)
    return f"{said}, {way}{_number(against)} {apart} before"


def _sentence(
    bedside: Bedside, newest: _Result, before: Measurement | None, after: str, *, is_old: bool
) -> str:
    value = _value(bedside, newest, before)
    above = f", {newest.above}" if newest.above else ""
    if is_old:
        return f"{value}{above} ({bedside.clock.full(newest.result.at)}), not repeated since."
    if after:
        return f"{value}, as expected {after}: a new rise, pain or an ECG change asks for a senior."
    if newest.asks:
        return f"{value}{above}: {_ASKS}."
    if newest.result.reference_high is not None:
        own = plain(newest.result.reference_high)
        return f"{value}, inside the laboratory's own limit of {own} ng/L."
    return f"{value}; no limit of the laboratory's own came with it, so it is not judged here."


def _rule(newest: _Result) -> str:
    changed = f"a troponin changed by more than {limits.TROPONIN_CHANGE.value} % in 24 hours"
    if not newest.above:
        return changed
    return f"a troponin {newest.above}" + (f", and {changed}" if newest.against is not None else "")


# The inputs


def _measures(newest: _Result, before: Measurement | None) -> Iterator[Measure]:
    yield measure_of(Signal.TROPONIN, newest.result)
    against = newest.against or before
    if against is not None:
        yield measure_of(Signal.TROPONIN, against, key="previous", label="troponin before")
        change = newest.result.value - against.value
        yield Measure("change", "change of troponin", change, Unit.NANOGRAM_PER_LITRE)
    if newest.result.reference_high is not None:
        yield Measure(
            "reference-high",
            "laboratory's own limit, high",
            newest.result.reference_high,
            Unit.NANOGRAM_PER_LITRE,
            origin=newest.result.origin,
        )


def _sources(newest: _Result) -> Iterator[Cited]:
    yield limits.TROPONIN_ABOVE
    if newest.result.reference_high is None:
        yield limits.TROPONIN_WITHOUT_LIMIT
    if newest.against is not None:
        yield limits.TROPONIN_CHANGE
    yield limits.NOT_AN_INFARCTION
