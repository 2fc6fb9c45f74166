"""Before the first request: review an invented patient by every way, so that nobody waits for that.

Decoders, tables, templates, strict models and late imports are made when they are first
needed. This asks for them while nobody is waiting. Nothing is counted, logged or audited: the work
passes no request. A service that cannot review its own example does not call itself ready.
"""

import logging

from weatherglass.api.publishing.openapi import EXAMPLE
from weatherglass.api.service import Service
from weatherglass.fhir.reading.bundle import items_of
from weatherglass.fhir.reading.dispatch import READERS, REFERENCED_TYPES
from weatherglass.fhir.strict import invalid_parts, load_models
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.pipeline import review
from weatherglass.web.assets import assets
from weatherglass.web.page import landing_page, load_templates, view_page

_LOG = logging.getLogger("weatherglass.api")


def warm_up(service: Service) -> bool:
    """Judge, review, write and draw the example; tell whether all of it came out."""
    try:
        return _rehearse(service, EXAMPLE.read_bytes())
    except Exception as error:  # noqa: BLE001 - whatever it is, the process stays up to be looked at.
        _LOG.error("the example could not be reviewed (%s); this service is not ready", type(error).__name__)
        return False


def _rehearse(service: Service, body: bytes) -> bool:
    load_models((*READERS, *REFERENCED_TYPES))
    faults = invalid_parts(items_of(body), body)
    answer = review(body, choices=service.choices)
    answer.collection(service.stamp)
    handovers = [encode(write_handover(one, answer.issues, service.stamp)) for one in answer.reviews]
    load_templates()
    assets()
    landing_page()
    drawn = view_page(body, service.choices, lines=False)
    return not faults and len(handovers) == 1 and drawn.status == 200
