"""A pretended bulk-export server, as exacting as Bulk Data Access 2.0.0 allows it to be.

It wants `Prefer: respond-async`, makes clients wait, answers 429 to impatient ones,
refuses a missing token and, where the files are said to need none, refuses a token.
"""

import gzip
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

from tests.ehr.pretend import BASE, json_answer, outcome

STATUS = "https://ehr.example/bulk/status/1"


@dataclass
class ExportServer:
    """One export; what a test changes are its attributes."""

    files: dict[str, bytes]
    errors: dict[str, bytes] = field(default_factory=dict)
    deleted: dict[str, bytes] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    token: str | None = None
    requires_token: bool = True
    squeezed: bool = False
    squeezed_files: bool = False
    waits: list[httpx.Response] = field(default_factory=list)
    expire_once: set[str] = field(default_factory=set)
    break_off: dict[str, int] = field(default_factory=dict)
    gone: bool = False
    kicked_off: int = 0
    deletions: int = 0
    manifests: int = 0
    served: list[str] = field(default_factory=list)

    def __call__(self, request: httpx.Request) -> httpx.Response:
        """Answer one request."""
        path = request.url.path
        if request.url.host == "files.example":
            return self._file(request, path.rpartition("/")[2])
        if self.token and request.headers.get("authorization") != f"Bearer {self.token}":
            return json_answer(outcome("login"), 401)
        if path.endswith("$export"):
            return self._kick_off(request)
        if path == "/bulk/status/1":
            return self._status(request)
        return json_answer(outcome("not-found"), 404)

    def _kick_off(self, request: httpx.Request) -> httpx.Response:
        if request.headers.get("prefer") != "respond-async":
            return json_answer(outcome("invalid"), 400)
        if request.headers.get("accept") != "application/fhir+json":
            return json_answer(outcome("invalid"), 400)
        self.kicked_off += 1
        self.gone = False
        return httpx.Response(202, headers={"Content-Location": STATUS})

    def _status(self, request: httpx.Request) -> httpx.Response:
        if request.method == "DELETE":
            self.deletions += 1
            self.gone = True
            return httpx.Response(202)
        if self.gone:
            return json_answer(outcome("not-found"), 404)
        if self.waits:
            return self.waits.pop(0)
        self.manifests += 1
        manifest: dict[str, Any] = {
            "transactionTime": f"2026-03-12T07:30:0{self.kicked_off}Z",
            "request": f"{BASE}/$export",
            "requiresAccessToken": self.requires_token,
            "output": [self._listed(name) for name in self.files],
            "error": [self._listed(name) for name in self.errors],
            "deleted": [self._listed(name) for name in self.deleted],
        }
        return json_answer(manifest)

    def _listed(self, name: str) -> dict[str, Any]:
        content = {**self.files, **self.errors, **self.deleted}[name]
        count = self.counts.get(name, len(content.splitlines()))
        kind = {"error": "OperationOutcome", "deleted": "Bundle"}.get(name, name.rstrip("0123456789"))
        url = f"https://files.example/{self.kicked_off}/{self.manifests}/{name}"
        return {"type": kind, "url": url, "count": count}

    def _file(self, request: httpx.Request, name: str) -> httpx.Response:
        sent = request.headers.get("authorization")
        if self.requires_token and self.token and sent != f"Bearer {self.token}":
            return httpx.Response(401)
        if not self.requires_token and sent is not None:
            # A signed address with a token on top: storage services answer 400.
            return httpx.Response(400)
        if name in self.expire_once:
            self.expire_once.remove(name)
            return httpx.Response(403)
        self.served.append(name)
        content = {**self.files, **self.errors, **self.deleted}[name]
        if self.break_off.get(name, 0) > 0:
            self.break_off[name] -= 1
            return httpx.Response(200, stream=_Broken(content[: len(content) // 2]))
        if self.squeezed:
            return httpx.Response(200, content=gzip.compress(content), headers={"Content-Encoding": "gzip"})
        if self.squeezed_files:
            return httpx.Response(200, content=gzip.compress(content))
        return httpx.Response(200, content=content, headers={"Content-Type": "application/fhir+ndjson"})


class _Broken(httpx.AsyncByteStream):
    """A body that stops in the middle."""

    def __init__(self, content: bytes) -> None:
        self._content = content

    async def __aiter__(self):  # type: ignore[no-untyped-def]
        """Yield half and break."""
        yield self._content
        raise httpx.ReadError("cut")


def content(folder: Path) -> dict[str, bytes]:
    """Return every file of lines that was pulled into a folder, by name."""
    return {path.name: path.read_bytes() for path in sorted(folder.glob("*.ndjson"))}
