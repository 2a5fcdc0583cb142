"""Work against true error of the engine and its peers on P1 to P4: writes docs/peers.md and docs/images/work-precision.png.

Run by `make peers`, which builds the programs and sets up Python. All times of one run of this program on one core; the
error of each is against the converged temperatures of validation/benchmarks at the ends of all sections.
"""

from __future__ import annotations

import hashlib
import itertools
import os
import platform
import re
import subprocess
import sys
from datetime import date
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
#: Ring counts; twice as many stand in the list, too, for most of them.
SIZES = [6, 8, 10, 12, 14, 16, 17, 20, 24, 28, 34, 40, 48, 56, 68, 80, 112, 160]
#: How many times narrower rings are at the inner and at the outer face of a layer.
INNER = [1, 3, 10]
OUTER = [1, 2, 5, 10, 30]
#: Of the fastest settings of the scan so many are timed again, by turns with the engine.
FINALISTS = 6
ENGINE = "this engine"
CVODE = "CVODE, rings in C"
TRAPEZOID = "trapezoidal rule, rings in C"
LSODA = "scipy LSODA, rings in numba"
BDF = "scipy BDF, rings in numba"
METHODS = [ENGINE, CVODE, TRAPEZOID, LSODA, BDF]
#: Colours that the colour-blind tell apart (Okabe and Ito), and marks.
LOOKS = {ENGINE: ("#000000", "o"), CVODE: ("#0072B2", "s"), TRAPEZOID: ("#009E73", "^"), LSODA: ("#D55E00", "v"),
         BDF: ("#CC79A7", "D")}

#: What the figures of the peers come from, and how those of the engine are taken.
SOURCES = ["solver/examples/work_precision.rs", "validation/peers/problems.py", "validation/peers/requirements.txt",
           "validation/peers/rings.c", "validation/peers/rings.py", "validation/peers/run.py"]

#: (true error K, microseconds, what was set)
Point = tuple[float, float, str]


class InC:
    """The rings in C on a problem; times of a setting are the least of all that were taken."""

    def __init__(self, problem: Problem, program: Path) -> None:
        self.problem, self.program = problem, program
        self.path = program.parent / f"{problem.name}.txt"
        self.path.write_text(problem.text())
        self.found: dict[str, tuple[float, list[float]]] = {}

    def time(self, settings: list[str], seconds: float) -> None:
        done = subprocess.run([self.program, self.path, str(seconds)], input="\n".join(settings) + "\n",
                              capture_output=True, text=True, check=True)
        for setting, line in zip(settings, done.stdout.splitlines(), strict=True):
            time, _, *temperatures = map(float, line.split())
            before = self.found.get(setting, (time, []))[0]
            if len(temperatures) == len(self.problem.expected):
                self.found[setting] = (min(time, before), temperatures)

    def points(self, method: str) -> list[Point]:
        """Every setting alone; and with the one of twice its rings (and steps), both extrapolated to rings of no width."""
        points = []
        for setting, (time, values) in self.found.items():
            if not setting.startswith(method):
                continue
            points.append((self.problem.error(values), time, setting))
            finer = twice(setting)
            if finer in self.found:
                more, better = self.found[finer]
                limit = [(4 * b - a) / 3 for a, b in zip(values, better)]
                points.append((self.problem.error(limit), time + more, f"{setting} + {finer}"))
        return [point for point in points if point[0] == point[0]]


def twice(setting: str) -> str:
    """The setting with twice the rings, and twice the steps where they are fixed."""
    words = setting.split()
    words[1] = str(2 * int(words[1]))
    if words[0] == "trapezoid":
        words[5] = str(2 * int(words[5]))
    return " ".join(words)


def scan(problem: Problem) -> list[str]:
    """Settings of the rings in C: method, rings, share of the other layers, inner and outer grading, tolerance or steps."""
    tolerances = ["1e-2", "3e-3", "1e-3", "3e-4", "1e-4", "3e-5", "1e-5"]
    steps = [10, 15, 20, 30, 40, 60, 80, 120, 160, 240, 320]
    methods = [("cvode", OUTER, tolerances), ("cvode-own", OUTER, tolerances), ("trapezoid", OUTER[::2], steps)]
    # A second layer of rings can do with fewer.
    shares = [0.5, 1] if sum(not layer.lumped for layer in problem.layers) > 1 else [1]
    return [f"{method} {n} {share} {inner} {outer} {last}" for method, outers, lasts in methods
            for n, share, inner, outer, last in itertools.product(SIZES, shares, INNER, outers, lasts)]


