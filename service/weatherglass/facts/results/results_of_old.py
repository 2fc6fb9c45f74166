"""Is a result as high as it has been for long?"""

from datetime import datetime

from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal


def are_of_old(record: Record, signal: Signal, newest: Measurement, as_of: datetime) -> bool:
    """Tell whether the last result of 8 to 365 days ago was hardly lower than the newest one."""
    earlier = record.series(signal).within(
        as_of - limits.RESULT_OF_OLD_FROM.length, as_of - limits.RESULT_OF_OLD_UNTIL.length
    )
    exact = [one.value for one in earlier if one.is_exact]
    return bool(exact) and exact[-1] >= newest.value * limits.RESULT_OF_OLD.value
