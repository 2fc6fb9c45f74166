"""From splits of files to runs: each patient's lines side by side, patients in order.

A run holds as many lines as fit in the memory a worker may use; it is written once, in
order, and an index says where each patient's lines lie in it.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path

import msgspec

from weatherglass.batch.engine.split import Split
from weatherglass.batch.output.atomic import write_atomically
from weatherglass.batch.output.runs import Broken, RunWriter, Sorted
from weatherglass.batch.partitioning import Partitioner
from weatherglass.batch.sources.lines import LineReader


def sort_splits(splits: Sequence[Split], name: str, folder: Path, run_bytes: int) -> Sorted:
    """Sort the lines of some splits into runs in a folder.

    Args:
        splits: What to read.
        name: What the runs are called after.
        folder: Where they go.
        run_bytes: How many bytes a run may hold.
    """
    partitioner = Partitioner()
    found = Sorted()
    held = 0
    with RunWriter(name, folder) as runs:
        for split in splits:
            reader = LineReader(split)
            for size in _taken(reader, split, partitioner):
                held += size
                if held >= run_bytes:
                    _write(runs, partitioner)
                    held = 0
            if reader.broken:
                found.broken.append(Broken(Path(split.path).name, reader.broken))
        _write(runs, partitioner)
    found.kinds = {kind: number for kind, number in sorted(partitioner.kinds.items()) if number}
    found.lines = sum(found.kinds.values())
    found.not_needed, found.asks = partitioner.not_needed, partitioner.asks
    write_atomically(folder / f"{name}.json", msgspec.json.encode(found))
    return found


def _write(runs: RunWriter, partitioner: Partitioner) -> None:
    runs.write(
        partitioner.lines, partitioner.shared, partitioner.needs, partitioner.names, partitioner.replaced
    )
    partitioner.forget()


def _taken(reader: LineReader, split: Split, partitioner: Partitioner) -> Iterator[int]:
    """Take in a split and yield, after each text, how many bytes it had."""
    if split.whole:
        body = reader.whole()
        partitioner.take_body(body)
        yield len(body)
        return
    for block in reader.blocks():
        partitioner.take_block(block)
        yield len(block)
