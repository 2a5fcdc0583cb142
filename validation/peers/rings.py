"""The rings of rings.c for scipy's stiff integrators: the right side compiled by numba, so that Python's own slowness is
not what is measured."""

from __future__ import annotations

import time

import numpy as np
from numba import njit
from scipy.integrate import solve_ivp

from problems import Problem

STEFAN_BOLTZMANN, ZERO = 5.670374419e-8, 273.15
POINTS = 16


@njit(cache=True, fastmath=True)
def linear(n, x, v, at):
    if at <= x[0]:
        return v[0]
    for i in range(1, n):
        if at <= x[i]:
            return v[i - 1] + (v[i] - v[i - 1]) * (at - x[i - 1]) / (x[i] - x[i - 1])
    return v[n - 1]


@njit(cache=True, fastmath=True)
def temperature(n, t, c, h, at):
    if at <= h[0]:
        return t[0] + (at - h[0]) / c[0]
    for i in range(1, n):
        if at <= h[i]:
            slope, d = (c[i] - c[i - 1]) / (t[i] - t[i - 1]), at - h[i - 1]
            return t[i - 1] + 2 * d / (c[i - 1] + np.sqrt(c[i - 1] * c[i - 1] + 2 * slope * d))
    return t[n - 1] + (at - h[n - 1]) / c[n - 1]


@njit(cache=True, fastmath=True)
def flows(y, of, area0, rho0, power, contact, lumped, sizes, curves, section, t, k, middle, edge, flow):
    """Fills temperatures, conductivities, radii and outward heat flows per radian; returns the surface temperature."""
    n, s = len(y), 0.0
    edge[0] = 0.0
    for i in range(n):
        m = of[i]
        t[i] = temperature(sizes[m, 1], curves[m, 1, 0], curves[m, 1, 1], curves[m, 3, 1], y[i])
        k[i] = linear(sizes[m, 0], curves[m, 0, 0], curves[m, 0, 1], t[i])
        ratio = rho0[i] / linear(sizes[m, 2], curves[m, 2, 0], curves[m, 2, 1], t[i])
        area = area0[i] * (ratio if power[m] == 1.0 else ratio ** power[m])
        middle[i] = np.sqrt(s + area)
        s += 2 * area
        edge[i + 1] = np.sqrt(s)
    flow[0] = 0.0
    for i in range(n - 1):
        e, m = edge[i + 1], of[i]
        inside = 0.25 / k[i] if lumped[m] else 2 * (e - middle[i]) / (e + middle[i]) / k[i]
        resistance = inside + 2 * (middle[i + 1] - e) / (middle[i + 1] + e) / k[i + 1]
        if of[i + 1] != m and contact[m] > 0.0:
            resistance += 1.0 / (e * contact[m])
        flow[i + 1] = (t[i] - t[i + 1]) / resistance
    radius, medium, film, radiation = edge[n], section[0], section[1], section[2] * STEFAN_BOLTZMANN
    inside = k[n - 1] * (radius + middle[n - 1]) / (2 * (radius - middle[n - 1]))
    surface, cold = t[n - 1], (medium + ZERO) ** 4
    for _ in range(20):
        kelvin = surface + ZERO
        f = inside * (t[n - 1] - surface) - radius * (film * (surface - medium) + radiation * (kelvin**4 - cold))
        change = f / (inside + radius * (film + 4 * radiation * kelvin**3))
        surface += change
        if radiation == 0.0 or abs(change) < 1e-12:
            break
    flow[n] = inside * (t[n - 1] - surface)
    return surface


@njit(cache=True, fastmath=True)
def rates(y, mass, out, of, area0, rho0, power, contact, lumped, sizes, curves, section, t, k, middle, edge, flow):
    flows(y, of, area0, rho0, power, contact, lumped, sizes, curves, section, t, k, middle, edge, flow)
    for i in range(len(y)):
        out[i] = (flow[i] - flow[i + 1]) / mass[i]


