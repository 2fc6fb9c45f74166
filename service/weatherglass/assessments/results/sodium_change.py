"""Has the sodium changed fast: by more in a day than the brain can follow?"""

import re
from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.assessments.telling.result_words import preliminary
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.result_levels import counts_for
from weatherglass.facts.rounds.scoring import measure_of
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.limits import trend_limits
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.letters import Letter
from weatherglass.model.quantities import plain
from weatherglass.model.record import ConditionKind, Measurement, Remark, Series
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital, inside_a_sentence, listed

#: Where a rise harms the brain sooner.
_HARM_SOONER = (
    ConditionKind.ALCOHOL_DEPENDENCE,
    ConditionKind.MALNUTRITION,
    ConditionKind.LIVER_DISEASE,
)
_STRONG_SALT = re.compile(r"\bsodium chloride (?:1\.8|2\.7|3|5|10|30) ?%|\bhypertonic saline\b")


def assess_sodium_change(bedside: Bedside) -> Iterator[Finding]:
    """Name every rapid change of sodium, of either specimen."""
    for signal in (Signal.SODIUM, Signal.SODIUM_GAS):
        changed = _sodium_change(bedside, signal)
        if changed is not None:
            yield changed


def _sodium_change(bedside: Bedside, signal: Signal) -> Finding | None:
    """Compare each sodium with the lowest and the highest of the 24 hours before it."""
    results = tuple(
        r
        for r in bedside.record.series(signal).items
        if r.spread is None and Remark.DAY_ONLY not in r.remarks  # A day is not placed in 24 hours.
    )
    if Series(results).recent(bedside.as_of, counts_for(signal, bedside.choices)) is None:
        return None
    window = trend_limits.SODIUM_WINDOW.length
    lowest, highest = SlidingExtreme(window), SlidingExtreme(window, highest=True)
    levels: list[int] = []
    froms: list[Measurement | None] = []
    furthest: Measurement | None = None
    for place, result in enumerate(results):
        low, high = lowest.before(result.at), highest.before(result.at)
        around = [results[index] for index in (low, high) if index is not None]
        furthest = max(around, key=lambda r: abs(result.value - r.value), default=None)
        change = Decimal(0) if furthest is None else abs(result.value - furthest.value)
        levels.append(int(_is_rapid(bedside, change, furthest, result)))
        lowest.add(result.at, result.value, place)
        highest.add(result.at, result.value, place)
        froms.append(furthest)
    run = run_at_level([r.at for r in results], levels, bridge=trend_limits.REPEAT_AFTER.length)
    if run is None:
        return None
    if levels[-1]:
        return None if furthest is None else _changed(bedside, signal, results[-1], furthest, run.since)
    return _not_taken_back(bedside, signal, results, froms, run)


def _not_taken_back(
    bedside: Bedside,
    signal: Signal,
    results: Sequence[Measurement],
    froms: Sequence[Measurement | None],
    run: Run,
) -> Finding | None:
    """Return a rapid change of the last day that still stands: a slower hour after it undoes no harm."""
    newest = results[-1]
    place = next(index for index, one in enumerate(results) if one.at == run.until)
    before = froms[place]
    if before is None or newest.at - results[place].at > trend_limits.SODIUM_WINDOW.length:
        return None
    went_up = results[place].value > before.value
    change = newest.value - before.value if went_up else before.value - newest.value
    if not _is_rapid(bedside, change, before, newest):
        return None
    return _changed(bedside, signal, newest, before, run.since)


def _is_rapid(bedside: Bedside, change: Decimal, before: Measurement | None, now: Measurement) -> bool:
    """Tell whether a change is rapid: a rise from a low sodium sooner where the brain is easily harmed."""
    if trend_limits.SODIUM_CHANGE.is_met_by(change):
        return True
    if before is None or now.value < before.value:
        return False
    if _is_early(change, before, now):
        return True
    return trend_limits.SODIUM_RISE_AT_RISK.is_met_by(change) and bool(_at_risk(bedside, before))


def _is_early(change: Decimal, before: Measurement, now: Measurement) -> bool:
    """Tell whether a rise from a very low sodium is on the way beyond what a day may bring."""
    return (
        trend_limits.SODIUM_RISE_EARLY.is_met_by(change)
        and trend_limits.SODIUM_EARLY_FROM.is_met_by(before.value)
        and now.at - before.at <= trend_limits.SODIUM_EARLY_WINDOW.length
    )


def _at_risk(bedside: Bedside, before: Measurement) -> str:
    """Return what makes a brain easily harmed by a rise from a low sodium; empty where nothing does."""
    if not trend_limits.SODIUM_LOW_BEFORE.is_met_by(before.value):
        return ""
    names = [inside_a_sentence(one.text) for one in bedside.record.told_of(*_HARM_SOONER)]
    if trend_limits.SODIUM_VERY_LOW_BEFORE.is_met_by(before.value):
        names.append(f"sodium {plain(before.value)} before")
    return listed(list(dict.fromkeys(names))) if names else ""


def _raising(bedside: Bedside) -> str:
    """Name what raises it on the chart; empty where nothing does."""
    lines = bedside.drug_chart.exposed
    names = sorted(
        {line.medicine.text for line in lines if _STRONG_SALT.search(line.medicine.text.casefold())}
    )
    return f" ({listed(names)} on the chart)" if names else ""


def _changed(
    bedside: Bedside, signal: Signal, newest: Measurement, before: Measurement, since: datetime
) -> Finding:
    change = newest.value - before.value
    way = "risen" if change > 0 else "fallen"
    label = FACTS[signal].label
    is_corrected = change > 0 and trend_limits.SODIUM_LOW_BEFORE.is_met_by(before.value)
    risk = _at_risk(bedside, before) if is_corrected else ""
    is_on_course = is_corrected and not trend_limits.SODIUM_CHANGE.is_met_by(change)
    sooner = f", at most 8 in a day with {risk}" if risk else ", at most 10 in a day" if is_on_course else ""
    again = " and sodium again in 2 hours" if is_on_course else ""
    asks = f"senior review of what raises it{_raising(bedside)}{again}"
    after = f", which may harm the brain{sooner}: {asks}" if is_corrected else ""
    said = (
        f"{capital(label)} has {way} by {plain(abs(change))} mmol/L in "
        f"{lasting(newest.at - before.at)}, from {plain(before.value)} to {plain(newest.value)}"
    )
    return Finding(
        kind=Kind.CRITICAL_RESULT,
        key=f"{signal.value}-change",
        letter=Letter.DISABILITY,
        urgency=Urgency.URGENT if is_corrected else Urgency.PROMPT,
        sentence=f"{said}: a rapid change{after}.",
        brief=f"{said}{preliminary(newest)}",
        **rests_on(bedside, since, before, newest),
        measures=(
            measure_of(signal, newest),
            measure_of(signal, before, key="from", label=f"{label} before"),
            Measure(key="change", label=f"change of {label}", value=change, unit=FACTS[signal].unit),
        ),
        sources=(
            trend_limits.SODIUM_CHANGE.source,
            *((trend_limits.SODIUM_LOW_BEFORE.source,) if is_corrected else ()),
            *((trend_limits.SODIUM_RISE_AT_RISK.source,) if risk else ()),
            *((trend_limits.SODIUM_RISE_EARLY.source,) if is_on_course else ()),
        ),
        cautions=("The limit is from memory; check it against local policy.",),
        decided_by=f"{label} changed faster than the limit of a day allows",
    )
