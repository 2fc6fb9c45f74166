"""When somebody was born to the minute: the extension of a birth date that newborns come with."""

from datetime import datetime
from typing import Final

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.times import Precision, read_when

#: FHIR R4, standard extension of `Patient.birthDate`.
BIRTH_TIME: Final = "http://hl7.org/fhir/StructureDefinition/patient-birthTime"


class _Extension(Struct, gc=False):
    url: str = ""
    valueDateTime: str | None = None


class _Beside(Struct, gc=False):
    extension: tuple[_Extension, ...] = ()


def birth_time(beside: Raw) -> datetime | None:
    """Return the moment of birth in what stands beside a birth date; None where it holds none.

    Args:
        beside: The element `_birthDate` as sent.
    """
    if b"patient-birthTime" not in bytes(beside):
        return None
    try:
        found = msgspec.json.decode(beside, type=_Beside)
    except msgspec.MsgspecError:
        return None
    said = next((one.valueDateTime for one in found.extension if one.url == BIRTH_TIME), None)
    when = read_when(said) if said else None
    return when.at if when is not None and when.precision is Precision.INSTANT else None
