"""Work against true error of the engine and its peers on P1 to P4: writes docs/peers.md and docs/images/work-precision.png.

Run by `make peers`, which builds the programs and sets up Python. All times of one run of this program on one core; the
error of each is against the converged temperatures of tests/benchmarks at the ends of all sections.
"""

from __future__ import annotations

import itertools
import os
import platform
import re
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt

from problems import BENCHMARKS, Problem, load
from rings import Rings

ROOT = Path(__file__).resolve().parents[2]
NAMES = ["P1", "P2", "P3", "P4"]
WANTED = [0.1, 0.01, 0.001]
SIZES = [8, 12, 16, 20, 28, 40, 56, 80, 112, 160, 224, 320]
LARGE = [480, 640]
GRADINGS = [0.5, 1.0, 2.0, 5.0]
ENGINE = "this engine"
CVODE = "CVODE, rings in C"
TRAPEZOID = "trapezoidal rule, rings in C"
LSODA = "scipy LSODA, rings in numba"
BDF = "scipy BDF, rings in numba"
METHODS = [ENGINE, CVODE, TRAPEZOID, LSODA, BDF]
#: Colours that the colour-blind tell apart (Okabe and Ito), and marks.
LOOKS = {ENGINE: ("#000000", "o"), CVODE: ("#0072B2", "s"), TRAPEZOID: ("#009E73", "^"), LSODA: ("#D55E00", "v"),
         BDF: ("#CC79A7", "D")}

#: (true error K, microseconds, what was set)
Point = tuple[float, float, str]


def in_c(problem: Problem, program: Path, settings: list[str]) -> list[Point]:
    """Runs rings.c over settings."""
    path = program.parent / f"{problem.name}.txt"
    path.write_text(problem.text())
    done = subprocess.run([program, path], input="\n".join(settings) + "\n", capture_output=True, text=True, check=True)
    points = []
    for setting, line in zip(settings, done.stdout.splitlines(), strict=True):
        time, _, *temperatures = map(float, line.split())
        points.append((problem.error(temperatures), time, setting))
    return [point for point in points if point[0] == point[0]]


def cvode(problem: Problem, program: Path) -> list[Point]:
    tolerances = ["1e-2", "3e-3", "1e-3", "3e-4", "1e-4", "1e-5", "1e-6"]
    return in_c(problem, program, [f"cvode {n} {g} {r}" for n, g, r in itertools.product(SIZES + LARGE, GRADINGS, tolerances)])


def trapezoid(problem: Problem, program: Path) -> list[Point]:
    steps = [15, 25, 40, 70, 120, 200, 400]
    return in_c(problem, program, [f"trapezoid {n} {g} {s}" for n, g, s in itertools.product(SIZES + LARGE, GRADINGS, steps)])


def scipy(problem: Problem, method: str, longest: int) -> list[Point]:
    points = []
    for size, rtol in itertools.product([n for n in SIZES if n <= longest], [1e-2, 1e-3, 1e-4, 1e-5]):
        time, temperatures = Rings(problem, size, 1.0).timed(method, rtol)
        points.append((problem.error(temperatures), time, f"{size} rings, rtol {rtol:g}"))
    return [point for point in points if point[0] == point[0]]


def engine(problem: Problem, program: Path) -> list[Point]:
    accuracies = ["1", "0.3", "0.1", "0.03", "0.01", "0.003", "0.001", "0.0003", "0.0001"]
    command = [program, BENCHMARKS / f"{problem.name}.toml", *accuracies]
    lines = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
    points = []
    for accuracy, line in zip(accuracies, lines, strict=True):
        time, _, *temperatures = map(float, line.split())
        points.append((problem.error(temperatures), time, f"tolerance {accuracy} K"))
    return points


def front(points: list[Point]) -> list[Point]:
    """The points that no other beats in both time and error, from the largest error down."""
    best: list[Point] = []
    for point in sorted(points, key=lambda p: (p[1], p[0])):
        if not best or point[0] < best[-1][0]:
            best.append(point)
    return best


def least(points: list[Point], error: float) -> Point | None:
    """The fastest at or below an error: chosen with hindsight, which a user does not have."""
    return min((point for point in points if point[0] <= error), key=lambda p: p[1], default=None)


