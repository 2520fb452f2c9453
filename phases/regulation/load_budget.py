"""Load budget: how much current does each rail need, and is what makes it rated for that?

Sources: the sums are our own arithmetic. A rating of twice the demand, or the demand plus a
fifth for growth and then 25 to 50 %: J. Foutz, power-supply tutorial, load current margins. A
regulator rated at 2 to 3 times the demand is common practice; no source was found for the 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from phases.kit import (
    Bound,
    Calculator,
    Column,
    Finding,
    Quantity,
    SupplyColumn,
    Table,
    above,
    below,
    limit,
    output,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.refusals import Refusal, unknown

CONVERTERS = ("switching", "step-up")
KINDS = ("none", "linear", *CONVERTERS, "switch", "")
"""What makes a rail, as the fact `regulator` has it; empty where it is not yet known."""


class LoadBudget(
    Calculator,
    name="load-budget",
    title="Load budget",
    per="board",
    source="own arithmetic; margins: J. Foutz, power-supply tutorial, load current margins",
):
    """How much current does each rail need?

    A rating of 500 mA is twice a need of 250 mA (published, a rule of margin: twice the need):

    >>> need = {"consumer": "all", "rail": "out", "typical": "250 mA", "peak": "250 mA"}
    >>> rail = {"rail": "out", "voltage": "5 V", "rating": "500 mA"}
    >>> judge(LoadBudget(consumers=[need], rails=[rail])).rows("ratio")["out"].typ
    2.0
    """

    consumers = Table(
        "loads",
        (
            Column("consumer", "text", "load"),
            Column("rail", "text", "rail"),
            Column("typical", "A", "current while on"),
            Column("peak", "A", "peak current"),
            Column("duty", "%", "share of time on", default="100 %", most=1.0),
            Column("count", "count", "quantity", default="1"),
        ),
        of="board",
        default=(
            {"consumer": "microcontroller", "rail": "3v3", "typical": "40 mA", "peak": "80 mA"},
            {"consumer": "sensor", "rail": "3v3", "typical": "5 mA", "peak": "12 mA"},
            {"consumer": "indicator", "rail": "3v3", "typical": "2 mA", "peak": "2 mA", "count": 2},
        ),
        ledger="board.consumers",
    )
    rails = Table(
        "rails",
        (
            Column("rail", "text", "rail"),
            Column("parent", "text", "rail it is made from", default=""),
            Column("kind", "choice", "what makes it", default="", choices=KINDS),
            SupplyColumn("voltage", least=0.1),
            Column(
                "efficiency", "%", "efficiency, if switching", default="85 %", least=0.01, most=1.0
            ),
            Column("rating", "A", "rated current, 0 if unknown", default="0 A"),
        ),
        of="board",
        default=(
            {"rail": "vbus", "voltage": "4.75 / 5 / 5.25 V", "rating": "500 mA"},
            {
                "rail": "3v3",
                "parent": "vbus",
                "kind": "linear",
                "voltage": "3.3 V ± 2 %",
                "rating": "300 mA",
            },
        ),
        ledger="board.rails",
        scenarios=True,
    )
    I_source = Quantity(
        "A",
        "max source current",
        of="board",
        default="500 mA",
        ledger="source.allowed",
        span=(1e-3, 20.0),
    )
    I_charge = Quantity(
        "A",
        "current a charger takes from the source",
        of="board",
        default="0 A",
        ledger="rail.{entry}.charge_current",
        span=(1e-3, 20.0),
    )

    def _parents(self) -> dict[str, str]:
        """The parent of each rail; Refusal where rails or consumers do not hang together."""
        names, parents = self.rails.words("rail"), self.rails.words("parent")
        if not names:
            raise Refusal("There is no rail", where="rails", do="Give the entry rail a row")
        for number, (name, parent) in enumerate(zip(names, parents, strict=True), start=1):
            if name in names[: number - 1]:
                raise Refusal(f"Rail {name} appears twice", where=f"rails, row {number}")
            if parent and parent not in names:
                raise unknown("rail", parent, names, where=f"rails, row {number}")
        for number, rail in enumerate(self.consumers.words("rail"), start=1):
            if rail not in names:
                raise unknown("rail", rail, names, where=f"consumers, row {number}")
        return dict(zip(names, parents, strict=True))

    def _children_first(self) -> Iterator[tuple[str, list[str]]]:
        """Each rail with the rails made from it, after all of those. Refusal where they loop."""
        left = self._parents()
        children = {name: [c for c, parent in left.items() if parent == name] for name in left}
        while left:
            ready = [name for name in left if not any(c in left for c in children[name])]
            if not ready:
                raise Refusal(
                    f"Rails {', '.join(left)} are made from one another",
                    where="rails",
                    do="Give the entry rail no parent",
                )
            for name in ready:
                yield name, children[name]
                del left[name]

    def _drawn(self, each: Array) -> Array:
        """Current out of each rail when each consumer draws `each`: its own and its child rails'.

        A linear regulator, a switch or a filter passes the current of its rail on; a switching
        converter draws its power over its efficiency.
        """
        rails, at = self.rails, self.rails.words("rail").index
        kinds, homes = rails.words("kind"), self.consumers.words("rail")
        V_out, V_in = rails["voltage"], rails.opposed("voltage")
        current: dict[str, Array] = {}
        power: dict[str, Array] = {}
        for name, children in self._children_first():
            here = self.consumers.constant([home == name for home in homes])
            own = self.consumers.sum(each * here)
            converted = own * 0.0
            for child in children:
                if kinds[at(child)] in CONVERTERS:
                    eta = rails.pick(rails["efficiency"], at(child))
                    converted = converted + power[child] / eta
                else:
                    own = own + current[child]
            current[name] = own + converted / rails.pick(V_in, at(name))
            power[name] = own * rails.pick(V_out, at(name)) + converted
        return rails.stacked([current[name] for name in rails.words("rail")])

    @output("A", "average current", along="rails", publishes="rail.{row}.load")
    def load(self) -> Array:
        """Sum of count duty typical, and what child rails take"""
        loads = self.consumers
        return self._drawn(loads["count"] * loads["duty"] * loads["typical"])

    @output("A", "peak current", along="rails", publishes="rail.{row}.peak")
    def peak(self) -> Array:
        """Sum of count peak (typical where that is more), all at once, and what child rails take"""
        loads = self.consumers
        return self._drawn(loads["count"] * np.maximum(loads["peak"], loads["typical"]))

    @output("1", "rating / peak current", along="rails")
    def ratio(self) -> Array:
        """rating / peak; unknown without a rating"""
        rating = self.rails["rating"]
        return np.where(rating > 0, rating, np.nan) / self.peak

    @output("A", "average current of the board", publishes="board.load")
    def board(self) -> Array:
        """load of the entry rails together"""
        is_entry = self.rails.constant([not parent for parent in self.rails.words("parent")])
        return self.rails.sum(self.load * is_entry)

    @limit("Rating", unit="A", asked=0.25, along="rails")
    def rating(self) -> Bound:
        """rating above peak; marginal below 1.25 times"""
        rating = self.rails["rating"]
        return above(
            rating, self.peak, where=rating > 0, otherwise="No rating is given for this rail"
        )

    @limit("Source", unit="A")
    def source_(self) -> Bound:
        """peak of the entry rail, the first where there are two, and I_charge within I_source"""
        entry = self.rails.words("parent").index("")
        return below(self.rails.pick(self.peak, entry) + self.I_charge, self.I_source)

    def notes(self) -> Sequence[Finding]:
        said = []
        for row, name in enumerate(self.rails.words("rail")):
            ratio = float(self.rails.pick(self.ratio, row).min())
            kind = self.rails.words("kind")[row]
            if 1 <= ratio < 2 and kind in ("linear", *CONVERTERS):
                said.append(
                    Finding(
                        name,
                        f"Its regulator is rated {show(ratio, '1', 2)} times the demand; "
                        "2 to 3 times is common practice",
                        serious=False,
                    )
                )
            if not kind and self.rails.words("parent")[row]:
                said.append(
                    Finding(
                        name,
                        "What makes it is unknown: its current counts unchanged for its parent",
                        "Enter what makes it",
                        serious=False,
                    )
                )
        return said
