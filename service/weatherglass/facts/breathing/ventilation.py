"""Is the patient ventilated through a tube, since when, and what sedates on purpose?

A tube and what sedates for it explain a low coma scale, slow breathing and no answer. They are believed
only where somebody can see to them: on a ward a mask machine is sent with the same words, and a
low coma scale there is never explained away.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.facts.series.runs import first_of_run
from weatherglass.facts.whereabouts import Whereabouts, here_since
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.ward import intensive_care as limits
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Done, ProcedureKind
from weatherglass.model.record.medicines import PERHAPS_A_VEIN, Route
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal
from weatherglass.model.sources import Origin

_SEDATES = frozenset(
    each.value
    for each in (
        MedicineClass.PROPOFOL,
        MedicineClass.BENZODIAZEPINE,
        MedicineClass.Z_DRUG,
        MedicineClass.BARBITURATE,
        MedicineClass.OPIOID,
        MedicineClass.OTHER_SEDATIVE,
    )
)
_BELIEVED = frozenset(
    {Whereabouts.INTENSIVE_CARE, Whereabouts.THEATRE, Whereabouts.EMERGENCY_DEPARTMENT, Whereabouts.UNKNOWN}
)
#: Says nothing of a tube, for or against it.
_NEUTRAL = frozenset({OxygenDelivery.OXYGEN, OxygenDelivery.AIR})


class Mask(Plain, frozen=True):
    """Ventilation by a mask that goes on, in the words of the record and from when."""

    text: str
    at: datetime


class Ventilation(Plain, frozen=True):
    """A patient who is ventilated through a tube.

    Attributes:
        since: When that is first recorded without a break.
        origins: What records it, the newest.
        sedatives: The lines of the chart that sedate by the vein, now or within hours.
    """

    since: datetime
    origins: tuple[Origin, ...]
    sedatives: tuple[Line, ...]

    @property
    def is_sedated(self) -> bool:
        """Whether something on the chart sedates on purpose."""
        return bool(self.sedatives)

    @property
    def named(self) -> tuple[str, ...]:
        """What sedates, each named once."""
        return tuple(dict.fromkeys(line.medicine.name for line in self.sedatives))


def ventilation(
    record: Record, as_of: datetime, where: Whereabouts, lines: Iterable[Line]
) -> Ventilation | None:
    """Return the ventilation that is going on, None where none is recorded or something speaks against it.

    Args:
        record: As it stands at the moment of the review.
        as_of: That moment.
        where: Where the patient is.
        lines: The drug chart.
    """
    if where not in _BELIEVED:
        return None
    shown = sorted((*_devices(record, as_of), *_procedures(record, as_of, where)))
    if not shown:
        return None
    against = max(_against(record), default=None)
    since = [at for at, _ in shown if against is None or at > against]
    if not since:
        return None
    return Ventilation(min(since), (shown[-1][1],), tuple(_sedating(lines, as_of)))


def mask_going_on(record: Record) -> Mask | None:
    """Return the ventilation by a mask that was begun last and has no end on record.

    Without a procedure it is the device that every round since its beginning has named.
    """
    done = next(reversed(record.done(ProcedureKind.MASK_VENTILATION)), None)
    if done is not None:
        return Mask(done.text, done.at) if done.ended is None else None
    # That oxygen is given, which is sent beside it, names no device.
    named = record.coded(CodedSignal.OXYGEN_DELIVERY).items
    devices = [one for one in named if one.value is not OxygenDelivery.OXYGEN]
    first = first_of_run(devices, lambda one: one.value is OxygenDelivery.PRESSURE_SUPPORT)
    return Mask("Ventilation by a mask", first.at) if first is not None else None


def anaesthetics(lines: Iterable[Line], as_of: datetime) -> tuple[str, ...]:
    """Name what runs that nobody is given without somebody who holds the airway."""
    return tuple(
        dict.fromkeys(
            line.medicine.text
            for line in _sedating(lines, as_of)
            if MedicineClass.PROPOFOL in line.classes and line.standing is Standing.IN_USE
        )
    )


def _devices(record: Record, as_of: datetime) -> Iterator[tuple[datetime, Origin]]:
    """Yield the rounds that name a ventilator, where the newest of them still speaks for now."""
    course = record.coded(CodedSignal.OXYGEN_DELIVERY)
    through_tube = [
        one
        for one in course
        if one.value is OxygenDelivery.VENTILATOR
        and one.at <= as_of
        and (one.beside is None or one.beside.value in _NEUTRAL)
    ]
    if through_tube and as_of - through_tube[-1].at <= limits.DEVICE_COUNTS_FOR.length:
        yield from ((one.at, one.origin) for one in through_tube)


def _procedures(record: Record, as_of: datetime, where: Whereabouts) -> Iterator[tuple[datetime, Origin]]:
    """Yield the tubes that were put in lately, in intensive care during this stay in hospital."""
    first = as_of - limits.TUBE_COUNTS_FOR.length
    came = here_since(record, as_of)
    if where is Whereabouts.INTENSIVE_CARE and came is not None:
        first = min(came, first)
    for one in record.done(ProcedureKind.VENTILATION):
        is_over = one.ended is not None and one.ended <= as_of and _lasts(one)
        if first <= one.at <= as_of and not is_over:
            yield one.at, one.origin


def _lasts(one: Done) -> bool:
    """Tell whether its end is the end of ventilation, and not of putting the tube in."""
    return one.until - one.at > timedelta(hours=1)


def _against(record: Record) -> Iterator[datetime]:
    """Yield when something spoke against a tube: its removal, another device, speech."""
    yield from (one.at for one in record.done(ProcedureKind.EXTUBATION))
    yield from (one.until for one in record.done(ProcedureKind.VENTILATION) if _lasts(one))
    for one in record.coded(CodedSignal.OXYGEN_DELIVERY):
        if one.value is not OxygenDelivery.VENTILATOR and one.value not in _NEUTRAL:
            yield one.at
    yield from (one.at for one in record.series(Signal.GCS_VERBAL) if one.value > 1)


def _sedating(lines: Iterable[Line], as_of: datetime) -> Iterator[Line]:
    for line in lines:
        dose = line.last_dose
        near = dose is not None and (dose.running or as_of - dose.until <= limits.SEDATION_LASTS.length)
        is_ordered = (
            line.standing is Standing.IN_USE and line.charted is not None and not line.charted.as_needed
        )
        by_vein = line.route in PERHAPS_A_VEIN or (dose is not None and dose.route is Route.INTRAVENOUS)
        if line.classes & _SEDATES and by_vein and (near or is_ordered):
            yield line
