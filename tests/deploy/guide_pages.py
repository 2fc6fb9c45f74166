"""Blocks of the pages in deploy/, to be run as they stand."""

import re
import shlex

from tests.deploy.manifests import DEPLOY


def blocks(page: str, kind: str) -> list[str]:
    """Return the blocks of one kind of a page."""
    text = (DEPLOY / page).read_text("utf-8")
    return re.findall(rf"^```{kind}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def commands(page: str, kind: str = "console") -> list[list[str]]:
    """Return our own command lines of a page, without the program's name."""
    lines = "".join(blocks(page, kind)).splitlines()
    return [shlex.split(line)[1:] for line in lines if line.startswith("weatherglass ")]


def broken_links(page: str) -> list[str]:
    """Return the links of a page that lead to no file, or to no heading of it."""
    text = (DEPLOY / page).read_text("utf-8")
    found = []
    for link, heading in re.findall(r"\]\(([^)#:]*)(?:#([^)]*))?\)", text):
        target = DEPLOY / link if link else DEPLOY / page
        if not target.exists() or (heading and heading not in _headings(target.read_text("utf-8"))):
            found.append(f"{link}#{heading}")
    return found


def _headings(text: str) -> set[str]:
    lines = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", line).strip().lower().replace(" ", "-") for line in lines}
