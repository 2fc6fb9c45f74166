"""A plugin for mypy: the rows in capitals of a module's CSV file are constants of it, each of its kind."""

from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

from mypy.nodes import GDEF, CallExpr, StrExpr, SymbolTableNode, TypeInfo, Var
from mypy.plugin import DynamicClassDefContext, Plugin, ReportConfigContext, SemanticAnalyzerPluginInterface
from mypy.types import Instance

from weatherglass.knowledge.printed_rows import PrintedRows


class RowsOfModules(Plugin):
    """Reads a file where `PrintedRows` is told to."""

    def get_dynamic_class_hook(self, fullname: str) -> Callable[[DynamicClassDefContext], None] | None:
        """Follow a call of `PrintedRows`."""
        return _add if fullname == f"{PrintedRows.__module__}.{PrintedRows.__qualname__}" else None

    def report_config_data(self, ctx: ReportConfigContext) -> str | None:
        """A module is looked at again when its file is another one."""
        module = Path(ctx.path)
        file = module.with_name(f"{module.stem.replace('_', '-')}-rows.csv")
        return sha256(file.read_bytes()).hexdigest() if file.exists() else None


def _add(ctx: DynamicClassDefContext) -> None:
    match ctx.call.args:
        case [StrExpr(value=file), CallExpr()]:
            for name, value in PrintedRows(file).constants():
                _declare(ctx.api, name, f"{type(value).__module__}.{type(value).__name__}")


def _declare(api: SemanticAnalyzerPluginInterface, name: str, kind: str) -> None:
    info = api.lookup_fully_qualified(kind).node
    own = f"{api.cur_mod_id}.{name}"
    if isinstance(info, TypeInfo) and api.lookup_fully_qualified_or_none(own) is None:
        constant = Var(name, Instance(info, []))
        constant._fullname = own
        constant.is_final = constant.is_ready = True
        api.add_symbol_table_node(name, SymbolTableNode(GDEF, constant))


def plugin(_version: str) -> type[Plugin]:
    """What mypy asks for."""
    return RowsOfModules
