"""Where a body stops being JSON: a place somebody can go to, and nothing of what stood there."""

import sys

import pytest

from weatherglass.fhir.json_faults import duplicate_key, place_of_fault


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
            "illegal trailing comma before end of object at column 9"
            if sys.version_info >= (3, 13)
            else "expecting property name enclosed in double quotes at column 10",
            id="comma",
        ),
        pytest.param(b"\xff\xd8", "", "byte 0 is not UTF-8", id="not-text"),
    ],
)
def test_place_of_fault(body: bytes, place: str, said: str) -> None:
    assert place_of_fault(body) == (place, said)


class TestLargeBodies:
    """No objects are built of a large body: they would be many times its size. How large is our choice."""

    @pytest.mark.parametrize(
        ("end", "place"), [(b'"id": NaN}', "id"), (b'"id": "x" "y"}', "id"), (b'"id": {"x": 01}}', "id.x")]
    )
    def test_the_place_is_said_by_its_byte(self, end: bytes, place: str) -> None:
        body = b'{"a": [' + b"1, " * 500_000 + b"1], " + end
        where, said = place_of_fault(body)
        assert where == place
        assert said.startswith("it breaks at byte 15000")

    def test_beyond_what_is_followed_only_the_byte_is_said(self) -> None:
        assert place_of_fault(b'{"a": [' + b"1, " * 2_000_000 + b"x")[0] == ""

    @pytest.mark.parametrize(
        ("inside", "repeated"),
        [
            ('"id": 1, "b": {"id": 2}', None),
            ('"id": 1, "b": {}, "id": 2', ".id"),
            ('"b": [{"x": "id", "y": "id"}, {"x": 1, "z": ",", "x": 2}]', ".x"),
            ('"id": 1, "\\u0069d": 2', ".id"),
            ('"x y": 1, "x y": 2', ""),
            ('"b": ["id", "id", {"id": ["id", {"id": "id"}]}]', None),
        ],
    )
    def test_a_key_that_stands_twice_is_found_in_both_ways(self, inside: str, repeated: str | None) -> None:
        small = f"{{{inside}}}".encode()
        assert duplicate_key(small) == repeated
        assert duplicate_key(b'{"a": [' + b'"id", ' * 200_000 + b"1], " + small[1:]) == repeated