def scipy(problem: Problem, method: str, longest: int) -> list[Point]:
    points = []
    for size, rtol in itertools.product([n for n in SIZES if n <= longest], [1e-2, 1e-3, 1e-4, 1e-5]):
        time, temperatures = Rings(problem, size, 1.0).timed(method, rtol)
        points.append((problem.error(temperatures), time, f"{size} rings, rtol {rtol:g}"))
    return [point for point in points if point[0] == point[0]]


def engine(problem: Problem, program: Path, steps: dict[str, list[int]]) -> list[Point]:
    """Points of the engine; how many steps each took goes into `steps`, which no machine changes."""
    accuracies = ["1", "0.3", "0.1", "0.03", "0.01", "0.003", "0.001", "0.0003", "0.0001"]
    command = [program, BENCHMARKS / f"{problem.name}.toml", *accuracies]
    lines = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
    points = []
    steps[problem.name] = [int(line.split()[1]) for line in lines]
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


def words_of(setting: str) -> str:
    """A setting of the rings in C as the page says it."""
    first, *second = setting.split(" + ")
    method, rings, share, inner, outer, last = first.split()
    own = {"cvode-own": ", own Jacobian", "cvode": ", Jacobian by differences"}.get(method, "")
    count = f"{rings} and {2 * int(rings)} rings, extrapolated" if second else f"{rings} rings"
    fewer = f", {share} of that inside" if share != "1" else ""
    kind = "steps a section" if method == "trapezoid" else "relative tolerance"
    return f"{count}{fewer}, graded {inner} and {outer}{own}, {kind} {last}"


def measure(rings: Path, ours: Path, steps: dict[str, list[int]]) -> dict[str, dict[str, list[Point]]]:
    results = {}
    for name in NAMES:
        problem = load(name)
        print(f"peers: {name}", file=sys.stderr, flush=True)
        in_c = InC(problem, rings)
        in_c.time(scan(problem), 0.0)
        own = engine(problem, ours, steps)
        # Those that decide are timed again, longer and by turns: had the machine's speed changed meanwhile, all would see it.
        for _ in range(4):
            for method, wanted in itertools.product(["cvode", "trapezoid"], WANTED):
                fastest = sorted((p for p in in_c.points(method) if p[0] <= wanted), key=lambda p: p[1])[:FINALISTS]
                in_c.time(sorted({part for point in fastest for part in point[2].split(" + ")}), 0.02)
            own = [(e, min(t, u), s) for (e, t, s), (_, u, _) in zip(own, engine(problem, ours, steps))]
        results[name] = {
            ENGINE: own,
            CVODE: in_c.points("cvode"),
            TRAPEZOID: in_c.points("trapezoid"),
            LSODA: scipy(problem, "LSODA", 160),
            BDF: scipy(problem, "BDF", 80),
        }
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


def asked(points: list[Point], tolerance: float) -> Point:
    """The engine at a tolerance, whatever came of it."""
    return next(point for point in points if point[2] == f"tolerance {tolerance:g} K")


