"""Lines come out the same however a file is cut, and what can be read of a damaged file comes out."""

import gzip
import random
import zlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weatherglass.batch.engine.split import Split, cut
from weatherglass.batch.sources.files import Shape, Source
from weatherglass.batch.sources.lines import LineReader


def _lines(splits: list[Split]) -> list[bytes]:
    blocks = (block for split in splits for block in LineReader(split).blocks())
    return [line for block in blocks for line in block.split(b"\n")]


@pytest.fixture(scope="module")
def scratch(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for all examples."""
    return tmp_path_factory.mktemp("lines")


@pytest.mark.property
@settings(max_examples=200)
@given(
    lines=st.lists(
        st.binary(max_size=12).map(lambda b: b.replace(b"\n", b".").replace(b"\r", b".")), max_size=9
    ),
    size=st.integers(1, 30),
    ending=st.sampled_from([b"\n", b"\r\n"]),
    closed=st.booleans(),
)
def test_cutting_a_file_loses_and_doubles_nothing(
    scratch: Path, lines: list[bytes], size: int, ending: bytes, closed: bool
) -> None:
    """Every line that is not blank comes out once, in order, for every size of split."""
    path = scratch / "rows.ndjson"
    path.write_bytes(ending.join(lines) + (ending if closed else b""))
    source = Source(path=str(path), size=path.stat().st_size, packed=False, shape=Shape.LINES)
    splits = [split for splits in cut([source], size) for split in splits]
    assert sum(split.end - split.start for split in splits) == source.size
    assert [line for line in _lines(splits) if line] == [line for line in lines if line]


def test_small_files_travel_together() -> None:
    """A thousand small files are not a thousand errands."""
    sources = [Source(path=f"{n}", size=10, packed=False, shape=Shape.LINES) for n in range(1000)]
    assert len(cut(sources, 1000)) == 10


def _packed(path: Path) -> LineReader:
    return LineReader(Split(str(path), True, False, 0, path.stat().st_size))


_TEXT = b"".join(
    b'{"row": %d, "value": %d}\n' % (n, random.Random(n).randrange(10**9)) for n in range(20_000)
)


def test_gzip_of_several_members(tmp_path: Path) -> None:
    """Exports are often appended to: each member is read."""
    path = tmp_path / "rows.ndjson.gz"
    path.write_bytes(gzip.compress(_TEXT[:1000]) + gzip.compress(_TEXT[1000:]))
    reader = _packed(path)
    assert b"\n".join(reader.blocks()) == _TEXT.rstrip(b"\n")
    assert reader.broken == ""


def test_gzip_that_breaks_off(tmp_path: Path) -> None:
    """What stands before the break comes out, the half line at the break too, and the break is said."""
    whole = gzip.compress(_TEXT)
    path = tmp_path / "rows.ndjson.gz"
    path.write_bytes(whole[: len(whole) // 2])
    reader = _packed(path)
    found = b"\n".join(reader.blocks())
    assert reader.broken == "the gzip file breaks off before its end"
    assert found == zlib.decompressobj(wbits=31).decompress(whole[: len(whole) // 2])


def test_gzip_with_damage_in_the_middle(tmp_path: Path) -> None:
    """Nothing before the damage is lost to it, whatever comes after."""
    whole = bytearray(gzip.compress(_TEXT))
    middle = len(whole) // 2
    whole[middle : middle + 40] = bytes(40)
    path = tmp_path / "rows.ndjson.gz"
    path.write_bytes(whole)
    reader = _packed(path)
    found = b"\n".join(reader.blocks())
    assert reader.broken == "the gzip file is damaged"
    before = zlib.decompressobj(wbits=31).decompress(bytes(whole[:middle]))
    assert found[: len(before)] == before
