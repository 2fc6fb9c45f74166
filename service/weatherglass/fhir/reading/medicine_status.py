"""Which orders on a chart count: the statuses and intents of FHIR, and what we make of them.

Ours, because no publication says it: only what somebody ordered and has not ended is
reviewed. An order on hold is not suggested for a hold again, but asked about its restart.
"""

from collections.abc import Mapping
from typing import Final

from weatherglass.clinical.record import OrderStatus

#: Intents that mean "to be given". A proposal or an option is nobody's order.
COUNTED_INTENTS: Final = frozenset(
    {"order", "original-order", "reflex-order", "filler-order", "instance-order", "plan"}
)

#: `MedicationRequest.status`. What is not listed (entered in error, unknown) is reported and left out.
REQUEST_STATUS: Final[Mapping[str, OrderStatus]] = {
    "active": OrderStatus.ACTIVE,
    "on-hold": OrderStatus.ON_HOLD,
    "stopped": OrderStatus.STOPPED,
    "cancelled": OrderStatus.STOPPED,
    "completed": OrderStatus.STOPPED,
    "draft": OrderStatus.DRAFT,
}

#: `MedicationStatement.status`: what a person is said to take.
STATEMENT_STATUS: Final[Mapping[str, OrderStatus]] = {
    "active": OrderStatus.ACTIVE,
    "intended": OrderStatus.DRAFT,
    "on-hold": OrderStatus.ON_HOLD,
    "stopped": OrderStatus.STOPPED,
    "completed": OrderStatus.STOPPED,
    "not-taken": OrderStatus.STOPPED,
}

#: `MedicationAdministration.status` of doses that reached the patient, wholly or in part.
GIVEN: Final = frozenset({"completed", "in-progress", "on-hold", "stopped"})
