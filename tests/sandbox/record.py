"""An invented record system: a real FHIR server behind a door that asks for an access token.

It says where to sign in, lets a browser ask (CORS), and gives out the record of the token's
patient only, as far as the scopes reach. At its own address stands a viewer of cards.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Thread
from typing import Any

import httpx
import uvicorn
from joserfc import jwt
from joserfc.errors import JoseError
from joserfc.jwk import KeySet
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route

from tests.running import PLAIN
from weatherglass.cds_hooks.services import DETERIORATION

HERE = Path(__file__).parent
_PATIENT = "{{context.patientId}}"
_FHIR = "application/fhir+json"


@dataclass
class RecordSystem:
    """The door.

    Attributes:
        behind: Base address of the FHIR server that holds the records.
        base: Base address that others are told.
        issuer: Who lets people sign in.
        review: Where the service is.
        said: What is told about signing in beside the usual; None leaves a part out.
        refused: Status by type: what this system does not give out.
        twist: What becomes of the text of an answer.
        asked: What was asked with a good token, in order.
        token: What the FHIR server behind wants itself, where it wants any.
    """

    behind: str
    base: str
    issuer: str
    review: str = ""
    patients: list[tuple[str, str]] = field(default_factory=list)
    said: dict[str, Any] = field(default_factory=dict)
    refused: dict[str, int] = field(default_factory=dict)
    twist: Callable[[str], str] = str
    asked: list[str] = field(default_factory=list)
    token: str = ""

    def is_itself(self) -> None:
        """Take back what a test has changed."""
        self.said, self.refused, self.twist, self.asked = {}, {}, str, []

    def configuration(self) -> dict[str, Any]:
        """SMART App Launch 2.2, "Metadata"."""
        whole = {
            "issuer": self.issuer,
            "authorization_endpoint": f"{self.issuer}/auth",
            "token_endpoint": f"{self.issuer}/token",
            "jwks_uri": f"{self.issuer}/jwks",
            "grant_types_supported": ["authorization_code"],
            "code_challenge_methods_supported": ["S256"],
            "capabilities": [
                "launch-ehr",
                "launch-standalone",
                "client-public",
                "context-ehr-patient",
                "context-standalone-patient",
                "permission-patient",
                "permission-v2",
            ],
            **self.said,
        }
        return {name: value for name, value in whole.items() if value is not None}

    async def fhir(self, request: Request) -> Response:
        """Answer with what lies behind, to whoever may see it."""
        path = request.path_params["path"]
        if path == ".well-known/smart-configuration":
            return JSONResponse(self.configuration())
        kind, _, identity = path.partition("/")
        patient = self._patient_of(request.headers.get("authorization", ""), kind)
        if patient is None:
            return _outcome(401)
        about = identity if kind == "Patient" else request.query_params.get("patient", "")
        if patient != about.removeprefix("Patient/"):
            return _outcome(403)
        if kind in self.refused:
            return _outcome(self.refused[kind])
        self.asked.append(f"{path}?{request.url.query}" if request.url.query else path)
        headers = {"Authorization": f"Bearer {self.token}"} if self.token else {}
        async with httpx.AsyncClient(trust_env=False, timeout=60, headers=headers) as client:
            try:
                answer = await client.get(
                    f"{self.behind}/{path}", params=dict(request.query_params.multi_items())
                )
            except httpx.TransportError:
                return _outcome(503)
        text = answer.text.replace(self.behind, self.base)
        return Response(self.twist(text), answer.status_code, media_type=_FHIR)

    def _patient_of(self, header: str, kind: str) -> str | None:
        token = header.removeprefix("Bearer ")
        with httpx.Client(trust_env=False, timeout=10, verify=PLAIN) as client:
            keys = KeySet.import_key_set(client.get(f"{self.issuer}/jwks").json())
        try:
            claims = jwt.decode(token, keys, algorithms=["RS256", "ES256"]).claims
            jwt.JWTClaimsRegistry(
                iss={"essential": True, "value": self.issuer}, aud={"essential": True, "value": self.base}
            ).validate(claims)
        except (JoseError, ValueError):
            return None
        reaches = f"patient/{kind}.rs" in claims.get("scope", "").split()
        return str(claims["patient"]) if reaches else None

    async def call(self, request: Request) -> Response:
        """Return the body of a call of the hook patient-view, with everything sent ahead."""
        patient = request.path_params["patient"]
        return JSONResponse(await self.hook(patient))

    async def hook(self, patient: str) -> dict[str, Any]:
        """Put a call together as a record system does: each template asked, `null` when nothing is there."""
        sent: dict[str, Any] = {}
        async with httpx.AsyncClient(trust_env=False, timeout=60, base_url=self.behind) as client:
            for key, template in DETERIORATION.prefetch.items():
                answer = await client.get("/" + template.replace(_PATIENT, patient))
                answer.raise_for_status()
                found = json.loads(answer.text.replace(self.behind, self.base))
                is_empty = found["resourceType"] == "Bundle" and not found.get("entry")
                sent[key] = None if is_empty else found
        return {
            "hook": "patient-view",
            "hookInstance": "3f0d1c9e-6a1b-4c57-9f0e-3d6f2b8a7c11",
            "fhirServer": self.base,
            "context": {"userId": "Practitioner/quist", "patientId": patient},
            "prefetch": sent,
        }

    async def about(self, _: Request) -> Response:
        """Tell the viewer who there is and where the service is."""
        return JSONResponse({"patients": self.patients, "service": self.review, "base": self.base})

    def application(self) -> Starlette:
        """Make the application."""
        return Starlette(
            routes=[
                Route("/", lambda _: FileResponse(HERE / "cards.html")),
                Route("/cards.js", lambda _: FileResponse(HERE / "cards.js")),
                Route("/about", self.about),
                Route("/call/{patient}", self.call),
                Route("/fhir/{path:path}", self.fhir),
            ],
            middleware=[
                Middleware(CORSMiddleware, allow_origins=["*"], allow_methods=["GET"], allow_headers=["*"])
            ],
        )


def _outcome(status: int) -> Response:
    issue = {"severity": "error", "code": "forbidden" if status in (401, 403) else "not-supported"}
    return JSONResponse({"resourceType": "OperationOutcome", "issue": [issue]}, status, media_type=_FHIR)


@contextmanager
def running(system: RecordSystem, port: int) -> Iterator[RecordSystem]:
    """Serve it from a thread of this process until the block ends."""
    config = uvicorn.Config(system.application(), host="127.0.0.1", port=port, log_level="error")
    server = uvicorn.Server(config)
    thread = Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield system
    finally:
        server.should_exit = True
        thread.join(10)
