"""The terminal's modules import each other in one direction: nothing comes back to where it began.

Imports inside functions count too: one that is put off is still a dependency. What is imported for
the type checker alone does not.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator, Mapping

from tests.imports.sources import ROOT, sources

TERMINAL = "coach/terminal"

# A room imports those before it and itself, none of those behind it.
ROOMS = ("drawing", "widgets", "screens", "app")


def imports_of(tree: ast.AST) -> Iterator[str]:
    """The modules that are imported anywhere in a source, and the names imported from them."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            continue
        if isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        else:
            yield from imports_of(node)


def graph_of(sources_by_name: Mapping[str, str]) -> dict[str, set[str]]:
    """Which of these modules import which others of them."""
    return {
        name: {
            other
            for wanted in imports_of(ast.parse(source))
            for other in (wanted, wanted.rpartition(".")[0])
            if other in sources_by_name and other != name
        }
        for name, source in sources_by_name.items()
    }


def circles(graph: Mapping[str, Iterable[str]]) -> list[str]:
    """A way from a module back to itself, "a > b > a", for each module that has one."""
    found = []
    for start in graph:
        ways, seen = [(start,)], set()
        while ways:
            way = ways.pop()
            for after in sorted(graph[way[-1]]):
                if after == start:
                    found.append(" > ".join((*way, start)))
                    ways.clear()
                    break
                if after not in seen:
                    seen.add(after)
                    ways.append((*way, after))
    return found


def terminal() -> dict[str, set[str]]:
    texts = {}
    for path in sources(TERMINAL):
        name = ".".join(path.with_suffix("").parts).removesuffix(".__init__")
        texts[name] = (ROOT / path).read_text(encoding="utf-8")
    return graph_of(texts)


def test_no_module_of_the_terminal_comes_back_to_itself() -> None:
    assert circles(terminal()) == []


def test_drawing_imports_no_widget_and_a_widget_no_screen() -> None:
    def room(module: str, else_: int) -> int:
        name = module.removeprefix("coach.terminal").split(".")[1:2]
        return ROOMS.index(name[0]) if name and name[0] in ROOMS else else_

    upwards = [
        f"{name} imports {other}"
        for name, others in terminal().items()
        for other in others
        if room(other, 0) > room(name, len(ROOMS))
    ]
    assert upwards == []


def test_a_circle_is_seen_wherever_the_import_is() -> None:
    there = {
        "a": "from b import c",
        "b": "def later():\n    import d.e\n",
        "d.e": "if TYPE_CHECKING:\n    from b import c\nelse:\n    from a import x\n",
    }
    assert graph_of(there) == {"a": {"b"}, "b": {"d.e"}, "d.e": set()}
    there["d.e"] = "try:\n    from a import x\nexcept ImportError:\n    pass\n"
    assert circles(graph_of(there)) == ["a > b > d.e > a", "b > d.e > a > b", "d.e > a > b > d.e"]
    assert circles({"a": {"b"}, "b": {"c"}, "c": set()}) == []
