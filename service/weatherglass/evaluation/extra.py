"""What the extra `evaluate` brings, and what is left out where it is not installed."""

from functools import cache
from importlib.util import find_spec

_WANTED = ("scipy", "sklearn", "matplotlib")
#: Said on the page, in the report and on the terminal.
LEFT_OUT = (
    "Intervals, areas under the curve and plots are left out: what the extra 'evaluate' brings is not "
    "installed. Install it with: pip install matplotlib numpy scikit-learn scipy"
)


@cache
def is_installed() -> bool:
    """Tell whether SciPy, scikit-learn and matplotlib are all there."""
    return all(find_spec(name) is not None for name in _WANTED)
