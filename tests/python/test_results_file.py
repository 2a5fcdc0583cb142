"""The results file as its readers see it: h5py, xarray and netCDF4, without options and without warnings.

QUENCHWAY_H5 names the files, separated as in PATH; `make test-python` gives the demo's and two that the Rust tests write.
"""

import hashlib
import json
import os
import re
import tomllib
from pathlib import Path

import h5py
import netCDF4
import numpy as np
import pytest
import xarray as xr

PROJECT = Path(__file__).resolve().parents[2]
FILES = [Path(name) for name in os.environ.get("QUENCHWAY_H5", "").split(os.pathsep) if name]
GROUPS = ["stations", "sections", "band"]

# Every number of a run, its dimensions and its units.
ROOT = {
    "distance": ("distance", "m"),
    "time": ("distance", "s"),
    "node": ("node", "1"),
    "radius": ("distance node", "m"),
    "node_mass": ("node", "kg m-1"),
    "layer_of_node": ("node", "1"),
    "temperature": ("distance node", "degC"),
    "enthalpy": ("distance node", "J kg-1"),
    "surface_temperature": ("distance", "degC"),
    "core_temperature": ("distance", "degC"),
    "mean_temperature": ("distance", "degC"),
    "hottest_plastic_temperature": ("distance", "degC"),
    "interface_temperature_inner": ("distance interface", "degC"),
    "interface_temperature_outer": ("distance interface", "degC"),
    "diameter": ("distance", "m"),
    "medium_temperature": ("distance", "degC"),
    "film_coefficient": ("distance", "W m-2 K-1"),
    "heat_flux": ("distance", "W m-2"),
    "heat_per_length": ("distance", "J m-1"),
    "section_of_point": ("distance", "1"),
    "throughput": ("layer", "kg h-1"),
    "set_through_distance": ("layer", "m"),
    "skin_set_distance": ("layer", "m"),
    "melt_shrink": ("layer", "percent"),
    "surface_set_rate": ("layer", "K s-1"),
    "surface_set_rate_resolved": ("layer", "K s-1"),
    "surface_set_section": ("layer", "1"),
    "mid_wall_set_rate": ("layer", "K s-1"),
    "equalised_temperature": ("", "degC"),
    "rebound": ("", "K"),
    "finished_diameter": ("", "m"),
    "shrink_to_finished": ("", "percent"),
}
POINT = {
    "surface_temperature": "degC",
    "core_temperature": "degC",
    "mean_temperature": "degC",
    "hottest_plastic_temperature": "degC",
    "equalised_temperature": "degC",
    "diameter": "m",
}
STATIONS = POINT | {"distance": "m", "time": "s", "core_max": "degC", "core_margin": "K", "surface_max": "degC"}
SECTIONS = POINT | {"start": "m", "end": "m", "heat": "W", "water_out_temperature": "degC", "biot_number": "1"}


def test_there_is_a_file_to_read():
    assert FILES, "QUENCHWAY_H5 names no file: run `make test-python`"


@pytest.fixture(params=FILES, ids=lambda path: path.name)
def path(request):
    return request.param


@pytest.fixture
def run(path):
    with xr.open_dataset(path, engine="h5netcdf") as dataset:
        yield dataset.load()


def group(path, name):
    with xr.open_dataset(path, engine="h5netcdf", group=name) as dataset:
        return dataset.load()


@pytest.mark.filterwarnings("error")
def test_xarray_labels_every_variable(path, run):
    for name, (dims, units) in ROOT.items():
        assert " ".join(run[name].dims) == dims, name
        assert run[name].attrs["units"] == units, name
        assert run[name].attrs["long_name"], name
        assert run[name].dtype.kind in "fi", name  # not a date, not text
    assert {"distance", "node"} <= set(run.indexes)
    assert {"time", "radius"} <= set(run.coords)
    assert run.layer_name.sizes["layer"] == run.layer_of_node.max() + 1
    assert run.section_name.sizes["section"] == run.section_of_point.max() + 1
    for name, columns in [("stations", STATIONS), ("sections", SECTIONS)]:
        table = group(path, name)
        for column, units in columns.items():
            assert table[column].attrs["units"] == units, f"{name}/{column}"
            assert table[column].dtype == "f8", f"{name}/{column}"
    assert set(xr.open_datatree(path, engine="h5netcdf").children) == set(GROUPS)


@pytest.mark.filterwarnings("error")
def test_h5py_sees_scales_on_every_dimension(path):
    def check(name, item):
        if not isinstance(item, h5py.Dataset) or item.is_scale:
            return
        assert "long_name" in item.attrs, name
        assert h5py.check_string_dtype(item.dtype) or "units" in item.attrs, name
        for axis, dimension in enumerate(item.dims):
            (scale,) = dimension.values()
            assert scale.shape == (item.shape[axis],), name
            users = [item.file[user].name for user, at in scale.attrs["REFERENCE_LIST"] if at == axis]
            assert item.name in users, name

    with h5py.File(path) as file:
        file.visititems(check)
        assert file["temperature"].dims[0][0] == file["distance"]
        assert file["temperature"].compression == "gzip" and file["temperature"].shuffle


