"""How a sign is graded: by its limits, by what is breathed, and by the worse of two that contradict."""

from collections.abc import Callable, Sequence
from datetime import timedelta
from decimal import Decimal

from weatherglass.facts.patient.rounds_now import Rounds
from weatherglass.facts.rounds.signs.sign_limits import level_of, sign_met
from weatherglass.facts.rounds.timeline import is_on_oxygen
from weatherglass.knowledge.scores import news2_2017
from weatherglass.knowledge.signs import single_signs
from weatherglass.knowledge.signs.single_signs import SingleSign, Whose
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal

_OXYGEN = (Signal.OXYGEN_FLOW, Signal.FIO2)
_SATURATION = ("saturation-low", "saturation-on-oxygen-low")
_NOTHING = timedelta(0)

Grade = Callable[[Measurement], SingleSign | None]


class Graded(Plain, frozen=True):
    """The newest value of a sign as it counts.

    Attributes:
        better: A better one of the same round that contradicts it.
    """

    shown: Measurement
    sign: SingleSign | None
    better: Measurement | None = None


def grade_of(patient: Rounds, signal: Signal, keys: Sequence[str], *, keeps: bool) -> Grade:
    """Return how a value of a signal is graded by these limits; of saturation, by what is breathed too.

    Args:
        patient: Whose it is.
        signal: Of what.
        keys: Of the limits.
        keeps: Whether carbon dioxide is known to be kept.
    """
    signs = [sign for key in keys for sign in patient.signs[key] if is_for(patient, sign)]
    if signal is Signal.SPO2:
        return _saturation_grade(patient, signs, keeps=keeps)
    return lambda one: sign_met(signs, one)


def saturation_grade(patient: Rounds, *, keeps: bool) -> Grade:
    """Return how a saturation is graded by the limits of saturation."""
    return grade_of(patient, Signal.SPO2, _SATURATION, keeps=keeps)


def is_for(patient: Rounds, sign: SingleSign) -> bool:
    """Tell whether a limit is for this person."""
    if sign.key == "temperature-low" and sign.urgency == "urgent" and patient.is_cooled_on_purpose:
        return False
    return sign.whose is not Whose.ADULTS or patient.has_adult_limits


def _saturation_grade(patient: Rounds, signs: Sequence[SingleSign], *, keeps: bool) -> Grade:
    """Return how a saturation is graded: by what is breathed, and by the prescribed target."""
    floor = patient.saturation_floor
    on_air = [sign for sign in signs if sign.key == "saturation-low"]
    on_oxygen = [sign for sign in signs if sign.key == "saturation-on-oxygen-low"]

    in_range = news2_2017.SCALE_2_LOWEST_TARGET.value
    has_own_range = keeps and floor is None

    def grade(one: Measurement) -> SingleSign | None:
        met = sign_met(on_air, one)
        if (
            has_own_range
            and lowest_of(one) >= in_range
            and level_of(met) < level_of(sign_met(on_oxygen, one))
        ):
            return met  # Inside the range that is published for who keeps carbon dioxide.
        if floor is not None and lowest_of(one) >= floor:
            return None
        limit = max((sign.cutoff.limit.value for sign in on_oxygen), default=None)
        if floor is not None and limit is not None and floor < limit:
            # The target is the limit; only well below it is an emergency.
            is_near = single_signs.NEAR_TARGET.is_met_by(floor - lowest_of(one))
            if met is not None and floor < met.cutoff.limit.value and is_near:
                return sign_met([each for each in on_air if each.urgency == "urgent"], one)
            return met
        oxygen = sign_met(on_oxygen, one)
        if oxygen is None or level_of(met) >= level_of(oxygen):
            return met  # Low enough whatever is breathed.
        return oxygen if _is_on_oxygen(patient, one) else met

    return grade


def lowest_of(one: Measurement) -> Decimal:
    """Return the lowest that a value may be, as far as that is known."""
    return one.value if one.lowest is None else one.lowest


def _is_on_oxygen(patient: Rounds, one: Measurement) -> bool:
    found = patient.round_at(one.at)
    return found is not None and is_on_oxygen(found)


def newest_graded(
    patient: Rounds, signal: Signal, items: Sequence[Measurement], graded: Sequence[SingleSign | None]
) -> Graded:
    """Return the newest value, or a worse one just before it that it contradicts."""
    newest = Graded(items[-1], graded[-1])
    if len(items) < 2 or graded[-1] is not None or graded[-2] is None:
        return newest
    before, last = items[-2], items[-1]
    apart = last.at - before.at
    if not _NOTHING < apart <= patient.choices.observation_set_window:
        return newest
    if signal is Signal.SPO2 and _oxygen_changed(patient, before, last):
        return newest
    return Graded(before, graded[-2], last)


def _oxygen_changed(patient: Rounds, before: Measurement, last: Measurement) -> bool:
    """Tell whether what is breathed was recorded anew between two saturations."""
    record = patient.record
    answered = record.coded(CodedSignal.OXYGEN_DELIVERY).within(before.at, last.at)
    amounts = [one for signal in _OXYGEN for one in record.series(signal).within(before.at, last.at)]
    times = [one.at for one in answered if one.value is not OxygenDelivery.AIR]
    return any(at > before.at for at in (*times, *(one.at for one in amounts)))
