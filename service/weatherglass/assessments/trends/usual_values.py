"""What is usual for this patient, for whoever draws a chart or reads one."""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.steady import TABLES
from weatherglass.facts.series.usual_range import UsualRange, usual_measures
from weatherglass.knowledge.sepsis.sepsis_strata import FEVER
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain, unit_words
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import our_choice
from weatherglass.model.words.clock_words import lasting

_WHILE_ILL = "All are of this admission: the illness may be in what looks usual."
_MIDDLE_HALF = our_choice("the usual range is the middle half of the own readings")


def assess_usual_values(bedside: Bedside) -> Iterator[Finding]:
    """Give the middle half of the own readings of each vital sign, in one finding."""
    usual = bedside.usual
    if not usual:
        return
    said = [f"{signal.label} {_span(signal, one)} {unit_words(signal.unit)}" for signal, one in usual.items()]
    spans = lasting(max(one.spans for one in usual.values()))
    whose = _whose(bedside, spans)
    counts = ", ".join(f"{signal.short} {one.readings}" for signal, one in usual.items())
    yield tell(
        About(Kind.CONTEXT, "usual-values", Letter.OVERALL),
        Urgency.ROUTINE,
        rests_on(bedside, None, *(reading for one in usual.values() for reading in (one.first, one.last))),
        brief=whose,
        asks=", ".join(said),
        measures=(
            measure
            for signal, one in usual.items()
            for measure in usual_measures(signal, one, prefix=f"{signal.value}-usual")
        ),
        cautions=(
            f"Middle half of the readings ({counts}); the first and the last of each are named.",
            *((_WHILE_ILL,) if _are_of_this_admission(bedside) else ()),
        ),
        sources=(trend_limits.PRESSURE_BASELINE_WINDOW, _MIDDLE_HALF),
    )


def _whose(bedside: Bedside, spans: str) -> str:
    """Name the readings; those of an illness are not called usual."""
    if _were_ill(bedside):
        return f"Own readings over {spans}, ill for part"
    return f"Usual for this patient, own readings over {spans}"


def may_hold_the_illness(bedside: Bedside) -> bool:
    """Tell whether what looks usual may be the present illness: no chart calls it usual then."""
    return bool(bedside.usual) and (_were_ill(bedside) or _are_of_this_admission(bedside))


def _were_ill(bedside: Bedside) -> bool:
    if bedside.slow_decline is not None:
        return True
    heat = bedside.usual.get(Signal.TEMPERATURE)
    if not bedside.may_use_news2 and (bedside.infection or (heat is not None and FEVER.is_met_by(heat.high))):
        return True  # In a child and a mother no total says so.
    first = min(one.first.at for one in bedside.usual.values())
    last = max(one.last.at for one in bedside.usual.values())
    return bedside.may_use_news2 and bedside.scored_high(first, last)


def _are_of_this_admission(bedside: Bedside) -> bool:
    admitted = bedside.admitted_at
    return admitted is not None and all(one.first.at >= admitted for one in bedside.usual.values())


def _span(signal: Signal, usual: UsualRange) -> str:
    low, high = _as_charted(signal, usual.low), _as_charted(signal, usual.high)
    return low if low == high else f"{low}-{high}"


def _as_charted(signal: Signal, value: Decimal) -> str:
    return plain(TABLES[signal].read_as(value))
