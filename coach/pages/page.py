"""A page from its template: filled in, whatever was typed escaped, with the style it shares."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from phases.kit.refusals import Refusal
from phases.kit.text import one_line

STYLE = Path(__file__).with_name("page.css")


def page(
    template: Path,
    *,
    own_style: Path | None = None,
    filters: Mapping[str, Callable[..., str]] | None = None,
    **values: object,
) -> str:
    """The text of a page. own_style: what is added to the shared style. The same values give the
    same bytes.

    jinja2 escapes every value; what a template calls safe is the style and what was drawn here.
    Raises Refusal where jinja2 is not installed: only pages need it.
    """
    try:
        from jinja2 import Environment, FileSystemLoader, StrictUndefined
    except ImportError:
        what, do = "Writing HTML needs jinja2", "Install it: pip install 'board-coach[report]'"
        raise Refusal(what, do=do) from None
    environment = Environment(
        loader=FileSystemLoader(template.parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_on_one_line,
        auto_reload=False,
    )
    environment.filters |= filters or {}
    style = "\n".join(one.read_text(encoding="utf-8") for one in (STYLE, own_style) if one)
    return environment.get_template(template.name).render(style=style, **values)


def _on_one_line(value: object) -> object:
    """Typed text passes the one door for text; what is markup already was made here."""
    if isinstance(value, str) and not hasattr(value, "__html__"):
        return one_line(value)
    return value
