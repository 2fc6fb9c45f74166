"""How every page is filled: what is put in is escaped, and a name that nobody gave is refused."""

from jinja2 import BaseLoader, Environment, StrictUndefined


def environment(loader: BaseLoader) -> Environment:
    """Return what fills the templates of one folder; they do not change while it runs."""
    return Environment(
        loader=loader,
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
