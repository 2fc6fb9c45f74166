"""The FHIR operations at their addresses."""

from fastapi import APIRouter, Request, Response

from weatherglass.api.publishing.openapi import OPERATION
from weatherglass.api.requests import operations
from weatherglass.api.requests.operations import operate

router = APIRouter(prefix="/fhir")


@router.post("/$review-deterioration", **OPERATION)
async def review_deterioration(request: Request) -> Response:
    """Review the patients of a Bundle, of Parameters around one, or of NDJSON."""
    return await operate(request, operations.write_collection, operations.write_patients)


@router.post("/$handover-document", **OPERATION)
async def handover_document(request: Request) -> Response:
    """Write the handover of one patient as a document; of each patient for NDJSON."""
    return await operate(request, operations.write_document, operations.write_documents)
