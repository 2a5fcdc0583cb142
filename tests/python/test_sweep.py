"""A sweep's results as users read them: labelled axes, units, failed samples, in xarray, netCDF4 and h5py."""

import os
import subprocess
import warnings
from pathlib import Path

import netCDF4
import numpy as np
import pytest
import xarray as xr

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("QUENCHWAY_BIN")
STUDY = PROJECT / "cases/studies/speed-and-length.toml"

REFUSED = f"""
case = "{PROJECT}/cases/house-wire.toml"
outputs = ["capstan.core", "hot gauge.diameter"]
[vary]
"layer.insulation.diameter" = ["1.5 mm", "3.42 mm"]
"line.speed" = {{ from = "100 m/min", to = "200 m/min", points = 3 }}
"""


def sweep(study, out, *flags):
    program = Path(PROGRAM)
    program = program if program.is_absolute() else PROJECT / program
    subprocess.run([program, "sweep", study, "--out", out, "--quiet", *flags], check=True)
    return out / (Path(study).stem + ".h5")


@pytest.fixture(scope="module", autouse=True)
def program():
    assert PROGRAM, "QUENCHWAY_BIN names no program: run `make test-python`"


@pytest.fixture(scope="module")
def grid(tmp_path_factory):
    return sweep(STUDY, tmp_path_factory.mktemp("grid"))


@pytest.fixture(scope="module")
def refused(tmp_path_factory):
    place = tmp_path_factory.mktemp("refused")
    (place / "refused.toml").write_text(REFUSED)
    return sweep(place / "refused.toml", place)


@pytest.mark.parametrize("engine", ["h5netcdf", "netcdf4"])
def test_a_grid_is_a_labelled_dataset(grid, engine):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        study = xr.open_dataset(grid, engine=engine).load()
    core = study["capstan.core"]
    assert core.dims == ("line.speed", "section.trough.length") and core.shape == (20, 20)
    assert core.attrs["units"] == "degC" and core.attrs["long_name"] == "core temperature at capstan"
    assert study["line.speed"].attrs["units"] == "m s-1" and study["section.trough.length"].attrs["units"] == "m"
    # A fast line and a short trough leave the core hot; the case itself has 61.9 degC.
    hot = core.sel({"line.speed": 4.5, "section.trough.length": 6.0})
    cool = core.sel({"line.speed": 80 / 60, "section.trough.length": 44.0}, method="nearest")
    assert hot > 100 > 30 > cool
    assert float(core.sel({"line.speed": 2.5, "section.trough.length": 18.0}, method="nearest")) == pytest.approx(61.86, abs=0.05)
    assert (core.diff("line.speed") > 0).all() and (core.diff("section.trough.length") < 0).all()
    assert (study.status == 0).all() and (study.status_reason == "").all()


def test_failed_samples_have_a_status_and_a_reason(refused):
    study = xr.open_dataset(refused, engine="h5netcdf").load()
    thin, usual = study.isel({"layer.insulation.diameter": 0}), study.isel({"layer.insulation.diameter": 1})
    assert (thin.status == 1).all() and (usual.status == 0).all()
    assert all("has no wall" in why for why in thin.status_reason.values)
    assert np.isnan(thin["capstan.core"]).all() and np.isfinite(usual["capstan.core"]).all()
    assert study.status.attrs["flag_meanings"].split()[1] == "refused"
    assert study["hot_gauge.diameter"].attrs["output"] == '"hot gauge".diameter'
    with netCDF4.Dataset(refused) as raw:
        assert np.ma.getmaskarray(raw["capstan.core"][0]).all(), "the fill value marks what is not there"


def test_the_file_says_what_it_is_of(grid):
    study = xr.open_dataset(grid, engine="h5netcdf")
    assert study.attrs["study_toml"] == STUDY.read_text()
    assert study.attrs["case_toml"] == (PROJECT / "cases/house-wire.toml").read_text()
    assert study.attrs["samples"] == 400 and study.attrs["good_samples"] == 400
    assert 0 < study.attrs["error_measured_rms_K"] <= study.attrs["error_measured_largest_K"] < 0.05
    assert study.attrs["method"] == "grid" and "estimates for planning" in study.attrs["cautions"]


