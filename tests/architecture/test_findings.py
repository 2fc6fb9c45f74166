"""A finding carries its few words itself: nobody makes them out of its sentence."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import fields

from weatherglass.knowledge.medicines.rules.actions import ACTIONS
from weatherglass.model.findings import Finding, Kind
from weatherglass.pipeline import review_body

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "service" / "weatherglass"
FIXTURES = sorted([*(ROOT / "fixtures/bundles").glob("*.json"), *(ROOT / "fixtures/ndjson").glob("*.ndjson")])
#: What cuts a text.
CUTS = {"partition", "rpartition", "split", "rsplit", "removeprefix", "removesuffix", "replace"}
#: What looks into one.
LOOKS = {"startswith", "endswith"}
#: Where sentences of ours, and parts of them, stand.
SENTENCES = {
    *("sentence", "brief", "headline", "found", "not_assessed", "closed", "why", "risk_if_stopped"),
    *(
        "said",
        "short",
        "trigger",
        "words",
        "label",
        "cautions",
        "response",
        "monitoring",
        "decided_by",
        "doubt",
    ),
    *("limited_evidence", "rule"),
}
#: What reads the words of a sender, and what sets two whole answers beside each other.
MAY = ("fhir/reading", "terminology", "comparison")


def test_no_finding_is_made_without_its_few_words_its_time_and_who_says_so() -> None:
    """The type asks for them: who leaves them out does not get past the type checker, nor past a run."""
    assert {field.name for field in fields(Finding) if field.required} >= {"brief", "at", "sources"}


def test_findings_are_built_in_one_place() -> None:
    """`tell` takes what a finding rests on, so that nobody puts its state together by hand."""
    build = re.compile(r"(?<!class )\bFinding\(")
    assert build.search("return Finding(kind=kind)")
    built = [path for path in PACKAGE.rglob("*.py") if build.search(path.read_text("utf-8"))]
    assert [path.relative_to(PACKAGE).as_posix() for path in built] == ["assessments/telling/basis.py"]


def _briefs(tree: ast.AST) -> Iterator[ast.expr]:
    for node in ast.walk(tree):
        if isinstance(node, ast.keyword) and node.arg == "brief":
            yield node.value


def _may_be_empty(value: ast.expr) -> bool:
    if isinstance(value, ast.IfExp):
        return _may_be_empty(value.body) or _may_be_empty(value.orelse)
    return isinstance(value, ast.Constant) and not value.value


@pytest.mark.parametrize(
    ("words", "expected"),
    [('f(brief="")', True), ('f(brief=a if b else "")', True), ('f(brief=f"{a}")', False)],
)
def test_the_look_for_empty_words_can_fail(words: str, expected: bool) -> None:
    assert any(map(_may_be_empty, _briefs(ast.parse(words)))) is expected


def test_no_question_leaves_its_few_words_empty() -> None:
    empty = [
        f"{path.relative_to(PACKAGE)}:{value.lineno}"
        for path in PACKAGE.rglob("*.py")
        for value in _briefs(ast.parse(path.read_text("utf-8")))
        if _may_be_empty(value)
    ]
    assert empty == []


@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.stem)
def test_the_few_words_of_every_finding_are_there_and_no_sentence(path: Path) -> None:
    for review in review_body(path.read_bytes()).reviews:
        for finding in review.findings:
            assert finding.brief.strip(), finding
            assert finding.sources, finding
            assert not finding.brief.endswith((".", " ", "\u2026")), finding.brief


def _is_ours(node: ast.expr) -> bool:
    return isinstance(node, ast.Attribute) and node.attr in SENTENCES


def _cut(tree: ast.AST) -> Iterator[ast.expr]:
    """Yield where a sentence of ours is cut apart, looked into, or compared."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            name, of = node.func.attr, node.func.value
            if _is_ours(of) and name in CUTS | LOOKS:
                yield node
        elif isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            for how, left, right in zip(node.ops, sides, sides[1:], strict=False):
                is_equal = isinstance(how, ast.Eq | ast.NotEq) and (_is_ours(left) or _is_ours(right))
                if is_equal or (isinstance(how, ast.In | ast.NotIn) and _is_ours(right)):
                    yield node


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ('finding.sentence.partition(": ")', True),
        ('one.brief.startswith("NEWS2")', True),
        ('line.partition("=")', False),
        ('"potassium" in finding.sentence', True),
        ("finding.sentence == review.headline", True),
        ("one.rule is Rule.RATIO", False),
    ],
)
def test_the_look_for_cuts_can_fail(words: str, expected: bool) -> None:
    assert bool(list(_cut(ast.parse(words)))) is expected


