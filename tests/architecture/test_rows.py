"""Every row of `knowledge/` is what some code does: a row that nothing reads could silently be untrue.

A constant, of the module or of a row in capitals of its CSV file, is read where code outside its module
names it, or where one of its own module that is read does. What the catalogue prints by walking over a
module is not reading. A rule that states an absence may be named by the test that checks it instead.
"""

import ast
import csv
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

ROOT = Path(__file__).parents[2]
_KNOWLEDGE = "weatherglass.knowledge"
_CONSTANT = re.compile(r"[A-Z][A-Z0-9_]*")
_IMPORT = re.compile(r"^\s*from (weatherglass\.knowledge[\w.]*) import (\([^)]*\)|[^\n]+)", re.MULTILINE)
_NAME = re.compile(r"(\w+)(?:\s+as\s+(\w+))?")
_MEMBER = re.compile(r"\b(\w+)\.([A-Z][A-Z0-9_]*)\b")
#: The name by which the catalogue takes a module.
_PUBLIC = "PUBLIC_KEY"
#: A row: the dotted name of its module, and its own.
Row = tuple[str, str]


def _modules(service: Path) -> dict[str, ast.Module]:
    return {
        ".".join(path.relative_to(service).with_suffix("").parts): ast.parse(path.read_text("utf-8"))
        for path in sorted((service / "weatherglass" / "knowledge").rglob("*.py"))
    }


def _given(statement: ast.stmt) -> list[str]:
    """Return the names that a statement of a module gives."""
    if isinstance(statement, (ast.FunctionDef, ast.ClassDef)):
        return [statement.name]
    targets: list[ast.expr] = []
    if isinstance(statement, ast.Assign):
        targets = statement.targets
    elif isinstance(statement, ast.AnnAssign):
        targets = [statement.target]
    each = (one for target in targets for one in (target.elts if isinstance(target, ast.Tuple) else [target]))
    return [one.id for one in each if isinstance(one, ast.Name)]


def _rows(root: Path, modules: Mapping[str, ast.Module]) -> Iterator[tuple[Row, int]]:
    """Yield every public constant, with its line in its module or in the file of its module."""
    for name, tree in modules.items():
        for statement in tree.body:
            yield from (
                ((name, given), statement.lineno) for given in _given(statement) if _CONSTANT.fullmatch(given)
            )
        module = root.joinpath("service", *name.split("."))
        file = module.with_name(f"{module.name.replace('_', '-')}-rows.csv")
        if file.exists():
            with file.open(encoding="utf-8", newline="") as lines:
                for line, row in enumerate(csv.reader(lines), start=1):
                    if _CONSTANT.fullmatch(row[0]):
                        yield (name, row[0]), line


def _named(text: str) -> Iterator[Row]:
    """Yield what a file names of the modules, whatever it calls them; read by pattern, for speed."""
    called: dict[str, str] = {}
    for module, names in _IMPORT.findall(text):
        for name, own in _NAME.findall(names):
            called[own or name] = f"{module}.{name}"
            yield module, name
    for name, member in set(_MEMBER.findall(text)):
        if name in called:
            yield called[name], member


def _named_below(folder: Path) -> set[Row]:
    texts = (path.read_text("utf-8") for path in folder.rglob("*.py"))
    return {row for text in texts if _KNOWLEDGE in text for row in _named(text)}


def _through_its_module(tree: ast.Module, read: set[str]) -> set[str]:
    """Return what is read of a module when some names of it are: these, and what they are made of."""
    made_of: dict[str, set[str]] = {}
    found = set(read)
    for statement in tree.body:
        used = {one.id for one in ast.walk(statement) if isinstance(one, ast.Name)}
        given = _given(statement)
        found |= used if not given and isinstance(statement, (ast.If, ast.For, ast.Expr)) else set()
        for name in given:
            made_of.setdefault(name, set()).update(used - {name})
    asked = list(found)
    while asked:
        new = made_of.get(asked.pop(), set()) - found
        found |= new
        asked += new
    return found


def unread_rows(root: Path) -> list[str]:
    """Return the place of every constant that no code reads and no test names."""
    modules = _modules(root / "service")
    named = _named_below(root / "service") | _named_below(root / "tests")
    read = {
        (module, name)
        for module, tree in modules.items()
        for name in _through_its_module(tree, {name for where, name in named if where == module})
    }
    return [
        f"{module.removeprefix('weatherglass.')}:{line} {name}"
        for (module, name), line in _rows(root, modules)
        if (module, name) not in read and name != _PUBLIC
    ]


def test_every_row_is_read_or_checked() -> None:
    """Make the code read the row, name it in the test of its behaviour, or strike it."""
    assert unread_rows(ROOT) == []


def test_an_unread_row_is_found(tmp_path: Path) -> None:
    """What is only printed is named with its place; what code or a test reads, by whatever name, is not."""
    knowledge = tmp_path / "service" / "weatherglass" / "knowledge"
    knowledge.mkdir(parents=True)
    (tmp_path / "tests").mkdir()
    (knowledge / "rows.py").write_text(
        "READ = 1\nBY_TEST = 2\nPART = 3\nWHOLE = (PART,)\nUNREAD = 4\nOF_UNREAD = 5\nTABLE = (OF_UNREAD,)\n"
    )
    (knowledge / "rows-rows.csv").write_text(
        "name,says,source\nREAD_ROW,1,ours: x\nUNREAD_ROW,1,ours: x\nlow,1,ours: x\n"
    )
    (knowledge.parent / "code.py").write_text(
        "from weatherglass.knowledge import rows as table\n"
        "from weatherglass.knowledge.rows import READ as one\n"
        "print(one, table.WHOLE, table.READ_ROW)\n"
    )
    (tmp_path / "tests" / "test_rows.py").write_text(
        "from weatherglass.knowledge import rows\nassert rows.BY_TEST\n"
    )
    assert unread_rows(tmp_path) == [
        "knowledge.rows:5 UNREAD",
        "knowledge.rows:6 OF_UNREAD",
        "knowledge.rows:7 TABLE",
        "knowledge.rows:3 UNREAD_ROW",
    ]
