"""How conscious somebody was in a round: what was answered in words, and the one coma scale."""

from collections.abc import Sequence
from decimal import Decimal

from weatherglass.facts.rounds.timeline import ObservationSet, Resolved
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.values import CodedObservation, Measurement, Spread
from weatherglass.model.signals import CodedSignal, Consciousness, Signal, seriousness_of
from weatherglass.model.sources import Origin
from weatherglass.model.words.value_words import plain_answer

_COMA_PARTS = (Signal.GCS_EYE, Signal.GCS_VERBAL, Signal.GCS_MOTOR)
_EYE_TO_RESPONSE = {3: Consciousness.VOICE, 2: Consciousness.PAIN, 1: Consciousness.UNRESPONSIVE}
_BOTH_SAID = "{} and {} are both recorded; the worse counts"
_USUAL = "confusion, recorded as long-standing"


class ComaScale(Plain, frozen=True):
    """The one coma scale of a round: its total, recorded or added up from its three parts.

    Attributes:
        measured: The total; an interval where a part or the total is known only as one.
        origins: Everything that it comes from.
        note: That a recorded total and its parts do not agree; empty where they do.
    """

    measured: Measurement
    origins: tuple[Origin, ...]
    note: str = ""

    @property
    def value(self) -> Decimal:
        """The lowest total that the record allows: of two values the worse counts."""
        lowest = self.measured.lowest
        return self.measured.value if lowest is None else lowest


def coma_scale_of(one: ObservationSet) -> ComaScale | None:
    """Return the coma scale of a round, from its total or its parts; None when neither is whole.

    Ours where both are recorded and do not agree: the lower one counts, and both are said.
    """
    return one.settle(_coma_scale_of)


def _coma_scale_of(one: ObservationSet) -> ComaScale | None:
    total = one.number(Signal.GCS_TOTAL)
    added = _added_up(one)
    if total is None or added is None:
        return added if total is None else ComaScale(total, (total.origin,))
    whole = ComaScale(total, (total.origin,))
    if whole.value == added.value:
        return replace(whole, origins=tuple(dict.fromkeys((*whole.origins, *added.origins))))
    note = (
        f"a total of {plain(total.value)} and parts that add up to {plain(added.measured.value)} "
        "are both recorded; the lower counts"
    )
    origins = tuple(dict.fromkeys((*whole.origins, *added.origins)))
    return replace(min(whole, added, key=lambda scale: scale.value), origins=origins, note=note)


def unnamed_confusion(value: object, said: Resolved | None, scale: ComaScale | None) -> str:
    """Say the coma scale where it alone makes somebody confused: nobody called it that. Empty elsewhere."""
    is_unnamed = value is Consciousness.NEW_CONFUSION and said is None and scale is not None
    return f"coma scale {plain(scale.value)}" if is_unnamed and scale is not None else ""


def number_of(one: ObservationSet, signal: Signal) -> Measurement | None:
    """Return the value of a signal in a round; of the coma scale the one total, with its parts added up."""
    if signal is not Signal.GCS_TOTAL:
        return one.number(signal)
    scale = coma_scale_of(one)
    return scale.measured if scale is not None else None


def _added_up(one: ObservationSet) -> ComaScale | None:
    parts = [one.number(signal) for signal in _COMA_PARTS]
    known = [part for part in parts if part is not None]
    if len(known) < len(parts):
        return None
    latest = max(known, key=lambda part: (part.at, part.origin))
    lows = [part.lowest for part in known]
    highs = [part.highest for part in known]
    spread = Spread(_sum_of(lows), _sum_of(highs)) if any(part.spread for part in known) else None
    remarks = frozenset(remark for part in known for remark in part.remarks)
    total = Measurement(
        sum((part.value for part in known), Decimal(0)), latest.at, latest.origin, spread, remarks
    )
    return ComaScale(total, tuple(dict.fromkeys(part.origin for part in known)))


def _sum_of(parts: Sequence[Decimal | None]) -> Decimal | None:
    known = [part for part in parts if part is not None]
    return sum(known, Decimal(0)) if len(known) == len(parts) else None


def consciousness_of(one: ObservationSet, *, confusion_is_usual: bool = False) -> Resolved | None:
    """Return ACVPU for a round, from the recorded answer and the coma scale.

    Ours where the publication is silent: a coma scale of 15 is alert; a verbal score
    of 4 with the rest full is new confusion unless confusion is this person's normal;
    otherwise the eye score decides (3 voice, 2 pain, 1 unresponsive, 4 new confusion), and
    without it a total of 8 or less is pain, of 3 unresponsive.

    Where answers, or an answer and the scale, contradict each other the worse counts and both
    are said. A scale of 14 with open eyes does not contradict "alert": the answer tells whether
    the confusion is new.
    """
    return one.settle(_alertness_usually_confused if confusion_is_usual else _alertness)


def _alertness(one: ObservationSet) -> Resolved | None:
    return _consciousness_of(one, confusion_is_usual=False)


def _alertness_usually_confused(one: ObservationSet) -> Resolved | None:
    return _consciousness_of(one, confusion_is_usual=True)


