"""What the alerts of a threshold ask of a nurse and a doctor in a shift, and of a ward in its worst."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from weatherglass.evaluation.counting.alerts import rearmed
from weatherglass.evaluation.counting.intervals import Quartiles, quartiles
from weatherglass.evaluation.counting.ward_time import DAY, local, patient_days, pieces, spell_at
from weatherglass.evaluation.trace import Trace, Watched


@dataclass(frozen=True, slots=True, kw_only=True)
class Staffing:
    """Who looks after how many; ours, to be replaced by the site's own numbers.

    Attributes:
        shift: How long a shift lasts; goes into a day without rest.
        rearm: How long an alert silences the next of the same patient.
    """

    nurse_patients: float = 8.0
    doctor_patients: float = 30.0
    shift: timedelta = timedelta(hours=12)
    rearm: timedelta = timedelta(hours=8)


USUAL = Staffing()


@dataclass(frozen=True, slots=True)
class Burden:
    """The alerts of one threshold as staff meet them; re-armed.

    Attributes:
        threshold: At least this level.
        nurse: Alerts that a nurse has in a shift, on average; None without ward time.
        doctor: The same of a doctor.
        ward_shifts: Alerts on one ward in one shift, over all shifts in which it had patients.
    """

    threshold: int
    nurse: float | None
    doctor: float | None
    ward_shifts: Quartiles | None


def burdens(
    key: str, held: Sequence[Watched], thresholds: Sequence[int], staffing: Staffing
) -> tuple[Burden, ...]:
    """Work out the load of each threshold in use.

    Args:
        key: Which ladder.
        held: The patients that have it.
        thresholds: Those in use.
        staffing: Who looks after how many.
    """
    days = patient_days(held)
    open_shifts = {
        _shift(one.trace, piece.starts, staffing.shift)
        for one in held
        for piece in pieces(one.trace, staffing.shift)
    }
    return tuple(_burden(key, held, threshold, staffing, days, open_shifts) for threshold in thresholds)


def _burden(
    key: str,
    held: Sequence[Watched],
    threshold: int,
    staffing: Staffing,
    days: float,
    open_shifts: set[tuple[str, datetime]],
) -> Burden:
    counted = Counter(dict.fromkeys(open_shifts, 0))
    for one in held:
        alerts = rearmed(one.steps(key), threshold, staffing.rearm)
        counted.update(_shift(one.trace, alert, staffing.shift) for alert in alerts)
    each_patient = counted.total() / days * (staffing.shift / DAY) if days else None
    return Burden(
        threshold,
        None if each_patient is None else each_patient * staffing.nurse_patients,
        None if each_patient is None else each_patient * staffing.doctor_patients,
        quartiles([float(number) for number in counted.values()]),
    )


def _shift(trace: Trace, moment: datetime, length: timedelta) -> tuple[str, datetime]:
    """Return the ward and the beginning of the shift, by the record's own clock."""
    clock = local(trace, moment)
    midnight = clock.replace(hour=0, minute=0, second=0, microsecond=0)
    return spell_at(trace, moment).ward, midnight + (clock - midnight) // length * length
