"""A figure for a paper: the engine beside the series of the plane wall.

    python docs/examples/slab_series.py --out figures

The slab of cases/flat-slab.toml has constant properties and Bi = 1. Its temperatures are (H. S. Carslaw, J. C. Jaeger, Conduction
of Heat in Solids, 2nd ed., Oxford 1959, section 3.11), with x from the mid-plane and L half the thickness:

    (T - T_water)/(T_die - T_water) = sum over n of 4 sin z/(2 z + sin 2z) cos(z x/L) exp(-z^2 Fo),  z tan z = Bi
"""

import argparse
from pathlib import Path

import matplotlib
import numpy as np
import quenchway as qw
from scipy.optimize import brentq

matplotlib.use("Agg")
import matplotlib.pyplot as plt

CASE = Path(__file__).resolve().parents[2] / "cases/flat-slab.toml"
TERMS = 60


def series(place, fourier, biot):
    """Share of the first excess temperature at x/L and Fo."""
    # The root number n lies between n pi, where the tangent is 0, and half a pi after it, where it is infinite.
    roots = np.array([brentq(lambda z: z * np.sin(z) - biot * np.cos(z), n * np.pi, (n + 0.5) * np.pi) for n in range(TERMS)])
    weights = 4 * np.sin(roots) / (2 * roots + np.sin(2 * roots))
    return np.cos(np.outer(place, roots)) @ (weights * np.exp(-(roots**2) * fourier))


def main(out):
    case = qw.Case.from_toml(CASE)
    solution = qw.march(case)
    half = case.get("layer.slab.diameter") / 2
    conductivity = case.get("material.constant-plastic.conductivity")
    diffusivity = conductivity / (
        case.get("material.constant-plastic.density") * case.get("material.constant-plastic.heat_capacity")
    )
    biot = case.get("section.bath.film") * half / conductivity
    die, water = case.get("layer.slab.temperature"), case.get("section.bath.temperature")

    figure, (profiles, differences) = plt.subplots(1, 2, figsize=(7.2, 3.2), layout="constrained")
    largest = 0.0
    for colour, station in zip(["#0b6fa4", "#7a5195", "#b3401f"], solution.stations.values(), strict=True):
        row = int(np.argmin(np.abs(solution.distance - station.distance)))
        fourier = diffusivity * solution.time[row] / half**2
        place = solution.radius[row] / half
        exact = water + (die - water) * series(place, fourier, biot)
        off = solution.temperature[row] - exact
        largest = max(largest, float(np.abs(off).max()))
        fine = np.linspace(0, 1, 101)
        profiles.plot(fine, water + (die - water) * series(fine, fourier, biot), color=colour, label=f"Fo = {fourier:.3g}")
        profiles.plot(place, solution.temperature[row], "o", color=colour, markersize=3, markerfacecolor="none")
        differences.plot(place, 1e3 * off, "o", color=colour, markersize=3)
    profiles.set(xlabel="x/L", ylabel="temperature, °C", title="lines: series, rings: engine")
    profiles.legend(frameon=False)
    differences.set(xlabel="x/L", ylabel="engine minus series, mK", title=f"tolerance {1e3 * solution.tolerance:g} mK")
    out.mkdir(parents=True, exist_ok=True)
    figure.savefig(out / "slab-series.png", dpi=200)
    plt.close(figure)
    print(f"largest difference {1e3 * largest:.3f} mK, stated error {1e3 * solution.error:.3f} mK")
    return largest, solution


if __name__ == "__main__":
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--out", type=Path, default=Path("figures"), help="directory of the figure")
    main(arguments.parse_args().out)
