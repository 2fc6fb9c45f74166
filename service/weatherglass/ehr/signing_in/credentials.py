"""Secrets come from files or the environment, never from a command line or an address.

A command line is seen by every process of a machine and an address ends in logs.
"""

import hashlib
import hmac
import os
from pathlib import Path
from typing import Any

from joserfc.errors import JoseError
from joserfc.jwk import ECKey, RSAKey, import_key

from weatherglass.ehr.client.faults import SignInError

SigningKey = RSAKey | ECKey

#: The two algorithms that SMART Backend Services name, by kind of key.
_RSA, _EC = "RS384", "ES384"


def secret_from(file: str | None, variable: str) -> str | None:
    """Return the secret of a file, or else of an environment variable, or None.

    Raises:
        SignInError: The file cannot be read or is empty.
    """
    if file is None:
        return os.environ.get(variable) or None
    text = _text_of(file)
    if not text:
        raise SignInError("sign in", f"the secret file {file} is empty")
    return text


def signing_key(file: str) -> SigningKey:
    """Read a private key, PEM or JWK (a JWK Set gives its first usable private key).

    Raises:
        SignInError: No such file, or no RSA or P-384 private key in it.
    """
    text = _text_of(file)
    for key in _keys_in(text):
        if key.is_private and (isinstance(key, RSAKey) or key.curve_name == "P-384"):
            return key
    raise SignInError("sign in", f"{file} holds no RSA or P-384 private key (PEM or JWK)")


def derived_secret(key: SigningKey, purpose: str) -> str:
    """Return a secret for one purpose that follows from a private key and does not lead back to it."""
    told = f"weatherglass {purpose}".encode()
    return hmac.new(key.as_pem(private=True), told, hashlib.sha256).hexdigest()


def algorithm_of(key: SigningKey) -> str:
    """Return the algorithm that a key signs with."""
    return _RSA if isinstance(key, RSAKey) else _EC


def _text_of(file: str) -> str:
    try:
        return Path(file).read_text("utf-8").strip()
    except OSError as fault:
        raise SignInError("sign in", f"cannot read {file}: {fault.strerror}") from None
    except UnicodeDecodeError:
        raise SignInError("sign in", f"{file} is not text") from None


def _keys_in(text: str) -> list[SigningKey]:
    import json

    found: list[SigningKey] = []
    if not text.startswith("{"):
        for kind in (RSAKey, ECKey):
            try:
                found.append(kind.import_key(text))
            except (JoseError, ValueError, TypeError):
                continue
        return found
    try:
        content: Any = json.loads(text)
    except ValueError:
        return found
    for one in content.get("keys", [content]):
        try:
            key = import_key(one)
        except (JoseError, ValueError, TypeError, AttributeError):
            continue
        if isinstance(key, RSAKey | ECKey):
            found.append(key)
    return found
