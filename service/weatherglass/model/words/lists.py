"""Lists in a sentence."""

from collections.abc import Sequence


def listed(names: Sequence[str]) -> str:
    """Write names as a list in a sentence.

    Examples:
        >>> listed(["pulse", "temperature", "pressure"])
        'pulse, temperature and pressure'
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
