"""A study for a faster line: what the core does over line speed and trough length, and which trough is enough.

    python docs/examples/faster_line.py --out figures

The map is a plan, to be confirmed on the line: raise the speed in steps. A cool surface can hide a hot core.
"""

import argparse
from pathlib import Path

import matplotlib
import numpy as np
import quenchway as qw

matplotlib.use("Agg")
import matplotlib.pyplot as plt

CASE = Path(__file__).resolve().parents[2] / "cases/house-wire.toml"


def main(out, points=41):
    case = qw.Case.from_toml(CASE)
    speed = np.linspace(100, 300, points) / 60
    length = np.linspace(10, 45, points)
    found = qw.batch(case, {"line.speed": speed[:, None], "section.trough.length": length}, ["capstan.core"], strict=True)
    core = found.to_xarray()["capstan.core"]

    limit = case.get("station.capstan.core_max")
    asked = speed[:: (points - 1) // 8]
    needed = [qw.needed_length(case.with_values({"line.speed": one})) for one in asked]

    figure, axes = plt.subplots(figsize=(6.4, 4.4), layout="constrained")
    steps = np.arange(10 * np.floor(core.min() / 10), core.max() + 10, 10)
    filled = axes.contourf(60 * speed, length, core.T, levels=steps, cmap="cividis")
    figure.colorbar(filled, label="core at the capstan, °C")
    axes.contour(60 * speed, length, core.T, levels=[limit], colors="white", linewidths=2)
    axes.plot([], [], color="white", linewidth=2, label=f"core at its limit of {limit:g} °C")
    axes.plot(60 * asked, [one.length for one in needed], "o", color="white", markeredgecolor="black", label="needed length")
    axes.plot(60 * case.get("line.speed"), case.get("section.trough.length"), "*", color="red", markersize=13, label="today")
    axes.set(xlabel="line speed, m/min", ylabel="trough length, m", title=case.title, ylim=(length[0], length[-1]))
    axes.legend(loc="upper left", facecolor="#8a8a8a", labelcolor="white", framealpha=0.9)
    out.mkdir(parents=True, exist_ok=True)
    figure.savefig(out / "faster-line.png", dpi=150)
    plt.close(figure)

    for one, answer in zip(asked, needed, strict=True):
        print(f"{60 * one:5.0f} m/min: {answer.printed}, {answer.deciding} decides")
    for caution in case.cautions:
        print(f"Caution: {caution}")
    return core, limit, asked, needed


if __name__ == "__main__":
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--out", type=Path, default=Path("figures"), help="directory of the picture")
    main(arguments.parse_args().out)
