"""Security labels of what was sent: whatever is derived from it has to carry them."""

import msgspec
from msgspec import Struct

from weatherglass.fhir.datatypes import Coding
from weatherglass.model.sources import Label


class _Security(Struct, gc=False):
    security: tuple[Coding, ...] = ()


class _Labelled(Struct, gc=False):
    meta: _Security | None = None


_DECODE = msgspec.json.Decoder(_Labelled).decode
_NONE: frozenset[Label] = frozenset()


def labels_of(raw: bytes) -> frozenset[Label]:
    """Return the labels of a resource.

    Raises:
        msgspec.MsgspecError: `meta.security` is no list of Codings.
    """
    # Most resources have none, and need not be decoded once more to tell.
    if b'"security"' not in raw:
        return _NONE
    meta = _DECODE(raw).meta
    labels = meta.security if meta is not None else ()
    return frozenset(Label(each.system or "", each.code, each.display or "") for each in labels if each.code)
