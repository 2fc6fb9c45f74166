"""The yardstick of the HTTP rows: a route that parses the body with orjson and says a constant."""

import orjson
from fastapi import FastAPI, Request, Response


def create_app() -> FastAPI:
    """Make the bare application."""
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)

    @app.post("/parse")
    async def parse(request: Request) -> Response:
        orjson.loads(await request.body())
        return Response(b'{"resourceType":"Bundle","type":"collection"}', media_type="application/fhir+json")

    return app
