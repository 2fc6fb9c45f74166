"""Somebody who issues tokens, on this machine: keys, a look-up, and a forger's tools beside them."""

import base64
import hashlib
import hmac
import json
import threading
from base64 import b64encode
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs
from uuid import uuid4

from joserfc import jwt
from joserfc.jwk import ECKey, RSAKey

Json = dict[str, Any]


@cache
def _keys() -> tuple[ECKey, RSAKey]:
    """Make the keys once, where they are wanted: it takes longer than most tests."""
    return ECKey.generate_key("P-384", auto_kid=True), RSAKey.generate_key(2048, auto_kid=True)


@dataclass
class Issuer:
    """An authorization server's public side."""

    base: str = ""
    key: ECKey = field(default_factory=lambda: _keys()[0])
    rsa: RSAKey = field(default_factory=lambda: _keys()[1])
    keys_asked: int = 0
    looked_up: int = 0
    is_away: bool = False
    known: dict[str, Json] = field(default_factory=dict)
    extra_keys: list[Json] = field(default_factory=list)

    @property
    def jwks_url(self) -> str:
        """Where the keys are."""
        return f"{self.base}/jwks.json"

    def key_set(self) -> Json:
        """The public keys."""
        public = [k.as_dict(private=False) for k in (self.key, self.rsa)]
        return {"keys": [*self.extra_keys, *public]}

    def sign(self, header: Json, claims: Json, key: ECKey | RSAKey | None = None) -> str:
        """Sign a token with this or another key."""
        used = key or (self.rsa if header.get("alg", "").startswith(("RS", "PS")) else self.key)
        whole = {"kid": used.kid, **header}
        return jwt.encode(
            {k: v for k, v in whole.items() if v is not None},
            {k: v for k, v in claims.items() if v is not None},
            used,
            algorithms=["RS256", "RS384", "RS512", "ES256", "ES384", "PS384"],
            default_type=None,
        )


def part(value: Json) -> str:
    """Encode a part of a token by hand."""
    return base64.urlsafe_b64encode(json.dumps(value).encode()).rstrip(b"=").decode()


def unsigned(claims: Json, kid: str, typ: str) -> str:
    """Forge a token with the algorithm 'none'."""
    return f"{part({'alg': 'none', 'kid': kid, 'typ': typ})}.{part(claims)}."


def signed_with_a_public_key(claims: Json, secret: bytes, kid: str, typ: str) -> str:
    """Forge a token with HS256 and a public key as the shared secret."""
    signing = f"{part({'alg': 'HS256', 'kid': kid, 'typ': typ})}.{part(claims)}"
    mac = hmac.new(secret, signing.encode(), hashlib.sha256).digest()
    return f"{signing}.{base64.urlsafe_b64encode(mac).rstrip(b'=').decode()}"


def new_id() -> str:
    """Return an id that no token had."""
    return str(uuid4())


@contextmanager
def issuing() -> Iterator[Issuer]:
    """Run an issuer on this machine."""
    issuer = Issuer()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            issuer.keys_asked += 1
            self._send(issuer.key_set())

        def do_POST(self) -> None:
            issuer.looked_up += 1
            body = self.rfile.read(int(self.headers["Content-Length"])).decode()
            wanted = f"Basic {b64encode(b'weatherglass:s3cret').decode()}"
            if self.headers.get("Authorization") != wanted:
                self._send({"error": "invalid_client"}, 401)
                return
            self._send(issuer.known.get(parse_qs(body)["token"][0], {"active": False}))

        def _send(self, content: Json, status: int = 200) -> None:
            self.send_response(503 if issuer.is_away else status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Cache-Control", "max-age=600")
            self.end_headers()
            self.wfile.write(json.dumps(content).encode())

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    issuer.base = f"http://127.0.0.1:{server.server_port}"
    try:
        yield issuer
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
