"""Has the sodium changed fast: by more in a day than the brain can follow?"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.result_words import preliminary
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.sodium_and_brain import dulled_since_raised
from weatherglass.facts.metabolic.sodium_change import SodiumChange
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.signs import trend_limits
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital, listed

_WORDS = word_patterns("asked-patterns.toml")
_STRONG_SALT = _WORDS["strong-salt"]


def assess_sodium_change(bedside: Bedside) -> Iterator[Finding]:
    """Name every rapid change of sodium, of either specimen."""
    for signal, change in bedside.sodium_changes.items():
        yield _changed(bedside, signal, change)


def _raising(bedside: Bedside) -> str:
    """Name what raises it on the chart; empty where nothing does."""
    lines = bedside.drug_chart.exposed
    names = sorted(
        {line.medicine.text for line in lines if _STRONG_SALT.search(line.medicine.text.casefold())}
    )
    return f" ({listed(names)} on the chart)" if names else ""


def _changed(bedside: Bedside, signal: Signal, found: SodiumChange) -> Finding:
    newest, before, change = found.newest, found.before, found.change
    label = signal.label
    risk = found.risk if found.is_corrected else ""
    most = trend_limits.SODIUM_RISE_AT_RISK if risk else trend_limits.SODIUM_CHANGE
    at_most = f"at most {most.limit.value} in a day{f' with {risk}' if risk else ''}"
    sooner = f", {at_most}" if risk or found.is_on_course else ""
    again = " and sodium again in 2 hours" if found.is_on_course else ""
    asks = f"senior review of what raises it{_raising(bedside)}{again}"
    mind = dulled_since_raised(bedside) if found.is_corrected else None
    if mind is not None:
        asks = f"{mind.words} since; {trend_limits.SODIUM_RAISED_AND_DULL.text}{_raising(bedside)}"
    after = f", which may harm the brain{sooner}: {asks}" if found.is_corrected else ""
    said = (
        f"{capital(label)} has {'risen' if change > 0 else 'fallen'} by {plain(abs(change))} mmol/L in "
        f"{lasting(newest.at - before.at)}, from {plain(before.value)} to {plain(newest.value)}"
    )
    return tell(
        About(Kind.CRITICAL_RESULT, f"{signal.value}-change", Letter.DISABILITY),
        Urgency.EMERGENCY if mind is not None else Urgency.URGENT if found.is_corrected else Urgency.PROMPT,
        rests_on(
            bedside,
            found.since,
            before,
            (signal, newest),
            mind,
            asked_since=mind.since if mind is not None else None,
        ),
        brief=f"{said}{f', and {mind.words} since' if mind is not None else ''}{preliminary(newest)}",
        sentence=f"{said}: a rapid change{after}.",
        measures=(
            measure_of(signal, before, key="from", label=f"{label} before"),
            Measure("change", f"change of {label}", change, signal.unit),
        ),
        sources=(
            trend_limits.SODIUM_CHANGE,
            *((trend_limits.SODIUM_LOW_BEFORE,) if found.is_corrected else ()),
            *((trend_limits.SODIUM_RISE_AT_RISK,) if risk else ()),
            *((trend_limits.SODIUM_RISE_EARLY,) if found.is_on_course else ()),
            *((trend_limits.SODIUM_RAISED_AND_DULL,) if mind is not None else ()),
        ),
        cautions=("The limit is from memory; check it against local policy.",),
        decided_by=f"{label} changed faster than the limit of a day allows",
    )