class Rings:
    """The rings of a problem; `rings` in each layer that is no metal, the widest `grading` times the one at its surface."""

    def __init__(self, problem: Problem, rings: int, grading: float) -> None:
        self.problem = problem
        count = len(problem.layers)
        self.sizes = np.zeros((count, 3), dtype=np.int64)
        self.curves = np.zeros((count, 4, 2, POINTS))
        of, area, rho0, inner = [], [], [], 0.0
        for index, layer in enumerate(problem.layers):
            for row, points in enumerate((layer.k, layer.c, layer.rho)):
                self.sizes[index, row] = len(points)
                self.curves[index, row, :, : len(points)] = np.array(points).T
            t, c = np.array(layer.c).T
            h = c[0] * t[0] + np.concatenate([[0.0], np.cumsum(0.5 * (c[1:] + c[:-1]) * np.diff(t))])
            self.curves[index, 3, 1, : len(h)] = h
            number = 1 if layer.lumped else rings
            widths = np.ones(1) if number == 1 else grading ** (-np.arange(number) / (number - 1))
            edges = inner + np.concatenate([[0.0], np.cumsum(widths)]) * (layer.outer - inner) / widths.sum()
            of += [index] * number
            area += list(np.diff(edges**2) / 2)
            rho0 += [np.interp(layer.start, *np.array(layer.rho).T)] * number
            inner = layer.outer
        self.of, self.area, self.rho0 = np.array(of), np.array(area), np.array(rho0)
        self.mass = self.rho0 * self.area
        n = len(of)
        self.power = np.array([layer.power for layer in problem.layers])
        self.contact = np.array([layer.contact for layer in problem.layers])
        self.lumped = np.array([layer.lumped for layer in problem.layers])
        self.t, self.k, self.middle, self.edge, self.flow = (np.zeros(size) for size in (n, n, n, n + 1, n + 1))
        self.start = np.array([self.enthalpy(index, problem.layers[index].start) for index in of])
        self.band = np.abs(np.subtract.outer(np.arange(n), np.arange(n))) <= 1

    def enthalpy(self, index: int, at: float) -> float:
        """Above 0 degC; the heat capacity is linear between points and constant outside."""
        t, c = np.array(self.problem.layers[index].c).T
        h = self.curves[index, 3, 1, : len(t)]
        if at <= t[0]:
            return h[0] + c[0] * (at - t[0])
        if at >= t[-1]:
            return h[-1] + c[-1] * (at - t[-1])
        i = int(np.searchsorted(t, at))
        return h[i - 1] + 0.5 * (c[i - 1] + np.interp(at, t, c)) * (at - t[i - 1])

    def arguments(self, section: np.ndarray) -> tuple:
        return (self.of, self.area, self.rho0, self.power, self.contact, self.lumped, self.sizes, self.curves, section,
                self.t, self.k, self.middle, self.edge, self.flow)

    def solve(self, method: str, rtol: float) -> list[float]:
        """Axis, surface, outer mean and both sides of each joint at the end of every section."""
        state, answer = self.start.copy(), []
        options = {"lband": 1, "uband": 1} if method == "LSODA" else {"jac_sparsity": self.band}
        for section in self.problem.sections:
            arguments = self.arguments(np.array([section.medium, section.film, section.emissivity]))

            def right_side(_, y, arguments=arguments):
                out = np.empty(len(y))
                rates(y, self.mass, out, *arguments)
                return out

            found = solve_ivp(right_side, (0.0, section.duration), state, method=method, rtol=rtol, atol=rtol * 1e3,
                              t_eval=[section.duration], **options)
            if not found.success:
                return [np.inf] * len(self.problem.expected)
            state = found.y[:, -1]
            answer += self.report(state, arguments)
        return answer

    def report(self, state: np.ndarray, arguments: tuple) -> list[float]:
        surface = flows(state, *arguments)
        t, k, middle, edge, flow = self.t, self.k, self.middle, self.edge, self.flow
        if self.lumped[0]:
            axis = t[0] + 0.25 * flow[1] / k[0]
        else:
            a, b = middle[0] ** 2, middle[1] ** 2
            axis = t[0] - (t[1] - t[0]) * a / (b - a)
        outer = self.of == self.of[-1]
        values = [axis, surface, float(np.average(t[outer], weights=self.mass[outer]))]
        for o in np.flatnonzero(np.diff(self.of)) + 1:
            i, e = o - 1, edge[o]
            inside = 0.25 / k[i] if self.lumped[self.of[i]] else 2 * (e - middle[i]) / (e + middle[i]) / k[i]
            values += [t[i] - flow[o] * inside, t[o] + flow[o] * 2 * (middle[o] - e) / (middle[o] + e) / k[o]]
        return values

    def timed(self, method: str, rtol: float) -> tuple[float, list[float]]:
        """Microseconds of a solve, the least of several, and the temperatures."""
        answer, least, began, turns = self.solve(method, rtol), np.inf, time.process_time(), 0
        while turns < 3 or (turns < 50 and time.process_time() - began < 0.05):
            start = time.process_time()
            self.solve(method, rtol)
            least, turns = min(least, time.process_time() - start), turns + 1
        return least * 1e6, answer
