"""Which deadline of a Task stands: the one that was set first, unless a newer review asks sooner.

Looking again is no reason to wait longer. A reason that turns out to have begun earlier, as by a value that
was charted late, is one to wait less.
"""

from datetime import datetime

from weatherglass.fhir.times import read_instant
from weatherglass.fhir.writing.frame.terms import Json


def is_sooner(new: Json, old: Json) -> bool:
    """Tell whether a result of a newer review is due before the one that lies at the server."""
    now, then = _due(new), _due(old)
    return now is not None and (then is None or now < then)


def with_first_deadline(new: Json, old: Json) -> Json:
    """Return a result with the deadline that was set first, while it asks the same thing as soon."""
    same = all(new.get(key) == old.get(key) for key in ("status", "priority"))
    if same and is_sooner(old, new):
        return {**new, "restriction": old["restriction"]}
    return new


def _due(resource: Json) -> datetime | None:
    period = (resource.get("restriction") or {}).get("period") or {}
    return read_instant(str(period.get("end", "")))
