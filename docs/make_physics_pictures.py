"""Draw the pictures of docs/physics.md from the formulas themselves: ``python docs/make_physics_pictures.py``."""

from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from tensionear.belt.calibration import STANDARD_GRAVITY_M_PER_S2, calibrate_on_rig
from tensionear.belt.estimate import Estimate
from tensionear.belt.plucked_spans import HungSpan, PluckedPartial
from tensionear.belt.stiff_span import partial_frequency
from tensionear.belt.tension import static_tension

HERE = Path(__file__).parent
TENSION_N, LENGTH_M, DENSITY, BENDING = 400.0, 0.2, 0.165, 0.02  # invented
FIXITIES = (0.0, 0.25, 0.5, 0.75, 1.0)
LINES = ("-", "--", "-.", ":", "-")
ENDS = {0.0: " (pinned)", 1.0: " (clamped)"}


def stiffness_at(ratio: float) -> float:
    """Bending stiffness that gives the stiffness ratio. [N m²]."""
    return TENSION_N * (LENGTH_M / ratio) ** 2


def draw_flexible_error(path: Path) -> None:
    """How far the flexible formula is too high, over the stiffness ratio."""
    figure = Figure(figsize=(7.5, 4.5), layout="constrained")
    axes = figure.subplots()
    ratio = np.geomspace(8, 400, 120)
    for fixity, line in zip(FIXITIES, LINES, strict=True):
        fundamental_hz = partial_frequency(
            TENSION_N, LENGTH_M, DENSITY, TENSION_N * (LENGTH_M / ratio) ** 2, fixity
        )
        too_high = 100 * (np.asarray(static_tension(fundamental_hz, LENGTH_M, DENSITY)) / TENSION_N - 1)
        axes.loglog(ratio, too_high, line, label=f"{fixity:g}{ENDS.get(fixity, '')}", lw=1 + fixity)
    axes.axvspan(20, 150, color="0.92", zorder=0)
    axes.text(55, 70, "most spans of timing belts", ha="center", color="0.35")
    axes.set_ylim(0.05, 120)
    axes.set_xlim(8, 400)
    ticks = [0.1, 1, 10, 100]
    axes.set_yticks(ticks, [f"{tick:g} %" for tick in ticks])
    axes.set_xticks([10, 20, 50, 100, 200], ["10", "20", "50", "100", "200"])
    axes.set_xticks([], minor=True)
    axes.set_xlabel("stiffness ratio ξ = L·√(T/EI)")
    axes.set_ylabel("tension too high by")
    axes.set_title("What T = 4·m·L²·f² leaves out")
    axes.legend(title="end fixity e", loc="lower left")
    axes.grid(alpha=0.3)
    figure.savefig(path, dpi=110)


def draw_partials(path: Path) -> None:
    """Where partials of stiff spans lie: what they show of stiffness and what of the ends."""
    figure = Figure(figsize=(7.5, 4.5), layout="constrained")
    left, right = figure.subplots(1, 2, sharey=True)
    number = np.arange(1, 7)
    flexible_hz = number * partial_frequency(TENSION_N, LENGTH_M, DENSITY, 0.0, 0.0)
    for ratio, marker in ((30.0, "o"), (60.0, "s")):
        for fixity, line in ((0.0, "-"), (0.5, "-."), (1.0, ":")):
            heard_hz = partial_frequency(TENSION_N, LENGTH_M, DENSITY, stiffness_at(ratio), fixity, number)
            raised = np.asarray(heard_hz) / flexible_hz
            label = f"ξ = {ratio:g}, e = {fixity:g}"
            for axes, shown in ((left, raised), (right, raised / raised[0])):
                axes.plot(
                    number,
                    100 * (shown - 1),
                    line,
                    marker=marker,
                    ms=4,
                    color=f"C{int(ratio == 60)}",
                    label=label,
                )
    left.set_title("against the flexible span")
    right.set_title("against its own fundamental")
    left.set_ylabel("partial over its whole multiple, %")
    left.legend(fontsize=8)
    for axes in (left, right):
        axes.set_xlabel("number of the partial")
        axes.grid(alpha=0.3)
    figure.savefig(path, dpi=110)


def draw_rig(path: Path) -> None:
    """A calibration on a simulated rig: what the flexible formula makes of each length, and the fit."""
    rng = np.random.default_rng(60)
    mass_kg, relative = 20.0, 0.002

    def tension_at(length_m: float) -> float:
        return STANDARD_GRAVITY_M_PER_S2 * (mass_kg + DENSITY * length_m / 2)

    spans = []
    for length_m in (0.1, 0.14, 0.2, 0.3, 0.45, 0.65):
        true_hz = partial_frequency(tension_at(length_m), length_m, DENSITY, BENDING, 1.0)
        heard = PluckedPartial(true_hz * (1 + relative * rng.standard_normal()), relative * true_hz)
        spans.append(HungSpan(Estimate(length_m), Estimate(mass_kg), (heard,)))
    found = calibrate_on_rig(spans)
    density, bending = found.estimate("linear_density_kg_per_m"), found.estimate("bending_stiffness_n_m2")

    figure = Figure(figsize=(7.5, 4.5), layout="constrained")
    axes = figure.subplots()
    lengths_mm = [1000 * span.span_length.value for span in spans]
    apparent = [
        1000
        * tension_at(span.span_length.value)
        / (2 * span.span_length.value * span.partials[0].frequency_hz) ** 2
        for span in spans
    ]
    axes.errorbar(
        lengths_mm,
        apparent,
        2 * 2 * relative * np.array(apparent),
        fmt="o",
        capsize=3,
        label="plucked (± 2 u)",
    )
    along_m = np.linspace(0.08, 0.7, 200)
    pull_n = STANDARD_GRAVITY_M_PER_S2 * (mass_kg + density.value * along_m / 2)
    fitted_hz = partial_frequency(pull_n, along_m, density.value, bending.value, 1.0)
    axes.plot(
        1000 * along_m, 1000 * pull_n / (2 * along_m * np.asarray(fitted_hz)) ** 2, label="fit, clamped"
    )
    axes.axhline(1000 * density.value, color="0.4", ls="--", label="linear density that follows")
    axes.set_xlabel("span length, mm")
    axes.set_ylabel("T/(2·L·f)², g/m")
    axes.set_title(
        f"m = {1000 * density.value:.1f} ± {1000 * density.standard_uncertainty:.1f} g/m,"
        f" EI = {bending.value:.4f} ± {bending.standard_uncertainty:.4f} N m² (standard uncertainties)\n"
        f"simulated with {1000 * DENSITY:g} g/m and {BENDING:g} N m²",
        fontsize=10,
    )
    axes.legend()
    axes.grid(alpha=0.3)
    figure.savefig(path, dpi=110)


def main() -> None:
    """Draw all three."""
    folder = HERE / "pictures"
    folder.mkdir(exist_ok=True)
    draw_flexible_error(folder / "stiffness.png")
    draw_partials(folder / "stiff-partials.png")
    draw_rig(folder / "rig.png")


if __name__ == "__main__":
    main()
