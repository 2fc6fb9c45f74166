"""Narrative as FHIR R4 allows it: well-formed XHTML, known elements, nothing that runs.

The lists are those of the invariant txt-1 of `Narrative.div` in the FHIR R4
definitions; `test_judges.py` compares them with the definitions themselves.
"""

import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree as ET

from tests.conformance.house_rules import walk

XHTML = "{http://www.w3.org/1999/xhtml}"

ELEMENTS = frozenset(
    """
    a abbr acronym b big blockquote br caption cite code col colgroup dd dfn div dl dt em h1 h2 h3 h4 h5
    h6 hr i img li ol p pre q samp small span strong sub sup table tbody td tfoot th thead tr tt ul var
    """.split()
)
ATTRIBUTES = frozenset(
    """
    abbr accesskey align alt axis bgcolor border cellhalign cellpadding cellspacing cellvalign char
    charoff charset cite class colspan compact coords dir frame headers height href hreflang hspace id
    lang longdesc name nowrap rel rev rowspan rules scope shape span src start style summary tabindex
    title type valign value vspace width
    """.split()
)

#: What a reader's browser would run or fetch. An image must travel inside (`data:`) or be contained (`#`).
_RUNS = re.compile(r"^\s*(javascript|vbscript|data)\s*:", re.IGNORECASE)
_STAYS_INSIDE = re.compile(r"^(#|data:image/)")
_STYLE_FETCHES = re.compile(r"url\s*\(|expression\s*\(|@import", re.IGNORECASE)


def narratives_are_safe(resource: Any) -> Iterator[tuple[str, str]]:
    """Judge every narrative in a resource, those of Composition sections included."""
    for path, value in walk(resource):
        if "div" in value and "status" in value:
            for text in _problems(value["div"]):
                yield f"{path}.div", text


def _problems(div: object) -> Iterator[str]:
    if not isinstance(div, str):
        yield "the narrative is not a string"
        return
    if "<!DOCTYPE" in div.upper() or "<?" in div:
        yield "a document type or a processing instruction"
        return
    try:
        root = ET.fromstring(div)  # noqa: S314 - our own output; a document type was refused above.
    except ET.ParseError as error:
        yield f"not well-formed: {error}"
        return
    if root.tag != f"{XHTML}div":
        yield "the root is not a div in the XHTML namespace"
    if not "".join(root.itertext()).strip() and not root.findall(f".//{XHTML}img"):
        yield "txt-2: the narrative is blank"
    for element in root.iter():
        yield from _problems_of(element)


def _problems_of(element: ET.Element) -> Iterator[str]:
    name = element.tag.removeprefix(XHTML)
    if not element.tag.startswith(XHTML) or name not in ELEMENTS:
        yield f"txt-1: element {name!r}"
    for attribute, value in element.attrib.items():
        if attribute not in ATTRIBUTES:
            yield f"txt-1: attribute {attribute!r}"
        elif attribute == "href" and _RUNS.match(value):
            yield "a link that runs"
        elif attribute == "src" and not _STAYS_INSIDE.match(value):
            yield "an image from outside"
        elif attribute == "style" and _STYLE_FETCHES.search(value):
            yield "a style that fetches"
