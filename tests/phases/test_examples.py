"""The example in each calculator's docstring gives what is printed below it, and no screen shows
more of a docstring than its question."""

from __future__ import annotations

import doctest
import sys

import pytest

from coach.cli import main
from phases.kit import judge
from phases.kit.calculator import Calculator
from phases.kit.catalogue import calculators

KINDS = [pytest.param(kind, id=name) for name, kind in calculators().items()]


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_gives_what_is_printed(kind: type[Calculator]) -> None:
    names = {**vars(sys.modules[kind.__module__]), "judge": judge}
    (example,) = doctest.DocTestFinder(recurse=False).find(kind, kind.__name__, globs=names)
    told: list[str] = []

    ran = doctest.DocTestRunner().run(example, out=told.append)

    assert "".join(told) == ""
    assert ran.attempted > 0


@pytest.mark.parametrize("kind", KINDS)
def test_a_docstring_begins_with_the_question_and_only_that_is_shown(
    kind: type[Calculator], capsys: pytest.CaptureFixture[str]
) -> None:
    first, blank, *_ = (kind.__doc__ or "").splitlines()
    main(["calc", kind.name])
    shown = capsys.readouterr().out
    main(["calc", kind.name, "--json"])
    shown += capsys.readouterr().out
    main(["calc", kind.name, "--help"])
    shown += capsys.readouterr().out

    assert kind.question == first
    assert first.endswith("?") and not blank
    assert ">>>" not in shown
