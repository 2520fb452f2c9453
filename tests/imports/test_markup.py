"""No text on a screen is read as markup: a bench called "[/]" must not end the coach."""

from __future__ import annotations

import ast

import pytest

from tests.imports.sources import ROOT, sources

# These take markup=False, and need it for good: a later update() is read the same way.
_SWITCHED = frozenset({"Static", "Label", "OptionList", "SelectionList", "notify"})
# These read every plain text as markup; only a text that is wrapped is safe.
_ALWAYS_READ = frozenset({"Button"})
_WRAPPERS = frozenset({"Content", "Text"})


def read_as_markup(tree: ast.AST) -> list[str]:
    """Each call in `tree` whose text would be read as markup, as "line N: name"."""
    found: list[tuple[int, str]] = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = _name(node.func)
        if name in _SWITCHED:
            safe = _switched_off(node) or (name != "notify" and _wrapped(node))
        elif name in _ALWAYS_READ:
            safe = _wrapped(node) or not _given(node)
        else:
            continue
        if not safe:
            found.append((node.lineno, str(name)))
    return [f"line {line}: {name}" for line, name in sorted(found)]


def _name(function: ast.expr) -> str | None:
    match function:
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name
    return None


def _switched_off(call: ast.Call) -> bool:
    return any(
        word.arg == "markup" and isinstance(word.value, ast.Constant) and word.value.value is False
        for word in call.keywords
    )


def _given(call: ast.Call) -> list[ast.expr]:
    named = [word.value for word in call.keywords if word.arg in ("content", "label")]
    return [*call.args[:1], *named]


def _wrapped(call: ast.Call) -> bool:
    """Its text is a call of Content or Text, or of their safe constructors."""
    texts = _given(call)
    return bool(texts) and all(isinstance(text, ast.Call) and _is_wrapper(text) for text in texts)


def _is_wrapper(call: ast.Call) -> bool:
    match call.func:
        case ast.Attribute(value=ast.Name(id=name), attr=constructor) if name in _WRAPPERS:
            # Content.from_markup takes what varies as named values; Text.from_markup does not.
            return name == "Content" or constructor != "from_markup"
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name in _WRAPPERS
    return False


def test_no_text_of_a_screen_is_read_as_markup() -> None:
    paths = sources("coach/terminal")
    texts = {str(path): (ROOT / path).read_text(encoding="utf-8") for path in paths}
    read = {path: read_as_markup(ast.parse(text)) for path, text in texts.items()}
    assert {path: calls for path, calls in read.items() if calls} == {}
    assert len(read) > 20


@pytest.mark.parametrize(
    "source",
    [
        "Static(name)",
        "Static('')",
        "Static(id='strip')",
        "Static(content=name)",
        "widgets.Label(f'{bench} is late')",
        "Label(name, markup=True)",
        "Label(name, markup=wanted)",
        "Button(name)",
        "Button(label=name)",
        "self.notify(str(refusal))",
        "self.app.notify(Content(name))",
        "OptionList(*names)",
        "Static(Text.from_markup(name))",
    ],
)
def test_a_text_that_would_be_read_as_markup_is_seen(source: str) -> None:
    assert read_as_markup(ast.parse(source))


@pytest.mark.parametrize(
    "source",
    [
        "Static(name, markup=False)",
        "Static(id='strip', markup=False)",
        "Static(Content(name))",
        "Static(Content.from_markup('[b]$n[/b]', n=name))",
        "Label(rich.text.Text(name))",
        "Button(Content(name))",
        "self.notify(str(refusal), markup=False)",
    ],
)
def test_a_text_that_is_kept_plain_is_let_through(source: str) -> None:
    assert read_as_markup(ast.parse(source)) == []
