"""What a body looks like before it is read: one JSON value, or a resource a line."""


def looks_like_lines(body: bytes) -> bool:
    r"""Tell NDJSON from one JSON value: its first line is a whole object and others follow.

    Examples:
        >>> looks_like_lines(b'{"resourceType":"Patient"}\n{"resourceType":"Patient"}\n')
        True
        >>> looks_like_lines(b'{\n "resourceType": "Patient"\n}')
        False
    """
    first, _, rest = body.strip().partition(b"\n")
    return bool(rest.strip()) and first.rstrip().startswith(b"{") and first.rstrip().endswith(b"}")