@pytest.mark.filterwarnings("error")
def test_netcdf4_lists_the_same(path, run):
    with netCDF4.Dataset(path) as file:
        assert file["temperature"].dimensions == ("distance", "node")
        assert file["temperature"].units == "degC"
        assert {name: len(dimension) for name, dimension in file.dimensions.items()} == dict(run.sizes)
        assert np.array_equal(file["temperature"][:], run.temperature)
        assert list(file["layer_name"][:]) == list(run.layer_name.values)
        assert set(file.groups) == set(GROUPS)
        margins = file["stations/core_margin"][:].filled(np.nan)
        assert np.array_equal(margins, group(path, "stations").core_margin, equal_nan=True)


def test_the_energy_balance_closes_from_the_file_alone(run):
    content = (run.node_mass * run.enthalpy).sum("node")
    open_by = (content - content[0] + run.heat_per_length) / content[0]
    # Sums of some hundred nodes in double precision: rounding alone leaves about 1e-14.
    assert abs(open_by).max() < 1e-12
    assert run.heat_per_length[0] == 0 and run.heat_per_length[-1] > 0


def test_radii_grow_outward_and_meet_at_joints(run):
    step = run.radius.diff("node", label="lower").values
    joint = run.layer_of_node.diff("node").values == 1
    assert (step[:, ~joint] > 0).all()
    assert (abs(step[:, joint]) <= 1e-15).all()  # m: both nodes of a joint have one radius, up to rounding
    assert (run.node_mass > 0).all()


def test_profiles_agree_with_the_fields(run):
    assert run.sizes["distance"] >= 200
    assert run.distance[0] == 0 and (run.distance.diff("distance") > 0).all() and (run.time.diff("distance") > 0).all()
    assert np.array_equal(run.surface_temperature, run.temperature[:, -1])
    assert np.array_equal(run.core_temperature, run.temperature[:, 0])


def test_stations_and_section_ends_are_output_points(path, run):
    stations, sections = group(path, "stations"), group(path, "sections")
    assert list(sections.section_name.values) == list(run.section_name.values)
    for name, table, at in [("stations", stations, stations.distance), ("sections", sections, sections.end)]:
        assert np.isin(at, run.distance).all(), name
        there = run.sel(distance=at)
        for column in ["surface_temperature", "core_temperature", "diameter"]:
            assert np.array_equal(table[column], there[column]), f"{name}/{column}"
    assert sections.start[0] == 0 and np.array_equal(sections.start[1:], sections.end[:-1])
    assert sections.end[-1] == run.distance[-1]
    # A section's end belongs to it.
    assert list(run.section_of_point.sel(distance=sections.end).values) == list(range(sections.sizes["section"]))
    margin, value, limit = stations.core_margin, stations.core_temperature, stations.core_max
    assert np.array_equal(margin, limit - value, equal_nan=True)
    assert (np.isnan(sections.water_in_temperature) | (sections.medium == "water")).all()


def test_the_range_is_the_root_sum_of_squares_of_its_changes(path):
    if path.name != "house-wire.h5":
        pytest.skip("made-up numbers")
    band, stations = group(path, "band"), group(path, "stations")
    ends = np.stack([band.change_at_low_end, band.change_at_high_end])
    for row in range(band.sizes["band"]):
        station = list(stations.station_name.values).index(band.station_name.values[row])
        value = float(stations[f"{band.quantity.values[row]}_temperature"][station])
        up, down = np.maximum(ends[:, row].max(0), 0), np.minimum(ends[:, row].min(0), 0)
        # The same sums in another order: rounding only.
        assert abs(band.high[row] - value - np.sqrt((up**2).sum())) < 1e-9
        assert abs(value - band.low[row] - np.sqrt((down**2).sum())) < 1e-9
    assert set(band.varied.values) <= {"kelvin", "factor", "conductance", "lean"}
    with xr.open_dataset(path, engine="h5netcdf") as line:
        assert (line.core_temperature_low <= line.core_temperature).all()
        assert (line.core_temperature <= line.core_temperature_high).all()
        assert line.surface_temperature_high.attrs["units"] == "degC"


def test_the_file_says_where_it_comes_from(run):
    about = run.attrs
    assert about["source"].startswith("quenchway ")
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ quenchway \S+ run", about["history"])
    assert about["Conventions"] == "CF-1.10"
    for text, digest in [("case_toml", "case_sha256"), ("resolved_case", "resolved_case_sha256")]:
        assert hashlib.sha256(about[text].encode()).hexdigest() == about[digest], text
        assert tomllib.loads(about[text])["line"]["speed"], text
    assert tomllib.loads(about["case_toml"])["title"] == about["title"]
    assert about["cautions"].splitlines()
    for warning in json.loads(about["warnings"]):
        assert set(warning) == {"kind", "message", "where"}
    assert 0 < about["error_K"] and 0 < about["tolerance_K"]
    assert abs(about["balance_relative_error"]) < 1e-9
