"""The yardstick of the HTTP rows: a route that parses the body with orjson and writes our answer with it.

What is written was made once, before the first request: the same objects every time, so the
yardstick does all that any service must do, and nothing else.
"""

import orjson
from fastapi import FastAPI, Request, Response

from tests.benchmarks.records import record
from weatherglass.pipeline import review
from weatherglass.stamp import stamp


def create_app() -> FastAPI:
    """Make the bare application."""
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
    answer = orjson.loads(review(record(60)).collection(stamp()))

    @app.post("/parse")
    async def parse(request: Request) -> Response:
        orjson.loads(await request.body())
        return Response(orjson.dumps(answer), media_type="application/fhir+json")

    return app
