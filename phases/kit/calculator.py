"""The contract of a calculator: what a file in a phase declares, and nothing about how it is run.

A calculator reads like the page it was taken from: its source on top, its inputs as declared
fields, then one short method for each output and each limit. Methods see plain arrays in SI
(°C for temperatures) and never ask how many corners there are.

    class Divider(Calculator, name="divider", title="Divider", per="board", source="..."):
        "What is left at the tap?"
        V = Quantity("V", "supply", default="5 V ± 5 %")
        R1 = Quantity("Ω", "top resistor", default="10 kΩ ± 1 %")
        R2 = Quantity("Ω", "bottom resistor", default="10 kΩ ± 1 %")

        @output("V", "tap voltage")
        def V_tap(self) -> Array:
            return self.V * self.R2 / (self.R1 + self.R2)

        @limit("Tap voltage", unit="V")
        def tap(self) -> Bound:
            return below(self.V_tap, 3.6)

`Divider(V="3.3 V").V_tap` is the typical value; `judge(Divider(V="3.3 V"))` the worst case.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any, ClassVar, Self, overload

from phases.kit.bounds import Finding, Verdictable
from phases.kit.fields import Field, Quantity
from phases.kit.frame import TYPICAL, Axes, Frame, View
from phases.kit.grammar import so_many
from phases.kit.inputs import Facts, Given, Inputs, Lookup, empty_ledger, nothing_known
from phases.kit.say import show_spread
from phases.kit.units import UNITS

if TYPE_CHECKING:
    from phases.kit.arrays import Array
    from phases.kit.bench import Bench
    from phases.kit.facts import FactValue
    from phases.kit.spread import Spread

SUBJECT_KINDS = ("board", "rail", "bus", "connector", "clock", "load")


@dataclass(frozen=True, slots=True)
class Part:
    """A part or connection that a saved calculation implies, still to be drawn.

    role: its place in this calculation ("R1"); a changed value replaces the part of that role.
    what: the part ("5.1 kΩ ± 10 %"). where: how it is connected ("CC1 to GND").
    """

    role: str
    what: str
    where: str
    count: int = 1

    @property
    def words(self) -> str:
        return f"{so_many(self.count, self.what)}, {self.where}"


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve an engineer would look at: output `y` against input `x`, with a limit drawn in.

    span: the ends of x in SI; None for the span of its field. log: a logarithmic x.
    limit: the name of the limit whose bound is drawn.
    """

    title: str
    x: str
    y: str
    span: tuple[float, float] | None = None
    limit: str | None = None
    log: bool = False


class _Method:
    """A declared method: on the class the declaration, on a calculation its value, made once."""

    name = ""
    method: Callable[[Any], Any]

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name

    @property
    def formula(self) -> str:
        return (self.method.__doc__ or "").strip()

    def made(self, calculation: Any) -> Any:
        """The method evaluated. What divides by zero is infinite or unknown, and judged as such."""
        import numpy as np

        with np.errstate(all="ignore"):
            return self.method(calculation)


class output(_Method):
    """A number worth knowing. along: the table whose rows it keeps. publishes: its ledger name.

    when: facts that must not be otherwise at the calculation's subject for it to be published;
    what is not known yet counts as yes. bench: what the bench measures of it.
    """

    def __init__(
        self,
        unit: str,
        title: str,
        *,
        publishes: str | None = None,
        along: str | None = None,
        when: Mapping[str, FactValue] | None = None,
        bench: Bench | None = None,
    ) -> None:
        self.unit = unit
        self.title = title
        self.publishes = publishes
        self.along = along
        self.when = when
        self.bench = bench

    @property
    def point(self) -> str:
        """Where the bench keeps readings of it, as a template; see `Bench.point`."""
        return (self.bench and self.bench.point) or self.publishes or f".{self.name}"

    def gives_way(self, facts: Facts) -> bool:
        """Whether the facts say that this name is another calculation's to give."""
        return self.when is not None and facts(self.when) is False

    def __call__(self, method: Callable[[Any], Any]) -> output:
        self.method = method
        return self

    @overload
    def __get__(self, calculation: None, owner: type) -> output: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> Array: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> output | Array:
        if calculation is None:
            return self
        here = calculation
        value: Array = here._frame.once(self.name, lambda: self.made(here))
        return value


