"""Where a body stops being JSON: a place somebody can go to, and nothing of what stood there."""

import pytest

from weatherglass.fhir.json_faults import place_of_fault


@pytest.mark.parametrize(
    ("body", "place", "said"),
    [
        pytest.param(b'{"id": "un', "id", "unterminated string starting at column 8", id="one-line"),
        pytest.param(
            b'{\n  "id": "un', "id", "unterminated string starting at line 2 column 9", id="several-lines"
        ),
        pytest.param(
            b'{"id": 1,}\n',
            "id",
            "expecting property name enclosed in double quotes at column 10",
            id="comma",
        ),
        pytest.param(b"\xff\xd8", "", "byte 0 is not UTF-8", id="not-text"),
    ],
)
def test_place_of_fault(body: bytes, place: str, said: str) -> None:
    assert place_of_fault(body) == (place, said)
