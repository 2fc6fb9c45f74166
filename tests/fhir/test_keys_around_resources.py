"""A key that stands twice around resources is found wherever it stands; those inside are looked at elsewhere.

RFC 8259, section 4: names within an object should be unique, and what a reader makes of two is open.
"""

import pytest

from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.shells import require_single_keys

_LONG = b'{"resourceType":"Basic","id":"%d","text":"' + b"x" * 300 + b'","a":1,"a":2}'
_SHORT = b'{"resourceType":"Basic"}'


def _refused(body: bytes, *resources: bytes) -> str:
    with pytest.raises(UnreadableError) as refused:
        require_single_keys(body, "entry", "Bundle", resources)
    return refused.value.issues[0].path


def test_what_is_inside_a_resource_is_looked_at_where_it_is_read() -> None:
    held = [_LONG % number for number in range(3)]
    entries = b",".join(b'{"resource":' + each + b"}" for each in held)
    require_single_keys(b'{"entry":[' + entries + b"]}", "entry", "Bundle", held)


def test_in_an_entry_behind_others() -> None:
    held = [_LONG % 1, _LONG % 2, _SHORT]
    entries = [b'{"resource":' + each for each in held]
    body = b'{"entry":[%b},%b,"fullUrl":"a","fullUrl":"b"},%b}]}' % tuple(entries)
    assert _refused(body, *held) == "Bundle.entry[1].fullUrl"


def test_a_resource_that_stands_twice_in_one_entry() -> None:
    held = (_LONG % 1).replace(b',"a":2', b"")
    body = b'{"entry":[{"resource":' + held + b',"resource":' + held + b"}]}"
    assert _refused(body, held) == "Bundle.entry[0].resource"


def test_beside_the_entries() -> None:
    held = _LONG % 1
    body = b'{"type":"collection","entry":[{"resource":' + held + b'}],"type":"batch"}'
    assert _refused(body, held) == "Bundle.type"


@pytest.mark.parametrize(
    "entry", ['{"fullUrl":"a","fullUrl":"b","resource":%s}', '{"fullUrl":"a","resource":%s,"fullUrl":"b"}']
)
@pytest.mark.parametrize("usual", ['{"fullUrl":"a","resource":%s}', '{"fullUrl": "a", "resource": %s}'])
@pytest.mark.parametrize("place", range(4))
def test_wherever_it_stands_among_entries_that_are_alike(place: int, usual: str, entry: str) -> None:
    held = [(_LONG % number).decode() for number in range(4)]
    entries = [(entry if number == place else usual) % one for number, one in enumerate(held)]
    sent = [one.encode() for one in held]
    body = '{"entry":[' + ", ".join(entries) + "]}"
    assert _refused(body.encode(), *sent) == f"Bundle.entry[{place}].fullUrl"
    alike = '{"entry":[' + ", ".join(usual % one for one in held) + "]}"
    require_single_keys(alike.encode(), "entry", "Bundle", sent)
