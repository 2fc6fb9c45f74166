"""What lies between the record server and everybody else: TLS, published keys, faults, and a journal.

Everything that the service writes passes here, so the journal holds what was delivered,
when, and how the server answered.
"""

import asyncio
import json
import logging
import ssl
import threading
import time
from collections import Counter
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Self

import httpx
import uvicorn
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from tests.hospital.clock import HospitalClock

Json = dict[str, Any]
_Message = MutableMapping[str, Any]
_Receive = Callable[[], Awaitable[_Message]]
_Send = Callable[[_Message], Awaitable[None]]
FINDING = "urn:weatherglass:finding"
_HOP = frozenset({"host", "connection", "content-length", "transfer-encoding", "accept-encoding"})


@dataclass(frozen=True, slots=True)
class Write:
    """One resource as the service wrote it and the server took it."""

    at: datetime
    seconds: float  # The machine's clock that nobody sets.
    patient: str
    kind: str
    name: str
    status: str
    priority: str
    said: str
    effective: str
    begin: str
    end: str
    focus: str
    code: str
    created: bool


@dataclass(slots=True)
class Trouble:
    """What is wrong with the network at the moment."""

    slow: float = 0.0
    busy: bool = False
    lose: int = 0


class Authority:
    """A private authority that signs the network's certificates."""

    def __init__(self, folder: Path, now: datetime) -> None:
        """Make its key and its own certificate."""
        self._folder = folder
        self._key = ec.generate_private_key(ec.SECP256R1())
        self._name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Invented authority")])
        self.file = folder / "authority.pem"
        self._certificate(self._name, self._key.public_key(), now, 3650, self.file, authority=True)

    def certify(self, name: str, now: datetime, days: int) -> tuple[Path, Path]:
        """Return the files of a new certificate for this machine, and of its key."""
        key = ec.generate_private_key(ec.SECP256R1())
        chain, secret = self._folder / f"{name}.pem", self._folder / f"{name}.key"
        secret.write_bytes(
            key.private_bytes(
                serialization.Encoding.PEM,
                serialization.PrivateFormat.PKCS8,
                serialization.NoEncryption(),
            )
        )
        subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
        self._certificate(subject, key.public_key(), now, days, chain, authority=False)
        return chain, secret

    def _certificate(
        self,
        subject: x509.Name,
        key: ec.EllipticCurvePublicKey,
        now: datetime,
        days: int,
        file: Path,
        *,
        authority: bool,
    ) -> None:
        built = (
            x509.CertificateBuilder()
            .subject_name(subject)
            .issuer_name(self._name)
            .public_key(key)
            .serial_number(x509.random_serial_number())
            .not_valid_before(now - timedelta(days=1))
            .not_valid_after(now + timedelta(days=days))
            .add_extension(x509.BasicConstraints(ca=authority, path_length=None), critical=True)
            .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
            # RFC 5280, which Python asks for from 3.13 on.
            .add_extension(x509.SubjectKeyIdentifier.from_public_key(key), critical=False)
            .add_extension(
                x509.AuthorityKeyIdentifier.from_issuer_public_key(self._key.public_key()), critical=False
            )
            .add_extension(
                x509.KeyUsage(
                    digital_signature=True,
                    key_cert_sign=authority,
                    crl_sign=authority,
                    content_commitment=False,
                    key_encipherment=False,
                    data_encipherment=False,
                    key_agreement=False,
                    encipher_only=False,
                    decipher_only=False,
                ),
                critical=True,
            )
        )
        signed = built.sign(self._key, hashes.SHA256())
        file.write_bytes(signed.public_bytes(serialization.Encoding.PEM))


