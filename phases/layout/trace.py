"""Trace: what width, temperature rise and drop?

Sources: current, rise and area, IPC-2221 (a fit to charts of 1956: I = k dT^0.44 A^0.725, A in
mil², k 0.048 outer, 0.024 inner; it is kept to 35 A outer, 17.5 A inner, 100 K and 400 mil,
the range from memory). Melting by a short pulse, Onderdonk, as in pcdandf 10293: 1083 °C, no
cooling. Copper, IACS: 1.724e-8 Ω·m at 20 °C, 0.00393 / K; plated copper up to a tenth more
(common practice). That a board is harmed long before its copper melts is common practice too:
a pulse should stay below half the melting current. What is left of the copper after processing,
IPC-6012: half-ounce foil is at least 11.4 µm inside, and with its plating 33.4 µm outside.
The figures, each with its source, stand in shared/tables/copper-tracks.toml.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from phases.kit import (
    Bench,
    Bound,
    Calculator,
    Capability,
    Choice,
    Count,
    Curve,
    Finding,
    Findings,
    Part,
    Quantity,
    above,
    below,
    found,
    limit,
    output,
    proposal,
    show,
)
from phases.kit import arrays as np
from phases.kit.arrays import Array
from phases.kit.notation import read_quantity
from phases.kit.spec_tables import spec_table
from phases.kit.spread import Spread

MIL = 25.4e-6
SMALL = 0.5
LAYERS = ("outer", "inner")
WIDTHS = tuple(
    mm * 1e-3
    for mm in (0.1, 0.13, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1, 1.2, 1.5, 2, 2.5, 3, 4, 5)
) + tuple(mm * 1e-3 for mm in (6, 8, 10, 12, 15, 20, 25, 30, 40, 50))


class Trace(
    Calculator,
    name="trace",
    title="Supply track width",
    per="rail",
    source="IPC-2221, current of conductors; Onderdonk (pcdandf 10293); IACS copper",
):
    """What width, temperature rise and drop?

    1 A in 35 µm outside with a rise of 10 K (published, a table of widths: 11.8 mil):

    >>> judged = judge(Trace(I="1 A", dT_max="10 K", layer="outer", t_outer="35 µm"))
    >>> round(judged.output("w_min").typ / 25.4e-6, 1)
    11.8
    """

    I = Quantity(  # noqa: E741
        "A", "current", of="board", default="500 mA", ledger="rail.{rail}.peak", span=(0.01, 50.0)
    )
    L = Quantity(
        "mm",
        "length",
        of="board",
        default="50 mm",
        span=(1e-3, 1.0),
        note="One way: a return track of its own counts too",
    )
    w = Quantity("mm", "width", of="board", free=True, least=1e-5, span=(5e-5, 0.05))
    layer = Choice("layer", LAYERS, of="board", default="outer", way=True)
    t_outer = Quantity(
        "µm",
        "copper, outer layers",
        of="practice",
        default="33.4 / 35 / 35 µm",
        least=1e-7,
        fixed=True,
        note="1 oz finished: half-ounce foil and its plating, at least 33.4 µm (IPC-6012)",
    )
    t_inner = Quantity(
        "µm",
        "copper, inner layers",
        of="practice",
        default="11.4 / 17.1 / 17.5 µm",
        least=1e-7,
        fixed=True,
        note="Half-ounce foil, at least 11.4 µm after processing (IPC-6012)",
    )
    dT_max = Quantity(
        "K", "allowed temperature rise", of="board", default="10 K", least=0.1, span=(1.0, 100.0)
    )
    V_max = Quantity("V", "allowed drop", of="board", default="50 mV", least=1e-6, span=(1e-3, 1.0))
    T_A = Quantity(
        "°C", "ambient", of="board", default="25 .. 50 °C", ledger="board.ambient", fixed=True
    )
    k_Cu = Quantity(
        "1",
        "resistivity / annealed copper",
        of="practice",
        default="1 .. 1.1",
        least=0.5,
        fixed=True,
        note="Plated copper up to 1.1 (common practice)",
    )
    I_p = Quantity(
        "A",
        "short pulse",
        of="board",
        default="5 A",
        note="Inrush, or a fault until the fuse opens",
    )
    t_p = Quantity("s", "duration of the pulse", of="board", default="10 ms", least=1e-9, most=10.0)
    layers = Count(
        "copper layers of the board", of="board", default=2, least=1, ledger="board.layers"
    )
    capability = Capability(
        "capability card", of="board", default="two-layer-quick", ledger="board.capability"
    )

    @proposal("w", rank="narrow_and_cool")
    def practical(self) -> Iterator[float]:
        """Usual widths, from the narrowest that can be made; the first that passes"""
        least = float(self.w_least.max())
        yield from sorted({least, *(w for w in WIDTHS if w > least)})

    def narrow_and_cool(self) -> Array:
        """The narrowest first; where nothing passes, the narrowest that at least stays cool."""
        return np.where(self.dT <= self.dT_max, self.w, 1 / self.w)

    @property
    def t(self) -> Array:
        """Copper of the layer it is on."""
        return self.t_outer if self.layer == "outer" else self.t_inner

    def _copper(self) -> Spread:
        return self.spread_of("t_outer" if self.layer == "outer" else "t_inner")

    def _least_copper(self) -> float | None:
        """What IPC-6012 lets a fabricator leave of an inner foil of that thickness, in m."""
        for foil in spec_table("copper-tracks")["processed"]["inner"]:
            if abs(self._copper().typ / (foil["foil"] * 1e-6) - 1) < 0.05:
                return float(foil["least"]) * 1e-6
        return None

    def _area(self) -> Array:
        """w t in mil²."""
        return self.w * self.t / MIL**2

    def _chart(self) -> tuple[float, float, float]:
        """k of the layer, power of the rise, power of the area."""
        fit = spec_table("copper-tracks")["heating"]
        return fit[self.layer]["k"], fit["rise_power"], fit["area_power"]

    @output("mm", "width needed for the temperature rise")
    def w_min(self) -> Array:
        """w_min = (I / (k dT_max^0.44))^(1 / 0.725) / t, area in mil²"""
        k, a, b = self._chart()
        return np.power(self.I / (k * self.dT_max**a), 1 / b) * MIL**2 / self.t

    @output("mm", "narrowest track that can be made")
    def w_least(self) -> Array:
        """The track of the capability card"""
        return np.asarray(read_quantity(self.capability.track, "mm").high)

    @output("A", "current for the allowed temperature rise")
    def I_max(self) -> Array:
        """I_max = k dT_max^0.44 A^0.725, A = w t in mil²"""
        k, a, b = self._chart()
        return k * self.dT_max**a * np.power(self._area(), b)

    @output("K", "temperature rise")
    def dT(self) -> Array:
        """dT = (I / (k A^0.725))^(1 / 0.44), A = w t in mil²"""
        k, a, b = self._chart()
        return np.power(self.I / (k * np.power(self._area(), b)), 1 / a)

    @output(
        "°C",
        "temperature of the track",
        bench=Bench(
            "heat",
            title="{rail} track: temperature",
            where="the track of {rail}, where it is narrowest",
            first="Load current; width and thickness of the copper",
        ),
    )
    def T(self) -> Array:
        """T = T_A + dT"""
        return self.T_A + self.dT

    @output("Ω", "resistance, hot")
    def R(self) -> Array:
        """R = k_Cu ρ L / (w t) (1 + α (T - 20 °C))"""
        copper = spec_table("copper-tracks")["copper"]
        cold = self.k_Cu * float(copper["resistivity"]) * self.L / (self.w * self.t)
        return cold * (1 + float(copper["coefficient"]) * (self.T - 20))

    @output("V", "drop")
    def V_drop(self) -> Array:
        """V_drop = I R"""
        return self.I * self.R

    @output("W", "loss")
    def P(self) -> Array:
        """P = I² R"""
        return self.I**2 * self.R

    @output("A", "pulse that melts the track")
    def I_fuse(self) -> Array:
        """I_fuse = A √(log10(1 + (1083 - T) / (234 + T)) / (33 t_p)), A in circular mil"""
        copper = spec_table("copper-tracks")["melting"]
        circular_mils = self._area() * 4 / np.pi
        left = np.maximum(copper["melting"] - self.T, 0.0)
        decades: Array = np.log10(1 + left / (float(copper["offset"]) + self.T))
        return circular_mils * np.sqrt(decades / (float(copper["factor"]) * self.t_p))

    @limit("Temperature rise", unit="K")
    def rise(self) -> Bound:
        return below(self.dT, self.dT_max)

    @limit("Drop", unit="V")
    def drop(self) -> Bound:
        return below(self.V_drop, self.V_max)

    @limit("Width", unit="mm", asked=0.0)
    def makeable(self) -> Bound | Findings:
        if self.layer == "inner" and self.layers < 3:
            what = f"A board of {self.layers} layers has no inner layer"
            return found(Finding("layer", what, "Use an outer layer"))
        return above(self.w, self.w_least)

    @limit("Short pulse", unit="A", asked=0.5)
    def fusing(self) -> Bound:
        return below(self.I_p, self.I_fuse)

    curves = (
        Curve("Temperature rise against width", x="w", y="dT", limit="rise", log=True),
        Curve("Drop against width", x="w", y="V_drop", limit="drop", log=True),
    )

    def parts(self) -> Sequence[Part]:
        if not self.text("w"):
            return ()
        rail = self.inputs.names.get("rail", "its rail")
        what = f"track {show(self.spread_of('w').typ, 'mm')} wide or wider"
        return (Part("track", what, f"for {rail}, {self.layer} layer"),)

    def notes(self) -> Sequence[Finding]:
        """What the figures are worth here."""
        charts, least = spec_table("copper-tracks")["heating"], self._least_copper()
        highest, widest = charts[self.layer]["most"], charts["most_width"]
        I, width, rise = (float(x.max()) for x in (self.I, self.w_min, self.dT_max))  # noqa: E741
        said = [
            (
                I < SMALL,
                f"Below about {show(SMALL, 'A')} the drop and the fabricator decide, not the heat",
                "Draw it as wide as there is room",
            ),
            (
                highest < I or width > widest or rise > charts["most_rise"],
                f"The charts behind the width end at {show(highest, 'A')}, "
                f"{show(charts['most_rise'], 'K')} and {show(widest, 'mm')}",
                "Measure the rise on the board",
            ),
            (
                self.layer == "inner",
                "Measured inner tracks run cooler than this: the charts halve the outer current",
                "",
            ),
            (
                self.layer == "inner" and bool(least) and self._copper().is_exact,
                f"Copper is counted as exact; of this foil {show(least or 0.0, 'µm')} may be left "
                "after processing (IPC-6012)",
                "Enter it as a spread, from that to the foil's own thickness",
            ),
            (
                not self._copper_as_on_the_card(),
                f"Capability card {self.capability.name} has other copper on this layer",
                "Enter the copper that will be ordered",
            ),
            (
                float(self.I_p.max()) > float(self.I_fuse.max()) / 2,
                "The board is harmed long before the copper melts",
                "Put a fuse in front, or widen the track",
            ),
        ]
        return [Finding("track", what, cure, serious=False) for says, what, cure in said if says]

    def _copper_as_on_the_card(self) -> bool:
        card = self.capability
        stated = card.copper_outer if self.layer == "outer" else card.copper_inner
        if stated is None:
            return True
        return abs(read_quantity(stated, "µm").typ / self._copper().typ - 1) < 0.05