class limit(_Method):
    """Something that must hold. unit: of the value it compares. asked: the margin, as a share of
    the bound's scale, under which a limit that holds is still called marginal."""

    def __init__(
        self, title: str, *, unit: str = "1", asked: float = 0.05, along: str | None = None
    ) -> None:
        self.title = title
        self.unit = unit
        self.asked = asked
        self.along = along

    def __call__(self, method: Callable[[Any], Verdictable]) -> limit:
        self.method = method
        return self

    @property
    def key(self) -> str:
        """The name by which items and journals cite it.

        An underscore at the end keeps a limit apart from a declaration: `source_` is "source".
        """
        return self.name.rstrip("_").replace("_", "-")

    @overload
    def __get__(self, calculation: None, owner: type) -> limit: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> Verdictable: ...
    def __get__(self, calculation: Calculator | None, owner: type) -> limit | Verdictable:
        if calculation is None:
            return self
        here = calculation
        value: Verdictable = here._frame.once(self.name, lambda: self.made(here))
        return value


class listing(_Method):
    """An answer that is a list: rows of words, the same keys in each.

    later: it takes longer than a verdict may, and follows a moment after it.
    """

    def __init__(self, title: str, *, later: bool = False) -> None:
        self.title = title
        self.later = later

    def __call__(self, method: Callable[[Any], list[dict[str, Any]]]) -> listing:
        self.method = method
        return self

    @overload
    def __get__(self, calculation: None, owner: type) -> listing: ...
    @overload
    def __get__(self, calculation: Calculator, owner: type) -> list[dict[str, Any]]: ...
    def __get__(
        self, calculation: Calculator | None, owner: type
    ) -> listing | list[dict[str, Any]]:
        if calculation is None:
            return self
        here = calculation
        value: list[dict[str, Any]] = here._frame.once(self.name, lambda: self.made(here))
        return value


class proposal(_Method):
    """Offers values for free inputs: the method yields one number, or one tuple, a candidate.

    tolerance: that of the part, as text, or the name of the ratio input that holds it.
    rank: the name of a method whose greatest value over the corners orders candidates of the
    same verdict, smallest first.
    """

    def __init__(self, *free: str, tolerance: str = "", rank: str = "") -> None:
        self.free = free
        self.tolerance = tolerance
        self.rank = rank

    def __call__(self, method: Callable[[Any], Iterable[Any]]) -> proposal:
        self.method = method
        return self

    def candidates(self, calculation: Calculator, most: int) -> list[tuple[float, ...]]:
        """The first so many candidates, one number for each free input."""
        offered = islice(self.method(calculation), most)
        found = (c if isinstance(c, tuple) else (c,) for c in offered)
        return [tuple(float(v) for v in candidate) for candidate in found]