@dataclass
class Network:
    """A server on this machine that hands requests on to the record server.

    Attributes:
        port: Where it listens, by TLS.
        upstream: Address of the record server itself.
        clock: The hospital's clock.
        folder: Where certificates lie.
        keys: Public keys that are told at `/keys/NAME`.
        trouble: What is wrong at the moment.
        journal: What was delivered.
        answered: How often each status was answered, by the network itself or the server.
        lost: How many acknowledgements were lost so far.
    """

    port: int
    upstream: str
    clock: HospitalClock
    folder: Path
    keys: dict[str, list[Json]] = field(default_factory=dict)
    trouble: Trouble = field(default_factory=Trouble)
    journal: list[Write] = field(default_factory=list)
    answered: Counter[int] = field(default_factory=Counter)
    lost: int = 0
    handshakes: int = 0
    _client: httpx.AsyncClient | None = None

    def __post_init__(self) -> None:
        """Make the first certificate."""
        self.folder.mkdir(parents=True, exist_ok=True)
        self.authority = Authority(self.folder, self.clock.now())
        self._first = self.authority.certify("first", self.clock.now(), 2)
        self._config = uvicorn.Config(
            self._answer,
            host="127.0.0.1",
            port=self.port,
            interface="asgi3",
            loop="asyncio",
            ssl_certfile=str(self._first[0]),
            ssl_keyfile=str(self._first[1]),
            log_config=None,
            access_log=False,
            # The record server tells the hospital's time itself.
            date_header=False,
        )
        # A lost acknowledgement is no fault of this server.
        logging.getLogger("uvicorn.error").setLevel(logging.CRITICAL)
        self._server = uvicorn.Server(self._config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)

    @property
    def base(self) -> str:
        """The address that everybody knows the record server by."""
        return f"https://localhost:{self.port}/fhir"

    def __enter__(self) -> Self:
        """Listen."""
        self._thread.start()
        while not self._server.started:
            time.sleep(0.02)
        return self

    def __exit__(self, *_: object) -> None:
        """Stop."""
        self._server.should_exit = True
        self._thread.join(20)

    def renew_certificate(self) -> str:
        """Show another certificate from now on; return its serial number."""
        chain, secret = self.authority.certify("second", self.clock.now(), 90)
        context = self._config.ssl
        if context is None:
            raise RuntimeError("the network is not listening")
        context.load_cert_chain(chain, secret)
        return f"{x509.load_pem_x509_certificate(chain.read_bytes()).serial_number:x}"

    def shown_certificate(self) -> str:
        """Return the serial number of the certificate that a new connection is shown."""
        context = ssl.create_default_context()
        context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
        pem = ssl.get_server_certificate(("localhost", self.port))
        return f"{x509.load_pem_x509_certificate(pem.encode()).serial_number:x}"

    async def _answer(self, scope: _Message, receive: _Receive, send: _Send) -> None:
        if scope["type"] == "lifespan":
            await _live(receive, send, self._hang_up)
            return
        body = await _body(receive)
        path = scope["path"]
        if path.startswith("/keys/"):
            told = json.dumps({"keys": self.keys.get(path.removeprefix("/keys/"), [])}).encode()
            await _say(send, 200, told)
            return
        await asyncio.sleep(self.trouble.slow)
        if self.trouble.busy:
            self.answered[429] += 1
            await _say(send, 429, b"", [(b"retry-after", b"1")])
            return
        await self._hand_on(scope, body, send)

    async def _hang_up(self) -> None:
        if self._client is not None:
            await self._client.aclose()

    async def _hand_on(self, scope: _Message, body: bytes, send: _Send) -> None:
        if self._client is None:
            self._client = httpx.AsyncClient(timeout=60, limits=httpx.Limits(max_connections=40))
        query = scope["query_string"].decode()
        url = f"{self.upstream}{scope.get('raw_path', b'').decode()}{'?' + query if query else ''}"
        headers = [(k, v) for k, v in scope["headers"] if k.decode() not in _HOP]
        try:
            answer = await self._client.request(scope["method"], url, headers=headers, content=body)
        except httpx.TransportError:
            self.answered[503] += 1
            await _say(send, 503, b"")
            return
        self.answered[answer.status_code] += 1
        letter = scope["method"] == "POST" and scope["path"].rstrip("/") == "/fhir"
        if letter and answer.status_code == 200:
            self._note(json.loads(body), answer.json())
            if self.trouble.lose > 0:
                self.trouble.lose -= 1
                self.lost += 1
                # The server has taken it; its word never arrives.
                await _say(send, 200, b"", [(b"content-length", b"4096")])
                return
        kept = [
            (k, v) for k, v in answer.headers.raw if k.lower().decode() not in _HOP | {"content-encoding"}
        ]
        await _say(send, answer.status_code, answer.content, kept)

    def _note(self, sent: Json, answer: Json) -> None:
        at, seconds = self.clock.now(), time.monotonic()
        for entry, told in zip(sent["entry"], answer["entry"], strict=True):
            status = told["response"]["status"]
            if status[:3] in ("200", "201") and "resource" in entry:
                # A conditional create that found its resource wrote nothing.
                if entry["request"]["method"] == "POST" and status.startswith("200"):
                    continue
                self.journal.append(_write(entry["resource"], at, seconds, created=status.startswith("201")))


def _write(resource: Json, at: datetime, seconds: float, *, created: bool) -> Write:
    whom = resource.get("subject") or resource.get("patient") or resource.get("for") or {}
    names = [i["value"] for i in resource.get("identifier", []) if i.get("system") == FINDING]
    period = resource.get("occurrencePeriod") or resource.get("restriction", {}).get("period", {})
    code = (resource.get("code") or {}).get("coding", [{}])[0].get("code", "")
    said = [p.get("contentString", "") for p in resource.get("payload", [])]
    return Write(
        at=at,
        seconds=seconds,
        patient=whom.get("reference", "").rpartition("/")[2],
        kind=resource["resourceType"],
        name=names[0] if names else "",
        status=resource.get("status", ""),
        priority=resource.get("priority", ""),
        said=resource.get("description") or resource.get("detail") or " ".join(said),
        effective=resource.get("effectiveDateTime", ""),
        begin=period.get("start", ""),
        end=period.get("end", ""),
        focus=(resource.get("focus") or {}).get("reference", ""),
        code=code,
        created=created,
    )


async def _live(receive: _Receive, send: _Send, end: Callable[[], Awaitable[None]]) -> None:
    while True:
        message = await receive()
        if message["type"] == "lifespan.shutdown":
            await end()
        await send({"type": f"{message['type']}.complete"})
        if message["type"] == "lifespan.shutdown":
            return


async def _body(receive: _Receive) -> bytes:
    body, more = b"", True
    while more:
        message = await receive()
        body += message.get("body", b"")
        more = message.get("more_body", False)
    return body


async def _say(
    send: _Send, status: int, body: bytes, headers: list[tuple[bytes, bytes]] | None = None
) -> None:
    await send({"type": "http.response.start", "status": status, "headers": headers or []})
    await send({"type": "http.response.body", "body": body})
