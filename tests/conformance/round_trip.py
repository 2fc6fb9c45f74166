"""What a typed library rewrites without changing what is said, taken out of a comparison."""

from typing import Any


def spelt_alike(node: Any, name: str = "") -> Any:
    """Spell numbers and UTC one way; the library writes decimals as strings and +00:00 as Z."""
    if isinstance(node, dict):
        return {key: spelt_alike(value, key) for key, value in node.items()}
    if isinstance(node, list):
        return [spelt_alike(item, name) for item in node]
    if name == "value" and isinstance(node, str | int | float) and not isinstance(node, bool):
        try:
            return float(node)
        except ValueError:
            return node
    return node.replace("+00:00", "Z") if isinstance(node, str) else node
