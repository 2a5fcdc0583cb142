"""The benchmark problems of validation/benchmarks as numbers: what goes into a solve and the converged temperatures."""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from pathlib import Path

BENCHMARKS = Path(__file__).resolve().parents[1] / "benchmarks"
UNITS = {"mm": 1e-3}


def value(text: str) -> float:
    """The number of a value in the units that the benchmark files use: SI, degC, mm."""
    number, unit = text.split(" ", 1)
    return float(number) * UNITS.get(unit, 1.0)


def curve(entry: str | list) -> list[tuple[float, float]]:
    """Temperatures and values of a property; a constant is one point."""
    return [(0.0, value(entry))] if isinstance(entry, str) else [(value(t), value(v)) for t, v in entry]


@dataclass
class Layer:
    outer: float
    start: float
    power: float
    contact: float  # to the layer outside it; 0: perfect
    lumped: bool
    k: list[tuple[float, float]]
    c: list[tuple[float, float]]
    rho: list[tuple[float, float]]


@dataclass
class Section:
    duration: float
    medium: float
    film: float
    emissivity: float


@dataclass
class Problem:
    name: str
    layers: list[Layer]
    sections: list[Section]
    expected: list[float]

    def text(self) -> str:
        """As rings.c reads it."""
        lines = [f"{len(self.layers)} {len(self.sections)}"]
        for layer in self.layers:
            lines.append(f"{layer.outer!r} {layer.start!r} {layer.power!r} {layer.contact!r} {int(layer.lumped)}")
            for points in (layer.k, layer.c, layer.rho):
                lines.append(f"{len(points)} " + " ".join(f"{t!r} {v!r}" for t, v in points))
        lines += [f"{s.duration!r} {s.medium!r} {s.film!r} {s.emissivity!r}" for s in self.sections]
        return "\n".join(lines) + "\n"

    def error(self, temperatures: list[float]) -> float:
        """Largest difference from the converged temperatures at the sections' ends, K."""
        return max(abs(a - b) for a, b in zip(temperatures, self.expected, strict=True))


def load(name: str) -> Problem:
    case = tomllib.loads((BENCHMARKS / f"{name}.toml").read_text())
    expected = json.loads((BENCHMARKS / f"{name}.json").read_text())
    layers = []
    for index, layer in enumerate(case["layer"]):
        material = case["material"][layer["material"]]
        outer = case["layer"][index + 1] if index + 1 < len(case["layer"]) else {}
        contact = outer.get("contact", "perfect")
        layers.append(Layer(
            outer=value(layer["diameter"]) / 2,
            start=value(layer["temperature"]),
            power=1.0 if layer["contraction"] == "held" else 2 / 3,
            contact=0.0 if contact == "perfect" else value(contact),
            lumped=material["kind"] == "metal",
            k=curve(material["conductivity"]), c=curve(material["heat_capacity"]), rho=curve(material["density"]),
        ))
    speed = value(case["line"]["speed"])
    sections = [
        Section(value(s["length"]) / speed, value(s["temperature"]), value(s["film"]), s.get("emissivity", 0.0))
        for s in case["section"]
    ]
    ends = []
    for section in expected["sections"]:
        ends += [section["axis"], section["surface"], section["outer_layer_mean"]]
        ends += [side for joint in section["interfaces"] for side in joint]
    return Problem(name, layers, sections, ends)