def table(results: dict[str, dict[str, list[Point]]]) -> str:
    """The engine as asked and with hindsight, the strongest peer with its ratio to both."""
    lines = ["| problem | true error at most | engine, asked for it | engine, with hindsight | CVODE, with hindsight | "
             "CVODE over engine as asked | CVODE over engine with hindsight |", "|---|---|---|---|---|---|---|"]
    for name, wanted in itertools.product(NAMES, WANTED):
        points = results[name][ENGINE]
        own, best, peer = asked(points, wanted), least(points, wanted), least(results[name][CVODE], wanted)
        missed = "" if own[0] <= wanted else f" (made {own[0]:.1g} K)"
        cells = [f"{own[1] / 1e3:.4f} ms{missed}", f"{best[1] / 1e3:.4f} ms" if best else "not reached"]
        if peer is None or best is None:
            cells += ["not reached", "-", "-"]
        else:
            cells += [f"{peer[1] / 1e3:.4f} ms", f"{peer[1] / own[1]:.1f}", f"{peer[1] / best[1]:.1f}"]
        lines.append(f"| {name} | {wanted:g} K | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def strongest(results: dict[str, dict[str, list[Point]]]) -> str:
    """What was set in the fastest runs of CVODE."""
    lines = ["| problem | true error at most | CVODE's fastest setting | the best without extrapolation |", "|---|---|---|---|"]
    for name, wanted in itertools.product(NAMES, WANTED):
        points = results[name][CVODE]
        best, alone = least(points, wanted), least([p for p in points if " + " not in p[2]], wanted)
        cells = [words_of(best[2]) if best else "not reached",
                 f"{alone[1] / 1e3:.4f} ms: {words_of(alone[2])}" if alone else "not reached"]
        lines.append(f"| {name} | {wanted:g} K | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def others(results: dict[str, dict[str, list[Point]]]) -> str:
    """What the other peers take, and how many times longer than the engine with hindsight that is."""
    names = [TRAPEZOID, LSODA, BDF]
    lines = ["| problem | true error at most | " + " | ".join(names) + " |", "|---|---|" + "---|" * len(names)]
    for name, wanted in itertools.product(NAMES, WANTED):
        own = least(results[name][ENGINE], wanted)
        found = [least(results[name][method], wanted) for method in names]
        cells = [f"{p[1] / 1e3:.4f} ms, {p[1] / own[1]:.1f} times" if p and own else "not reached" for p in found]
        lines.append(f"| {name} | {wanted:g} K | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def range_at(results: dict[str, dict[str, list[Point]]], wanted: float, hindsight: bool) -> str:
    """"1.2 to 4.5": CVODE's time over the engine's, all problems."""
    ratios = []
    for name in NAMES:
        points = results[name][ENGINE]
        own = least(points, wanted) if hindsight else asked(points, wanted)
        peer = least(results[name][CVODE], wanted)
        if own and peer:
            ratios.append(peer[1] / own[1])
    return f"{min(ratios):.1f} to {max(ratios):.1f}"


def honesty(results: dict[str, dict[str, list[Point]]], steps: dict[str, list[int]]) -> str:
    """What the engine was asked for beside what it made."""
    lines = ["| asked | " + " | ".join(NAMES) + " |", "|---|" + "---|" * len(NAMES)]
    for index, (_, _, asked) in enumerate(results["P1"][ENGINE]):
        errors = [f"{results[name][ENGINE][index][0]:.1g} K in {steps[name][index]} steps" for name in NAMES]
        lines.append(f"| {asked} | " + " | ".join(errors) + " |")
    return "\n".join(lines)


def processor() -> str:
    try:
        found = re.search(r"model name\s*: (.*)", Path("/proc/cpuinfo").read_text())
    except OSError:
        found = None
    return found.group(1) if found else platform.processor() or "unknown processor"


def commit() -> str:
    """The commit of the engine, and whether its sources were changed since."""
    def git(*words: str) -> str:
        return subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=True).stdout.strip()
    changed = " with changes" if git("status", "--porcelain", "--", "solver") else ""
    return f"commit {git('rev-parse', '--short=12', 'HEAD')}{changed}"


def sources() -> str:
    """The first digits of a hash of all that the peers' figures come from."""
    total = hashlib.sha256()
    for name in SOURCES:
        text = (ROOT / name).read_bytes()
        total.update(f"{name} {len(text)}\n".encode() + text)
    return total.hexdigest()[:12]


def sundials() -> str:
    header = (ROOT / ".tools" / "sundials" / "include" / "sundials" / "sundials_config.h").read_text()
    return re.search(r'SUNDIALS_VERSION "(.*)"', header).group(1)


def main() -> None:
    rings, ours = (Path(word).resolve() for word in sys.argv[1:3])
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    steps: dict[str, list[int]] = {}
    results = measure(rings, ours, steps)
    picture(results, ROOT / "docs" / "images" / "work-precision.png")
    (ROOT / "docs" / "peers.md").write_text((Path(__file__).parent / "page.md").read_text().format(
        table=table(results), strongest=strongest(results), others=others(results), honesty=honesty(results, steps),
        asked=range_at(results, 0.01, False), hindsight=range_at(results, 0.01, True), settings=len(scan(load("P1"))),
        sundials=sundials(), scipy=version("scipy"), numba=version("numba"), processor=processor(),
        engine=commit(), sources=sources(), date=date.today().isoformat(),
    ))


if __name__ == "__main__":
    main()
