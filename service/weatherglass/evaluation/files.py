"""The two files of an evaluation: whole, or not there."""

import json
from pathlib import Path

from weatherglass.evaluation.page import render
from weatherglass.evaluation.report import Report
from weatherglass.evaluation.written import as_json

_JSON, PAGE = "evaluation.json", "evaluation.html"


def holds_one(folder: Path) -> bool:
    """Tell whether a folder holds an evaluation."""
    return any((folder / name).exists() for name in (_JSON, PAGE))


def write(folder: Path, whole: Report) -> Path:
    """Write the report beside its places and move it there once all of it is written.

    Args:
        folder: Where; an earlier evaluation is replaced.
        whole: The report.

    Returns:
        The page.

    Raises:
        OSError: Something could not be written; nothing is left of it.
    """
    texts = {
        _JSON: json.dumps(as_json(whole), indent=2, ensure_ascii=False) + "\n",
        PAGE: render(whole),
    }
    parts = {name: folder / f".{name}.part" for name in texts}
    try:
        for name, text in texts.items():
            parts[name].write_text(text, "utf-8")
    except OSError:
        for part in parts.values():
            part.unlink(missing_ok=True)
        raise
    for name, part in parts.items():
        part.replace(folder / name)
    return folder / PAGE