def measure(rings: Path, ours: Path) -> dict[str, dict[str, list[Point]]]:
    results = {}
    for name in NAMES:
        problem = load(name)
        print(f"peers: {name}", file=sys.stderr, flush=True)
        results[name] = {
            ENGINE: engine(problem, ours),
            CVODE: cvode(problem, rings),
            TRAPEZOID: trapezoid(problem, rings),
            LSODA: scipy(problem, "LSODA", 160),
            BDF: scipy(problem, "BDF", 80),
        }
        # The engine again: had the machine's speed changed meanwhile, the two would differ.
        again = engine(problem, ours)
        results[name][ENGINE] = [(e, min(t, u), s) for (e, t, s), (_, u, _) in zip(results[name][ENGINE], again)]
    return results


def picture(results: dict[str, dict[str, list[Point]]], path: Path) -> None:
    figure, axes = plt.subplots(2, 2, figsize=(10, 8.2), sharex=True, layout="constrained")
    for axis, name in zip(axes.flat, NAMES):
        for method in METHODS:
            color, mark = LOOKS[method]
            points = front(results[name][method])
            axis.loglog([p[0] for p in points], [p[1] / 1e3 for p in points], color=color, marker=mark, markersize=5,
                        linewidth=1.6, label=method)
        axis.set_title(name, loc="left", fontweight="bold")
        axis.grid(True, which="major", color="#cccccc", linewidth=0.6)
        axis.set_xlim(2, 2e-5)
    for axis in axes[1]:
        axis.set_xlabel("largest true error at the sections' ends, K")
    for axis in axes[:, 0]:
        axis.set_ylabel("ms a solve, one core")
    handles, labels = axes[0, 0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside upper center", ncols=3, frameon=False)
    figure.savefig(path, dpi=150, metadata={"Software": "quenchway validation/peers"})


def table(results: dict[str, dict[str, list[Point]]]) -> str:
    lines = ["| problem | true error at most | " + " | ".join(METHODS) + " |", "|---|---|" + "---|" * len(METHODS)]
    for name, wanted in itertools.product(NAMES, WANTED):
        own = least(results[name][ENGINE], wanted)
        cells = []
        for method in METHODS:
            found = least(results[name][method], wanted)
            if found is None or own is None:
                cells.append("not reached")
            elif method == ENGINE:
                cells.append(f"{found[1] / 1e3:.3f} ms")
            else:
                cells.append(f"{found[1] / own[1]:.1f} times")
        lines.append(f"| {name} | {wanted:g} K | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def honesty(results: dict[str, dict[str, list[Point]]]) -> str:
    """What the engine was asked for beside what it made."""
    lines = ["| asked | " + " | ".join(NAMES) + " |", "|---|" + "---|" * len(NAMES)]
    for index, (_, _, asked) in enumerate(results["P1"][ENGINE]):
        errors = [f"{results[name][ENGINE][index][0]:.1g} K" for name in NAMES]
        lines.append(f"| {asked} | " + " | ".join(errors) + " |")
    return "\n".join(lines)


def processor() -> str:
    try:
        found = re.search(r"model name\s*: (.*)", Path("/proc/cpuinfo").read_text())
    except OSError:
        found = None
    return found.group(1) if found else platform.processor() or "unknown processor"


def sundials() -> str:
    text = subprocess.run(["cc", "-E", "-"], input="#include <sundials/sundials_config.h>\nSUNDIALS_VERSION\n",
                          capture_output=True, text=True).stdout
    return text.strip().splitlines()[-1].strip('"')


def main() -> None:
    rings, ours = (Path(word).resolve() for word in sys.argv[1:3])
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    results = measure(rings, ours)
    picture(results, ROOT / "docs" / "images" / "work-precision.png")
    (ROOT / "docs" / "peers.md").write_text((Path(__file__).parent / "page.md").read_text().format(
        table=table(results), honesty=honesty(results), sundials=sundials(), scipy=version("scipy"),
        numba=version("numba"), processor=processor(),
    ))


if __name__ == "__main__":
    main()
