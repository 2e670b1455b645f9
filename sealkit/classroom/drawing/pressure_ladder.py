"""The ladder of pressures: from the air outside to the design peak, as bars."""

from __future__ import annotations

from sealkit.analysis.gas import Gas
from sealkit.classroom.drawing.draw import COLOURS
from sealkit.drawing.svg import framed
from sealkit.units import show


def ladder(gas: Gas) -> list[tuple[str, float]]:
    """The steps from the air outside to the design peak pressure, absolute, Pa."""
    return [
        ("air outside", gas.ambient),
        ("inlet manifold", float(gas.charge.manifold_pressure)),
        ("compressed, not yet burnt", float(gas.bound.compression_pressure)),
        ("peak of the average cycle", gas.mean_peak),
        ("design peak of the joint", gas.design_peak),
    ]


def pressure_ladder(gas: Gas, system: str = "metric") -> str:
    """The steps as bars, each with what it is multiplied by."""
    steps = ladder(gas)
    limit = float(gas.bound.peak_pressure)
    wide, blue = 600.0 / max(limit, steps[-1][1]), COLOURS["pressure"]
    doing = ("", "boost", "piston", "burn", "spread")
    short = ("air outside", "manifold", "compressed", "average peak", "design peak")
    bars, words = [], []
    for i, (what, value) in enumerate(steps):
        number = show(value, "pressure", system)
        times = f", {doing[i]} × {value / steps[i - 1][1]:.3g}" if i else ""
        words.append(f"{what} {number}{times}")
        y = 6 + 74 * i
        bars.append(
            f"<text x='4' y='{y + 24}'>{short[i]}: {number}{times}</text><rect x='4' "
            f"y='{y + 34}' width='{max(wide * value, 2.0):.1f}' height='26' fill='{blue}'/>"
        )
    bars.append(
        f"<path d='M{4 + wide * limit:.1f},186 V372' stroke='{blue}' stroke-width='4' "
        "stroke-dasharray='6 6'/>"
    )
    bound = show(limit, "pressure", system)
    return framed(
        bars,
        (620, 378),
        f"Steps of absolute pressure. {'; '.join(words)}; constant-volume limit {bound}.",
        f"All pressures absolute, one scale. Dashed: the constant-volume limit, {bound}, if all "
        "burnt at once at top dead centre and no heat were lost.",
        font=28,
    )