def _consciousness_of(one: ObservationSet, *, confusion_is_usual: bool) -> Resolved | None:
    said = answered_of(one, confusion_is_usual=confusion_is_usual)
    scaled = _by_coma_scale(one, confusion_is_usual=confusion_is_usual)
    if said is None or scaled is None:
        return said or scaled
    scale = coma_scale_of(one)
    open_eyed = scaled.value is Consciousness.NEW_CONFUSION
    if _badness(scaled) <= _badness(said) or (open_eyed and (scale is None or scale.value >= 14)):
        return said
    shown = f"coma scale {plain(scale.value)}" if scale is not None else "a coma scale of the eyes"
    return Resolved(
        scaled.value,
        tuple(dict.fromkeys((*said.origins, *scaled.origins))),
        max(said.at, scaled.at),
        _BOTH_SAID.format("confusion" if said.note == _USUAL else plain_answer(said.value), shown),
    )


def answered_of(one: ObservationSet, *, confusion_is_usual: bool) -> Resolved | None:
    """Return what the answers of a round say in words, without its coma scale.

    The worse of the last two counts, and of two at one instant.
    """
    last = one.answer(CodedSignal.CONSCIOUSNESS)
    if last is None:
        return None
    before = None if one.was_carried(CodedSignal.CONSCIOUSNESS) else one.said_before
    given = [
        _read(answer, confusion_is_usual=confusion_is_usual, usual=one.usual)
        for answer in (last, last.beside, before, before.beside if before is not None else None)
        if answer is not None
    ]
    worst = max(given, key=_badness)
    best = min(given, key=_badness)
    if worst.value is best.value:
        return given[0]
    return replace(
        worst,
        origins=tuple(dict.fromkeys(origin for each in given for origin in each.origins)),
        note=_BOTH_SAID.format(plain_answer(best.value), plain_answer(worst.value)),
    )


def _read(said: CodedObservation, *, confusion_is_usual: bool, usual: Consciousness) -> Resolved:
    """Return what one answer means for this person.

    Long-standing confusion that is recorded as such is this person's normal, so the plain word
    does not score (Clin Med 2019;19:190: new-onset or worsening confusion should prompt concern).
    An answer that says "new" or "acute" is taken at its word: it tells of a worsening.
    """
    value = said.value if isinstance(said.value, Consciousness) else Consciousness.ALERT
    note = ""
    if is_no_worse(value, usual):
        value, note = Consciousness.ALERT, _as_usual(value)
    elif value is Consciousness.CONFUSION:
        value = Consciousness.ALERT if confusion_is_usual else Consciousness.NEW_CONFUSION
        note = (
            _USUAL
            if confusion_is_usual
            else "recorded as confusion; taken as new until it is known to be long-standing"
        )
    elif value is Consciousness.NEW_CONFUSION and confusion_is_usual:
        note = "long-standing confusion is recorded too; recorded as new, it is taken as a worsening"
    return Resolved(value, (said.origin,), said.at, note)


def is_no_worse(value: Consciousness, usual: Consciousness) -> bool:
    """Tell whether somebody who is not alert is no worse than is recorded as usual.

    Confusion that is recorded as new is never usual.
    """
    if value in (Consciousness.ALERT, Consciousness.NEW_CONFUSION) or usual is Consciousness.ALERT:
        return False
    return value is Consciousness.CONFUSION or seriousness_of(value) <= seriousness_of(usual)


def _as_usual(value: Consciousness) -> str:
    return f"{plain_answer(value)}, recorded as usual"


def _badness(resolved: Resolved) -> int:
    return seriousness_of(resolved.value)


def _by_coma_scale(one: ObservationSet, *, confusion_is_usual: bool) -> Resolved | None:
    found = _shown_by_coma_scale(one, confusion_is_usual=confusion_is_usual)
    if found is None or not isinstance(found.value, Consciousness):
        return found
    # A scale does not say what is new: where the patient is never awake, its confusion is no more than that.
    shown = Consciousness.VOICE if found.value is Consciousness.NEW_CONFUSION else found.value
    if is_no_worse(shown, one.usual):
        return replace(found, value=Consciousness.ALERT, note=_as_usual(shown))
    return found


def _shown_by_coma_scale(one: ObservationSet, *, confusion_is_usual: bool) -> Resolved | None:
    scale = coma_scale_of(one)
    eye = one.number(Signal.GCS_EYE)
    known = [item for item in (eye, scale.measured if scale is not None else None) if item is not None]
    if not known:
        return None
    origins = tuple(
        dict.fromkeys((*((eye.origin,) if eye is not None else ()), *(scale.origins if scale else ())))
    )
    at = max(item.at for item in known)
    if eye is not None and eye.value < 4:
        return Resolved(_EYE_TO_RESPONSE[int(eye.value)], origins, at, "from the coma scale, eyes")
    if scale is None:
        return None
    if scale.value == 15:
        return Resolved(Consciousness.ALERT, origins, at, "from the coma scale")
    if scale.value <= 8 and eye is None:
        # No publication says which answer a total is; ours for a scale of coma without its parts.
        deep = Consciousness.UNRESPONSIVE if scale.value <= 3 else Consciousness.PAIN
        return Resolved(deep, origins, at, "from the coma scale")
    if confusion_is_usual and _is_confusion_alone(one, scale):
        return Resolved(
            Consciousness.ALERT, origins, at, "coma scale 14; long-standing confusion is recorded"
        )
    why = (
        "lower than long-standing confusion explains"
        if confusion_is_usual
        else "whether confusion is new is not recorded"
    )
    return Resolved(Consciousness.NEW_CONFUSION, origins, at, f"from the coma scale; {why}")


def _is_confusion_alone(one: ObservationSet, scale: ComaScale) -> bool:
    """Tell whether confused speech explains the whole coma scale: 14, and not for eyes or movement."""
    motor = one.number(Signal.GCS_MOTOR)
    return scale.value == 14 and (motor is None or motor.value == 6)
