"""Figures that the Rust tests compare the engine with, computed anew with the libraries that they came from.

The tables are those of validation/reference: the Rust tests hold the engine against them, these hold them against the library.
"""

import csv
import pathlib

import pint
import pytest

TABLES = pathlib.Path(__file__).parents[2] / "validation" / "reference"


def rows(name):
    """The rows of a table, each a dictionary."""
    lines = [line for line in (TABLES / name).read_text().splitlines() if not line.startswith("#")]
    found = list(csv.DictReader(lines))
    assert found, f"{name} is empty"
    return found


def compare(row, computed):
    """Eight digits are stored; the expansion, a derivative, is a difference in iapws and stored to fewer."""
    wanted = [float(row[key]) for key in ("kg/m3", "J/(kg K)", "Pa s", "W/(m K)")]
    assert computed[:4] == pytest.approx(wanted, rel=1e-7)
    assert computed[4] == pytest.approx(float(row["1/K"]), abs=1e-10)


def test_water_by_iapws():
    from iapws import IAPWS95

    for row in rows("water.csv"):
        water = IAPWS95(T=float(row["degC"]) + 273.15, P=0.101325)
        compare(row, [water.rho, 1e3 * water.cp, water.mu, water.k, water.alfav])


def test_water_by_coolprop():
    """A second implementation of the same formulation: an error of one library would show."""
    from CoolProp.CoolProp import PropsSI

    for row in rows("water.csv"):
        state = ("T", float(row["degC"]) + 273.15, "P", 101325.0, "Water")
        names = ("D", "C", "V", "L", "ISOBARIC_EXPANSION_COEFFICIENT")
        compare(row, [PropsSI(name, *state) for name in names])


def test_air_by_coolprop():
    from CoolProp.CoolProp import PropsSI

    for row in rows("air.csv"):
        state = ("T", float(row["degC"]) + 273.15, "P", 101325.0, "Air")
        names = ("D", "C", "V", "L", "ISOBARIC_EXPANSION_COEFFICIENT")
        compare(row, [PropsSI(name, *state) for name in names])


def test_nusselt_numbers_by_ht():
    from ht.conv_external import Nu_cylinder_Churchill_Bernstein
    from ht.conv_free_immersed import Nu_horizontal_cylinder_Churchill_Chu

    for row in rows("nusselt.csv"):
        re, ra, pr, nu = (float(row[key]) for key in ("Re", "Ra", "Pr", "Nu"))
        if "bernstein" in row["correlation"]:
            computed = Nu_cylinder_Churchill_Bernstein(re, pr)
        else:
            computed = Nu_horizontal_cylinder_Churchill_Chu(pr, ra / pr)
        assert computed == pytest.approx(nu, rel=1e-9), row


def test_units_by_pint():
    registry = pint.UnitRegistry()
    base = {"Temperature": "K", "TemperatureDifference": "delta_degC", "Length": "m", "Diameter": "m", "Area": "m**2"}
    base |= {"Speed": "m/s", "MassFlow": "kg/s", "VolumeFlow": "m**3/s", "Power": "W", "Density": "kg/m**3"}
    base |= {"FilmCoefficient": "W/m**2/delta_degC", "Conductivity": "W/m/delta_degC", "HeatCapacity": "J/kg/delta_degC"}
    for row in rows("units.csv"):
        computed = registry.Quantity(row["pint"]).to(base[row["dimension"]]).magnitude
        # Seven digits are printed; half a unit of the last, at most 5e-7 of a figure.
        assert computed == pytest.approx(float(row["SI"]), rel=5e-7), row["text"]


def test_sobol_points_by_scipy():
    from scipy.stats.qmc import Sobol

    table = rows("sobol.csv")
    last = max(int(row["index"]) for row in table)
    points = Sobol(256, scramble=False, bits=52).random_base2(last.bit_length())
    for row in table:
        assert points[int(row["index"]), int(row["dimension"])] == float(row["coordinate"])