def test_nobody_cuts_a_sentence_apart() -> None:
    """What a door needs in another form is a field of its own."""
    cut = [
        f"{path.relative_to(PACKAGE)}:{call.lineno}"
        for path in PACKAGE.rglob("*.py")
        if not path.relative_to(PACKAGE).as_posix().startswith(MAY)
        for call in _cut(ast.parse(path.read_text("utf-8")))
    ]
    assert cut == []


_ROOMS = (
    "api",
    "batch",
    "cds_hooks",
    "cli",
    "ehr",
    "fhir",
    "handover",
    "medicines",
    "model",
    "review",
    "tables",
    "web",
)


def _own_actions(tree: ast.AST) -> Iterator[ast.expr]:
    """Yield a list of suggestions of one's own: all that is known of each is its row of `actions.toml`."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Set | ast.Dict | ast.Tuple | ast.List):
            continue
        held = node.keys if isinstance(node, ast.Dict) else node.elts
        named = {each.value for each in held if isinstance(each, ast.Constant)}
        if len(named & ACTIONS.keys()) > 1:
            yield node


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ('X = frozenset({"hold", "reduce", "review"})', True),
        ('X = {"hold": 1, "avoid": 2, "measure level": 3}', True),
        ('X = frozenset({"hold", "avoid"})', True),
        ('X = ("hold", "heard")', False),
    ],
)
def test_the_look_for_own_actions_can_fail(words: str, expected: bool) -> None:
    assert bool(list(_own_actions(ast.parse(words)))) is expected


def test_what_is_known_of_a_suggestion_stands_in_its_row() -> None:
    """A list, a page, a card and a Task read the columns; none keeps a table of its own."""
    found = {
        path.relative_to(PACKAGE).as_posix()
        for room in _ROOMS
        for path in (PACKAGE / room).rglob("*.py")
        if any(_own_actions(ast.parse(path.read_text("utf-8"))))
    }
    assert found == set()


def _own_kinds(tree: ast.AST) -> Iterator[ast.expr]:
    """Yield a table of kinds of one's own: two of them beside each other are compared, three are a column."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Set | ast.Dict | ast.Tuple | ast.List):
            continue
        held = node.keys if isinstance(node, ast.Dict) else node.elts
        named = [each for each in held if isinstance(each, ast.Attribute) and _is_kind(each)]
        if len(named) > 2:
            yield node


def _is_kind(node: ast.Attribute) -> bool:
    return isinstance(node.value, ast.Name) and node.value.id == "Kind" and node.attr in Kind.__members__


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("X = frozenset({Kind.SCORE, Kind.ALLERGY, Kind.CONTEXT})", True),
        ("f.kind in (Kind.SCORE, Kind.SCORE_TREND)", False),
        ("X = {Kind.STROKE, Kind.MALARIA, Kind.DIALYSIS}", False),
    ],
)
def test_the_look_for_own_kinds_can_fail(words: str, expected: bool) -> None:
    assert bool(list(_own_kinds(ast.parse(words)))) is expected


def test_what_is_known_of_a_kind_stands_in_its_row() -> None:
    """Headline, hand-over, lists and cards read its columns; a question's own row names what it can yield."""
    found = {
        path.relative_to(PACKAGE).as_posix()
        for room in _ROOMS
        for path in (PACKAGE / room).rglob("*.py")
        if any(_own_kinds(ast.parse(path.read_text("utf-8"))))
    }
    assert found == {"handover/kinds.py", "review/questions.py"}


#: Who is a child is asked of the patient, by the limit that holds.
_AGE_ASKED = re.compile(r"\bage is not None and \S*\bage < (?:\d|[\w.]+\.years)")


def test_who_is_a_child_is_worked_out_in_one_place() -> None:
    """A number of years in a question of its own is a limit without a source."""
    assert _AGE_ASKED.search("if bedside.age is not None and bedside.age < 16:")
    rooms = ("assessments", "medicines", "handover", "review", "facts/patient")
    asked = [
        path.relative_to(PACKAGE).as_posix()
        for room in rooms
        for path in (PACKAGE / room).rglob("*.py")
        if _AGE_ASKED.search(path.read_text("utf-8"))
    ]
    # The second asks for the age at the time of an older result.
    assert set(asked) <= {"facts/patient/person.py", "assessments/telling/kidneys/kidney_findings.py"}
