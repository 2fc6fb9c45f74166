"""Whether a record still holds anything as late as an earlier review says.

A value under a mistyped date makes a review of that date. Once the date is corrected, that review
would stand above all that follow until its day has come: so the record itself is asked.
"""

from datetime import datetime

from weatherglass.ehr.client.capabilities import Capabilities
from weatherglass.ehr.client.faults import RefusedError
from weatherglass.ehr.client.transport import Transport
from weatherglass.ehr.fetching.needed import NEEDED_TYPES
from weatherglass.ehr.fetching.search import patient_record
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import read_lines


async def nothing_is_later(
    transport: Transport, capabilities: Capabilities, patient: str, moment: datetime
) -> bool:
    """Tell whether nothing in a patient's record at the server is later than a moment.

    Args:
        transport: The server.
        capabilities: What it knows.
        patient: The patient as the server knows it ("Patient/p1").
        moment: The moment.

    Returns:
        False as well when the record may not be read, or nothing of it can be: then nobody knows.

    Raises:
        EhrError: The server could not be reached.
    """
    types = [kind for kind in NEEDED_TYPES if capabilities.knows(kind)]
    try:
        record = await patient_record(transport, patient.partition("/")[2], types)
        newest = [one.newest for _, one in read_lines(record).records]
    except (RefusedError, UnreadableError):
        return False
    known = [at for at in newest if at is not None]
    return bool(known) and max(known) <= moment
