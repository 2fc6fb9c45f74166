"""What is said beside a ketoacidosis: how severe, how it goes, and what brought it."""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.metabolic.ketoacidosis import Criteria
from weatherglass.facts.metabolic.ketoacidosis_severity import Severe
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.model.numbers.quantities import as_sent, plain, round_half_up
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital

_TENTH = Decimal("0.1")


def is_severe(severe: tuple[Severe, ...]) -> bool:
    """Tell whether any value that was read in print makes it severe."""
    return any(not one.is_remembered for one in severe)


def severity_words(severe: tuple[Severe, ...]) -> str:
    """Name what makes it severe; what is only remembered is said as such."""
    sure = ", ".join(one.words for one in severe if not one.is_remembered)
    remembered = ", ".join(one.words for one in severe if one.is_remembered)
    said = f"severe by {sure}" if sure else ""
    return ", and ".join(filter(None, (said, remembered and f"a sign of severity from memory: {remembered}")))


def courses(bedside: Bedside, since: datetime) -> Iterator[str]:
    """Say how ketones and acid went since the criteria were met."""
    for signal in (Signal.KETONES, Signal.BICARBONATE, Signal.PH_VENOUS, Signal.PH_ARTERIAL):
        pair = _pair(bedside, signal, since)
        if pair is not None and pair[0].value != pair[1].value:
            first, last = pair
            name = signal.short
            yield (f"{name} {as_sent(first.value)} to {as_sent(last.value)} in {lasting(last.at - first.at)}")


def _pair(bedside: Bedside, signal: Signal, since: datetime) -> tuple[Measurement, Measurement] | None:
    """Return the first exact result of this illness and the newest, an hour or more apart."""
    day = bedside.choices.gas_counts_for
    found = [
        one for one in bedside.record.series(signal).within(since - day, bedside.as_of) if not one.spread
    ]
    began = [one for one in found if one.at <= since][-1:] + [one for one in found if one.at > since]
    if len(began) < 2 or began[-1].at - began[0].at < criteria.RATE_OVER.length:
        return None
    return began[0], began[-1]


def mixed(bedside: Bedside) -> str:
    """Say that the hyperosmolar state is there as well; empty where it is not."""
    found = bedside.osmolality
    if found is None or not found.is_hyperosmolar:
        return ""
    return f"osmolality {found.shown} mOsm/kg: mixed with the hyperosmolar state"


def explained(bedside: Bedside, now: Criteria) -> str:
    """Name what brings ketoacidosis, with a normal glucose above all."""
    lines = [line for line in bedside.drug_chart.lines if MedicineClass.SGLT2_INHIBITOR in line.classes]
    said = [_on_chart(line) for line in lines]
    if not said and now.glucose is None and bedside.is_pregnant_or_recently:
        return "pregnancy brings it with a normal glucose"
    return ", ".join(dict.fromkeys(said))


def _on_chart(line: Line) -> str:
    name = line.medicine.text
    if line.standing is Standing.ENDED:
        return f"{name} has ended and goes on acting for days"
    return f"{name} is on the chart{' (on hold)' if line.standing is Standing.ON_HOLD else ''}"


def child_is_not_awake(bedside: Bedside) -> bool:
    """Tell whether cerebral oedema is to be thought of."""
    return bedside.is_child and bedside.altered_mind is not None


def sugar_beside_insulin(bedside: Bedside) -> Iterator[str]:
    """Ask for glucose beside the insulin where the newest one is low enough and none is on record."""
    newest = bedside.record.series(Signal.GLUCOSE).recent(bedside.as_of, criteria.SUGAR_COUNTS_FOR.length)
    if newest is None or not newest.is_exact or not criteria.SUGAR_BELOW.is_met_by(newest.value):
        return
    if bedside.record.is_without("glucose"):
        yield criteria.SUGAR_BESIDE_INSULIN.text


def cautions(bedside: Bedside, now: Criteria, since: datetime, severe: tuple[Severe, ...]) -> Iterator[str]:
    """Say what is to be watched: the place, the cause, and a course that is too slow."""
    if child_is_not_awake(bedside):
        yield criteria.CHILD_NOT_AWAKE.text
    if is_severe(severe):
        yield criteria.SEVERE_ASKS.text
    yield from sugar_beside_insulin(bedside)
    if now.glucose is None and Signal.GLUCOSE in now.measured and not explained(bedside, now):
        yield "With a normal glucose: ask about an SGLT2 inhibitor, insulin already given, and fasting."
    slow = " and ".join(_too_slow(bedside, since))
    if slow:
        asked = "mmol/L an hour (asked for, from memory): look at the insulin, its line and the fluids."
        yield f"{capital(slow)} {asked}"


def _too_slow(bedside: Bedside, since: datetime) -> Iterator[str]:
    """Say which of ketones and bicarbonate recovers more slowly than is asked for."""
    for signal, asked, name in (
        (Signal.KETONES, criteria.FALL_OF_KETONES.value, "ketones fall by"),
        (Signal.BICARBONATE, criteria.RISE_OF_BICARBONATE.value, "bicarbonate rises by"),
    ):
        pair = _pair(bedside, signal, since)
        if pair is None:
            continue
        change = pair[0].value - pair[1].value if signal is Signal.KETONES else pair[1].value - pair[0].value
        rate = change * 3600 / Decimal(int((pair[1].at - pair[0].at).total_seconds()))
        if rate < asked:
            found = plain(round_half_up(max(rate, Decimal(0)), _TENTH))
            yield f"{name} {found} instead of {plain(asked)}"