def test_the_outputs_are_those_of_single_runs(grid, tmp_path):
    import json

    study = xr.open_dataset(grid, engine="h5netcdf")
    speed = study["line.speed"].values[3]
    case = (PROJECT / "cases/house-wire.toml").read_text()
    case = case.replace('speed = "150 m/min"', f'speed = "{speed!r} m/s"'.replace("np.float64(", "").replace(")", ""))
    case = case.replace('length = "18 m"', 'length = "30 m"')
    (tmp_path / "case.toml").write_text(case)
    program = Path(PROGRAM) if Path(PROGRAM).is_absolute() else PROJECT / PROGRAM
    run = subprocess.run([program, "run", tmp_path / "case.toml", "--json"], check=True, capture_output=True)
    station = json.loads(run.stdout)["stations"][2]
    sample = study.sel({"line.speed": speed, "section.trough.length": 30.0})
    # A sample is solved by the rule, a run with care.
    assert float(sample["capstan.core"]) == pytest.approx(station["core_degC"], abs=0.03)
    assert float(sample["capstan.surface"]) == pytest.approx(station["surface_degC"], abs=0.03)


def test_samples_are_coordinates_of_one_dimension(tmp_path):
    study = xr.open_dataset(sweep(PROJECT / "cases/studies/four-inputs.toml", tmp_path), engine="h5netcdf").load()
    core = study["capstan.core"]
    assert core.dims == ("sample",) and core.sizes["sample"] == 512
    inputs = ["line.speed", "layer.insulation.temperature", "layer.conductor.temperature", "section.trough.film_factor"]
    assert all(name in core.coords for name in inputs)
    # Means of a normal, a uniform and a triangular distribution; a Sobol' sequence of 512 is far better than this.
    assert float(study["layer.insulation.temperature"].mean()) == pytest.approx(188, abs=0.1)
    assert float(study["line.speed"].mean()) == pytest.approx(2.5, abs=0.002)
    assert float(study["layer.conductor.temperature"].mean()) == pytest.approx((70 + 90 + 115) / 3, abs=0.1)
    assert float(np.log(study["section.trough.film_factor"]).std()) == pytest.approx(np.log(1.25), rel=0.01)
    # A faster line and a hotter conductor leave the core hotter.
    assert np.corrcoef(study["line.speed"], core)[0, 1] > 0.3
    assert np.corrcoef(study["layer.conductor.temperature"], core)[0, 1] > 0.3


FIELDS = f"""
case = "{PROJECT}/cases/house-wire.toml"
outputs = ["capstan.surface"]
fields = ["temperature", "surface_temperature", "core_temperature"]
[vary]
"line.speed" = ["100 m/min", "150 m/min"]
"""


def test_fields_lie_at_points_of_their_own(tmp_path):
    (tmp_path / "fields.toml").write_text(FIELDS)
    study = xr.open_dataset(sweep(tmp_path / "fields.toml", tmp_path), engine="h5netcdf").load()
    assert study.temperature.dims == ("line.speed", "point", "node")
    for speed in range(2):
        sample = study.isel({"line.speed": speed}).dropna("point", how="all", subset=["distance"])
        distance, time = sample.distance.values, sample.time.values
        assert distance[0] == 0 and distance[-1] == pytest.approx(19.9) and (np.diff(distance) >= 0).all()
        assert np.allclose(distance, time * float(sample["line.speed"]))
        across = sample.temperature.isel(point=-1).dropna("node")
        assert float(across[-1]) == pytest.approx(float(sample.surface_temperature[-1]), abs=1e-9)
        assert float(sample.surface_temperature[-1]) == pytest.approx(float(sample["capstan.surface"]), abs=1e-9)
        radius = sample.radius.isel(point=-1).dropna("node").values
        assert (np.diff(radius) >= 0).all() and 1.6e-3 < radius[-1] < 1.71e-3


def test_csv_has_the_same_numbers(tmp_path):
    import csv

    results = sweep(STUDY, tmp_path, "--csv")
    study = xr.open_dataset(results, engine="h5netcdf").load()
    with open(results.with_suffix(".csv"), newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 400
    core = np.array([float(row["capstan.core [degC]"]) for row in rows])
    assert (core == study["capstan.core"].values.ravel()).all(), "bit for bit"
    assert [float(row["section.trough.length [m]"]) for row in rows[:20]] == study["section.trough.length"].values.tolist()
