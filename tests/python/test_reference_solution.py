"""The house wire with given films beside an independent solution with scipy's stiff integrators.

Written from the equations of docs/theory.md alone: cell-centred finite volumes of fixed mass, second order, enthalpy as
the state, radii rebuilt from the cell areas, BDF in time, Richardson extrapolation over two meshes.
"""

import json
import os
import subprocess
import tomllib

import numpy as np
import pytest
from scipy.integrate import solve_ivp

CASE = "cases/house-wire-given-films.toml"
BINARY = os.environ.get("QUENCHWAY_BIN", "target/release/quenchway")


def value(text):
    """The number of a value of the case file in the units that the case uses: SI, mm, m/min."""
    number, unit = text.split(" ", 1)
    return float(number) * {"mm": 1e-3, "m/min": 1 / 60}.get(unit, 1.0)


def curve(entry):
    """Temperatures and values of a property."""
    if isinstance(entry, str):
        return np.array([0.0, 1.0]), np.full(2, value(entry))
    return np.array([value(t) for t, _ in entry]), np.array([value(v) for _, v in entry])


class Wire:
    """A metal core of one temperature and a coating of `cells` cells of equal thickness at the die."""

    def __init__(self, case, cells):
        core, coating = case["layer"]
        metal, plastic = (case["material"][layer["material"]] for layer in (core, coating))
        self.speed = value(case["line"]["speed"])
        self.r0 = value(core["diameter"]) / 2
        outer = value(coating["diameter"]) / 2
        self.start_core, self.start = value(core["temperature"]), value(coating["temperature"])
        self.k, self.rho = curve(plastic["conductivity"]), curve(plastic["density"])
        t = np.linspace(-20.0, 220.0, 48001)
        c = np.interp(t, *curve(plastic["heat_capacity"]))
        self.table = np.concatenate([[0.0], np.cumsum(0.5 * (c[1:] + c[:-1]) * np.diff(t))]), t
        edges = np.linspace(self.r0, outer, cells + 1)
        # Per radian: area/2 of each cell at the die, and its mass.
        self.mass = np.interp(self.start, *self.rho) * np.diff(edges**2) / 2
        self.core_capacity = curve(metal["density"])[1][0] * curve(metal["heat_capacity"])[1][0] * self.r0**2 / 2
        self.core_k = curve(metal["conductivity"])[1][0]

    def temperatures(self, enthalpy):
        return np.interp(enthalpy, *self.table)

    def radii(self, t):
        """Edges and mass middles of the cells: s = r^2 grows by 2 m/rho."""
        ds = 2 * self.mass / np.interp(t, *self.rho)
        edges = self.r0**2 + np.concatenate([[0.0], np.cumsum(ds)])
        return np.sqrt(edges), np.sqrt(edges[:-1] + 0.5 * ds)

    def surface(self, t, edges, middles, film, medium):
        """Surface temperature from the flux through the outer half cell."""
        inside = np.interp(t[-1], *self.k) / np.log(edges[-1] / middles[-1])
        outside = edges[-1] * film
        return (inside * t[-1] + outside * medium) / (inside + outside), inside

    def from_core(self, core, t, edges, middles):
        """Heat flow from the core's mean to the innermost cell: 4 k inside the core, a half cell outside."""
        return (core - t[0]) / (1 / (4 * self.core_k) + np.log(middles[0] / edges[0]) / np.interp(t[0], *self.k))

    def rates(self, state, film, medium):
        core, t = state[0], self.temperatures(state[1:])
        edges, middles = self.radii(t)
        k = np.interp(t, *self.k)
        flow = np.empty(len(t) + 1)
        # Between middles: two half cells in series.
        resistance = np.log(edges[1:-1] / middles[:-1]) / k[:-1] + np.log(middles[1:] / edges[1:-1]) / k[1:]
        flow[1:-1] = (t[:-1] - t[1:]) / resistance
        flow[0] = self.from_core(core, t, edges, middles)
        surface, inside = self.surface(t, edges, middles, film, medium)
        flow[-1] = inside * (t[-1] - surface)
        return np.concatenate([[-flow[0] / self.core_capacity], (flow[:-1] - flow[1:]) / self.mass])

    def march(self, sections):
        """Axis, surface and diameter at the line's end."""
        n = len(self.mass)
        state = np.concatenate([[self.start_core], np.full(n, np.interp(self.start, self.table[1], self.table[0]))])
        band = np.abs(np.subtract.outer(np.arange(n + 1), np.arange(n + 1))) <= 1
        for section in sections:
            film, medium = value(section["film"]), value(section["temperature"])
            duration = value(section["length"]) / self.speed
            scale = np.concatenate([[1.0], np.full(n, 1000.0)])
            found = solve_ivp(
                lambda _, y, film=film, medium=medium: self.rates(y, film, medium),
                (0.0, duration),
                state,
                method="BDF",
                rtol=1e-9,
                atol=1e-6 * scale,
                jac_sparsity=band,
            )
            assert found.success
            state = found.y[:, -1]
        t = self.temperatures(state[1:])
        edges, middles = self.radii(t)
        # The axis lies above the core's mean as far as its face lies below: a parabola.
        axis = state[0] + self.from_core(state[0], t, edges, middles) / (4 * self.core_k)
        return np.array([axis, self.surface(t, edges, middles, film, medium)[0], 2 * edges[-1]])


@pytest.fixture(scope="module")
def both():
    with open(CASE, "rb") as file:
        case = tomllib.load(file)
    coarse, fine = (Wire(case, cells).march(case["section"]) for cells in (60, 120))
    answer = json.loads(subprocess.run([BINARY, "run", CASE, "--json"], capture_output=True, check=True, text=True).stdout)
    return fine + (fine - coarse) / 3, np.abs(fine - coarse), answer


def test_core_and_surface_agree_with_scipy(both):
    (core, surface, _), spread, answer = both
    capstan = answer["stations"][-1]
    # Richardson leaves a part of the two meshes' difference; a tenth of it and the stated error of the march.
    for name, reference, gap in (("core_degC", core, spread[0]), ("surface_degC", surface, spread[1])):
        allowed = 0.1 * gap + answer["numerics"]["error_K"] + 1e-3
        assert abs(capstan[name] - reference) <= allowed, (name, capstan[name], reference, gap)


def test_diameter_agrees_with_scipy(both):
    (_, _, diameter), _, answer = both
    # A density that changes by 1e-3 of itself per kelvin and the temperatures' agreement of some millikelvin.
    assert abs(answer["stations"][-1]["diameter_m"] / diameter - 1) < 1e-5
