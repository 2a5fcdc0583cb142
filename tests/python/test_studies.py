"""The results files of map, gauges and water as xarray sees them: without options and without warnings."""

import os
import subprocess
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = Path(os.environ.get("QUENCHWAY_BIN", "target/release/quenchway"))
MAP = ["map", "house-wire.toml", "--x", "line.speed=100 m/min..400 m/min", "--y", "section.trough.length=5 m..40 m"]
MAP += ["--show", "capstan.core", "--points", "13x8"]
WATER = ["water", "pe-core-series-water.toml", "--speeds", "15 m/min..40 m/min", "--points", "3"]


def run(directory, arguments):
    program = PROGRAM if PROGRAM.is_absolute() else PROJECT / PROGRAM
    command, case, *rest = arguments
    out = [program, command, PROJECT / "cases" / case, *rest, "--out", directory, "--quiet"]
    subprocess.run(out, check=True)
    return directory / f"{Path(case).stem}-{command}.h5"


@pytest.mark.filterwarnings("error")
def test_a_map_has_its_numbers_as_coordinates(tmp_path):
    with xr.open_dataset(run(tmp_path, MAP), engine="h5netcdf") as found:
        assert found.capstan_core.dims == ("section_trough_length", "line_speed")
        assert found.capstan_core.shape == (8, 13)
        units = {name: found[name].attrs["units"] for name in ["line_speed", "section_trough_length", "capstan_core"]}
        assert units == {"line_speed": "m s-1", "section_trough_length": "m", "capstan_core": "degC"}
        assert found.attrs["x"] == "line.speed" and found.attrs["show"] == "capstan.core"
        assert (found.status == 0).all() and not found.capstan_core.isnull().any()
        # The limit is the only difference between the two.
        assert np.allclose(found.capstan_core - found.capstan_core_excess, 60, rtol=0, atol=1e-12)
        assert (found.capstan_core.diff("section_trough_length") < 0).all()


@pytest.mark.filterwarnings("error")
def test_gauges_and_water_are_labelled(tmp_path):
    with xr.open_dataset(run(tmp_path, ["gauges", "house-wire.toml", "--finished", "3.35 mm"]), engine="h5netcdf") as card:
        assert list(card.gauge_name.values) == ["hot", "cold"] and card.reading.attrs["units"] == "m"
        assert (card.finished_diameter.diff("line_speed") < 0).all()
        assert float(card.finished_diameter[1]) == card.attrs["wanted_m"] == 3.35e-3
    with xr.open_dataset(run(tmp_path, WATER), engine="h5netcdf") as card:
        assert card.heat.dims == ("line_speed", "way", "section") and card.heat.attrs["units"] == "W"
        assert list(card.way_name.values) == ["as given", "along", "counter"]
        # The chiller removes what the sections take: sums in another order.
        assert np.allclose(card.heat.sum("section"), card.chiller_duty, rtol=1e-14)
        assert (card.status == 0).all()
