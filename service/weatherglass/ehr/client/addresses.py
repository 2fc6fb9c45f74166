"""Which addresses are asked, and which of them may see an access token."""

from ipaddress import ip_address
from urllib.parse import urlsplit

_LOOPBACK_NAMES = frozenset({"localhost", "ip6-localhost"})


def is_loopback(host: str) -> bool:
    """Tell whether a host name or address is this machine.

    Examples:
        >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("::1")
        (True, True, True)
        >>> is_loopback("0.0.0.0"), is_loopback("127.0.0.1.example.org")
        (False, False)
    """
    name = host.strip("[]").rstrip(".").lower()
    if name in _LOOPBACK_NAMES:
        return True
    try:
        return ip_address(name).is_loopback
    except ValueError:
        return False


def is_private_enough(url: str) -> bool:
    """Tell whether a secret may be sent to an address: https, or this machine."""
    parts = urlsplit(url)
    return parts.scheme == "https" or (parts.scheme == "http" and is_loopback(parts.hostname or ""))


def is_web_address(url: str) -> bool:
    """Tell whether a text is an address that we can ask."""
    try:
        parts = urlsplit(url)
        return parts.scheme in ("http", "https") and bool(parts.hostname) and parts.port != 0
    except ValueError:
        return False


def same_origin(one: str, other: str) -> bool:
    """Tell whether two addresses are of one server; this machine's names are one name."""
    return _origin(one) == _origin(other)


def _origin(url: str) -> tuple[str, str, int | None]:
    parts = urlsplit(url)
    host = (parts.hostname or "").lower()
    port = parts.port or {"http": 80, "https": 443}.get(parts.scheme)
    return parts.scheme, "loopback" if is_loopback(host) else host, port


def origin_of(url: str) -> str:
    """Return the web origin of an address, as browsers write it.

    Examples:
        >>> origin_of("https://ehr.example:8443/fhir/R4")
        'https://ehr.example:8443'
    """
    parts = urlsplit(url)
    return f"{parts.scheme}://{parts.netloc}"


def without_slash(url: str) -> str:
    """Return a base address in the one form that addresses are compared in."""
    return url.rstrip("/")
