"""From pieces of files to runs: each patient's lines side by side, patients in order.

A run holds as many lines as fit in the memory a worker may use; it is written once, in
order, and an index says where each patient's lines lie in it.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path

import msgspec

from weatherglass.batch.engine.piece import Piece
from weatherglass.batch.output.durable import write_whole
from weatherglass.batch.output.runs import Broken, RunWriter, Sorted
from weatherglass.batch.sources.lines import LineReader
from weatherglass.batch.taking import Taker


def sort_pieces(pieces: Sequence[Piece], name: str, folder: Path, run_bytes: int) -> Sorted:
    """Sort the lines of some pieces into runs in a folder.

    Args:
        pieces: What to read.
        name: What the runs are called after.
        folder: Where they go.
        run_bytes: How many bytes a run may hold.
    """
    taker = Taker()
    found = Sorted()
    held = 0
    with RunWriter(name, folder) as runs:
        for piece in pieces:
            reader = LineReader(piece)
            for size in _taken(reader, piece, taker):
                held += size
                if held >= run_bytes:
                    _write(runs, taker)
                    held = 0
            if reader.broken:
                found.broken.append(Broken(Path(piece.path).name, reader.broken))
        _write(runs, taker)
    found.kinds = {kind: number for kind, number in sorted(taker.kinds.items()) if number}
    found.lines = sum(found.kinds.values())
    found.not_needed, found.asks = taker.not_needed, taker.asks
    write_whole(folder / f"{name}.json", msgspec.json.encode(found))
    return found


def _write(runs: RunWriter, taker: Taker) -> None:
    runs.write(taker.lines, taker.shared, taker.needs, taker.names, taker.replaced)
    taker.forget()


def _taken(reader: LineReader, piece: Piece, taker: Taker) -> Iterator[int]:
    """Take in a piece and yield, after each text, how many bytes it had."""
    if piece.whole:
        body = reader.whole()
        taker.take_body(body)
        yield len(body)
        return
    for block in reader.blocks():
        taker.take_block(block)
        yield len(block)
