"""How often a long-lived process looks for garbage.

A review makes tens of thousands of small values and no cycles; with the usual threshold
the collector walks over them, and over everything the program has loaded, dozens of
times a review. What is loaded is taken out of its sight, and it comes less often.
"""

import gc

_THRESHOLDS = (50_000, 20, 20)


def settle() -> None:
    """Call once, when a server or a worker has loaded everything it needs."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(*_THRESHOLDS)
