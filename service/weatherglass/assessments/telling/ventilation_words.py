"""What to say of ventilation and critical care, once the recorded ceilings have been looked at.

A ceiling that excludes what would be suggested is said in its place; one that does not name
it makes the suggestion conditional.
"""

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.breathing.ventilation import mask_going_on
from weatherglass.facts.treatment_limits import Allowed, Treatment
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.ward.intensive_care import TUBE_COUNTS_FOR
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.signals import OxygenDelivery

_CLAUSES = {
    Allowed.NOT_LIMITED: "",
    Allowed.YES: "",
    Allowed.NOT_NAMED: " where the recorded ceiling allows it",
}


def consider(bedside: Bedside, treatment: Treatment, words: str) -> str:
    """Return a suggestion, with its condition; or that a ceiling excludes the treatment.

    Args:
        bedside: The patient.
        treatment: What would be suggested.
        words: The suggestion, as it is said where nothing limits it.
    """
    if bedside.ventilation is not None:
        return "review the settings of the ventilator"
    if treatment is Treatment.NON_INVASIVE_VENTILATION and _is_on_a_mask(bedside):
        return (
            "a mask or pressure support is on already: its settings and fit, and a senior now on what follows"
        )
    left = bedside.allowed(treatment)
    if left is Allowed.EXCLUDED:
        return f"a ceiling excludes {treatment.value}"
    return f"{words}{_CLAUSES[left]}"


def _is_on_a_mask(bedside: Bedside) -> bool:
    """Tell whether a mask is on, by the device of the newest round, else by one begun within a day."""
    newest = bedside.oxygen_now
    if newest is not None and newest.device not in (OxygenDelivery.OXYGEN, OxygenDelivery.AIR):
        return newest.device is OxygenDelivery.PRESSURE_SUPPORT
    mask = mask_going_on(bedside.record)
    return mask is not None and bedside.as_of - mask.at <= TUBE_COUNTS_FOR.length


def critical_care_now(bedside: Bedside) -> str:
    """Return the call for critical care, or for a senior where a ceiling excludes that.

    Who lies there already has a team at the bed.
    """
    if bedside.own_doctor:
        return f"{bedside.own_doctor} now"
    if bedside.allowed(Treatment.INTENSIVE_CARE) is not Allowed.EXCLUDED:
        return consider(bedside, Treatment.INTENSIVE_CARE, "critical care now")
    mask = bedside.allowed(Treatment.NON_INVASIVE_VENTILATION)
    if mask is Allowed.EXCLUDED:
        return "a ceiling excludes intensive care and non-invasive ventilation: senior review now"
    return "a ceiling excludes intensive care: senior review now"


def mask_words(bedside: Bedside) -> str:
    """Say when a mask is thought of: after an hour of treatment in adults whose muscles are sound."""
    if bedside.is_child:
        return gas.MASK_OF_A_CHILD.text
    if bedside.record.has(*gas.WEAK_MUSCLES):
        return gas.MASK_WITHOUT_WAITING.text
    return "if it persists after an hour of treatment, consider non-invasive ventilation"


def numbers_that_disagree(sample: GasSample) -> tuple[str, ...]:
    """Return a caution where the numbers of one gas cannot be of one sample, or one has another unit."""
    fits = sample.fitting_pco2
    if fits is None or sample.pco2 is None:
        return ()
    sent = plain(sample.pco2.value)
    said = f"pH and bicarbonate fit a carbon dioxide of {plain(fits)} kPa, and {sent} was sent"
    return (f"{said}: check its unit and the sample.",)
