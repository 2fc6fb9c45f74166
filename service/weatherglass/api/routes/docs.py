"""The interactive documentation, served from here: no address outside is asked for anything.

The page is Swagger UI, kept in `static/docs` as it was published, with its licence.
"""

from pathlib import Path

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response
from starlette.exceptions import HTTPException

router = APIRouter(include_in_schema=False)

_FOLDER = Path(__file__).parents[1] / "static" / "docs"
_KINDS = {".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8"}
#: Scripts and styles from here only; the picture of an arrow is part of the style sheet.
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Weatherglass: interface</title>
<link rel="icon" href="data:,">
<link rel="stylesheet" href="/docs/swagger-ui.css">
</head>
<body>
<div id="page"></div>
<script src="/docs/swagger-ui-bundle.js"></script>
<script src="/docs/start.js"></script>
</body>
</html>
"""


@router.get("/docs")
async def docs() -> Response:
    """The page."""
    return HTMLResponse(_PAGE, headers={"Content-Security-Policy": _POLICY})


@router.get("/docs/{name}")
async def asset(name: str) -> Response:
    """A script or style of the page."""
    wanted = next((each for each in _FOLDER.iterdir() if each.name == name), None)
    if wanted is None or wanted.suffix not in _KINDS:
        raise HTTPException(404)
    kept = {"Cache-Control": "public, max-age=86400"}
    return Response(wanted.read_bytes(), headers=kept, media_type=_KINDS[wanted.suffix])