class Calculator:
    """One engineering computation. See the module for how one is written."""

    name: ClassVar[str]
    title: ClassVar[str]
    question: ClassVar[str]
    """What it answers: the first line of its docstring. What follows is for who reads the code."""
    per: ClassVar[str]
    source: ClassVar[str]
    phase: ClassVar[str]
    version: ClassVar[int]
    fields: ClassVar[dict[str, Field]]
    outputs: ClassVar[dict[str, output]]
    limits: ClassVar[dict[str, limit]]
    listings: ClassVar[dict[str, listing]]
    proposals: ClassVar[tuple[proposal, ...]]
    curves: ClassVar[Sequence[Curve]] = ()
    _axes: ClassVar[Axes]
    _frame: Frame

    def __init_subclass__(
        cls, *, name: str, title: str, per: str, source: str, version: int = 1
    ) -> None:
        if per not in SUBJECT_KINDS:
            raise TypeError(f"{cls.__name__}: per={per!r} is not a kind of subject")
        declared = [(k, v) for c in reversed(cls.__mro__) for k, v in vars(c).items()]
        for taken, v in declared:
            if isinstance(v, (Field, _Method)) and taken in _TAKEN:
                raise TypeError(f"{cls.__name__}: {taken} is a name of the contract itself")
        cls.name, cls.title, cls.per, cls.source, cls.version = name, title, per, source, version
        cls.question = (cls.__doc__ or title).strip().partition("\n")[0]
        module = cls.__module__.split(".")
        cls.phase = module[1].replace("_", "-") if len(module) > 2 else ""
        cls.fields = {k: v for k, v in declared if isinstance(v, Field)}
        cls.outputs = {k: v for k, v in declared if isinstance(v, output)}
        cls.limits = {v.key: v for _, v in declared if isinstance(v, limit)}
        cls.listings = {k: v for k, v in declared if isinstance(v, listing)}
        cls.proposals = tuple(v for _, v in declared if isinstance(v, proposal))
        cls._axes = Axes(cls.fields)

    def __init__(
        self,
        given: Mapping[str, Any] | None = None,
        /,
        *,
        lookup: Lookup = empty_ledger,
        names: Mapping[str, str] | None = None,
        facts: Facts = nothing_known,
        **more: Any,
    ) -> None:
        """given, more: inputs by field name, as text, number, rows or Given.

        lookup: the ledger; names: the subject's names that fill its templates ("rail": "3v3");
        facts: what is known of the subject.
        """
        inputs = Inputs(type(self).fields, {**(given or {}), **more}, lookup, names or {}, facts)
        self._frame = Frame(inputs, type(self)._axes, TYPICAL)

    @property
    def inputs(self) -> Inputs:
        return self._frame.inputs

    def under(self, view: View) -> Self:
        """The same calculation evaluated under another view."""
        return self._framed(self.inputs, view)

    def with_given(self, more: Mapping[str, Given]) -> Self:
        """The same calculation with some inputs replaced."""
        return self._framed(self.inputs.with_given(more), TYPICAL)

    def _framed(self, inputs: Inputs, view: View) -> Self:
        twin = object.__new__(type(self))
        twin._frame = Frame(inputs, type(self)._axes, view)
        return twin

    def text(self, field: str) -> str:
        """An input as it was typed."""
        return self._frame.reading(field).text

    def spread_of(self, field: str) -> Spread:
        """A quantity as it was read, in SI: all of its spread, whatever the view."""
        value: Spread = self._frame.reading(field).value
        return value

    def rests_on(self, answer: str) -> tuple[str, ...]:
        """The part figures nobody gave that an output or limit was made from, once it was made."""
        inputs = self._frame.inputs_of(answer)
        return self.inputs.assumed(name for name in type(self).fields if name in inputs)

    def on_drawing(self, field: str) -> str:
        """A quantity as a drawing has it: as it was typed where that has a unit, else with one."""
        reading, quantity = self.inputs.reading(field), type(self).fields[field]
        if (
            not isinstance(quantity, Quantity)
            or reading.value is None
            or UNITS[quantity.unit].si in reading.text
        ):
            return reading.text
        return show_spread(reading.value, quantity.unit, digits=6)

    def parts(self) -> Sequence[Part]:
        """The parts and connections this calculation implies; asked at the corners, as judged."""
        return ()

    def notes(self) -> Sequence[Finding]:
        """What to say beside the numbers: cautions, ranges of validity, marked assumptions.

        Asked at the corners, as the limits are.
        """
        return ()


# `under = limit(..)` would put the declaration in the place of the method: no calculator may.
_TAKEN = frozenset((*vars(Calculator), *Calculator.__annotations__))
