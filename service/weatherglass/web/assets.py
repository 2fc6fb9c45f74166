"""The page's own files: style, scripts, typefaces, each vendored or ours, none fetched."""

import re
from base64 import b64encode
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

_FONT_ADDRESS = re.compile(r'url\("(vendor/[a-z-]+\.woff2)"\)')
_FOLDER = Path(__file__).parent / "static"
_MEDIA_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".woff2": "font/woff2",
    ".svg": "image/svg+xml",
}
#: In the order in which they are needed: a script may use what stands before it.
STYLES = (
    "typefaces.css",
    "vendor/uPlot.min.css",
    "weatherglass.css",
    "parts.css",
    "ward.css",
    "print.css",
    "side.css",
)
DRAWING_SCRIPTS = (
    "vendor/uPlot.iife.min.js",
    "ink.js",
    "marks.js",
    "strips.js",
    "sheet.js",
    "paper.js",
    "article.js",
)
PAGE_SCRIPTS = ("lay_out.js", "opening.js", "sign_in.js", "record.js", "launch.js", "page.js")


class Asset(NamedTuple):
    """One file with what a browser must know about it."""

    body: bytes
    media_type: str
    tag: str


@cache
def assets() -> dict[str, Asset]:
    """Return every file of the page by its name."""
    found = {}
    for path in sorted(_FOLDER.rglob("*")):
        if path.is_file():
            body = path.read_bytes()
            name = path.relative_to(_FOLDER).as_posix()
            tag = sha256(body).hexdigest()[:16]
            found[name] = Asset(body, _MEDIA_TYPES.get(path.suffix, "application/octet-stream"), f'"{tag}"')
    return found


def text_of(name: str) -> str:
    """Return a style sheet or a script as text, to stand inside a page of its own.

    Typefaces that a style sheet asks for come along inside it.
    """
    text = assets()[name].body.decode()
    if name.endswith(".css"):
        text = _FONT_ADDRESS.sub(_inlined, text)
    return text


def _inlined(match: re.Match[str]) -> str:
    asset = assets()[match[1]]
    return f'url("data:{asset.media_type};base64,{b64encode(asset.body).decode()}")'


def policy_hash(text: str) -> str:
    """Return the hash by which a content security policy knows an inline text."""
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"
