"""A strict decode of one resource into its struct."""

from typing import Any, TypeVar

import msgspec
from msgspec import Raw

_Resource = TypeVar("_Resource")

_DECODERS: dict[type[Any], msgspec.json.Decoder[Any]] = {}

#: What decoding can raise for a text that is not what it should be.
UNREADABLE = (msgspec.MsgspecError, RecursionError, UnicodeDecodeError)


def decoder_of(into: type[Any]) -> msgspec.json.Decoder[Any]:
    """Return the one decoder of a struct."""
    decoder = _DECODERS.get(into)
    if decoder is None:
        decoder = _DECODERS[into] = msgspec.json.Decoder(into)
    return decoder


def decode(raw: bytes | Raw, into: type[_Resource]) -> _Resource:
    """Decode one JSON text strictly into a struct.

    Raises:
        msgspec.ValidationError: A value has the wrong type; the message ends in its path.
        msgspec.DecodeError: Not JSON.
        RecursionError: Nested deeper than any resource is.
    """
    try:
        decoded: _Resource = decoder_of(into).decode(raw)
    except UnicodeDecodeError:
        # Text that is not UTF-8 is one more way of not being JSON.
        raise msgspec.DecodeError("not UTF-8") from None
    return decoded
