"""Files that are there whole or not at all.

A file is written under a passing name, flushed, and given its own name in one step, so
that nobody ever finds half of it. What has been renamed survives a killed process; what
is also synced survives a power cut.
"""

import os
from pathlib import Path


def write_atomically(path: Path, data: bytes, *, sync: bool = False) -> None:
    """Write a file in one step.

    Args:
        path: Its own name.
        data: All of it.
        sync: Whether it has to survive a power cut.
    """
    passing = path.with_name(f"{path.name}.{os.getpid()}.part")
    with passing.open("wb") as file:
        file.write(data)
        if sync:
            file.flush()
            os.fsync(file.fileno())
    passing.rename(path)


def sync_folder(folder: Path) -> None:
    """Make the names in a folder survive a power cut."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
