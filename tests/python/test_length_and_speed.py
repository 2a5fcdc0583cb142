"""The results files of length and speed as users read them, with the answers computed anew from what stands beside them."""

import json
import os
import subprocess
import warnings
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("QUENCHWAY_BIN")
CASE = PROJECT / "cases/house-wire.toml"


def run(*arguments):
    """What the program prints."""
    assert PROGRAM, "QUENCHWAY_BIN names no program: run `make test-python`"
    program = Path(PROGRAM)
    program = program if program.is_absolute() else PROJECT / program
    return subprocess.run([program, *arguments], check=True, capture_output=True, text=True).stdout


def answer(command, out, *flags):
    """The results file, opened without options and without warnings."""
    run(command, CASE, "--out", out, "--quiet", *flags)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return xr.open_dataset(out / f"house-wire-{command}.h5", engine="h5netcdf")


def test_needed_lengths_are_the_longest_of_the_limits(tmp_path):
    length = answer("length", tmp_path, "--speeds", "100 m/min..400 m/min", "--points", "4")
    np.testing.assert_allclose(length["line_speed"] * 60, [100, 200, 300, 400])
    assert length["needed_length"].dims == ("line_speed",) and length["needed_length"].attrs["units"] == "m"
    by_limit = length["needed_length_by_limit"]
    assert by_limit.dims == ("line_speed", "limit")
    # The confirmation may aim a thousandth lower than the first crossing.
    np.testing.assert_allclose(by_limit.max("limit"), length["needed_length"], rtol=1e-3)
    assert (length["favourable_length"] < length["needed_length"]).all()
    assert (length["unfavourable_length"] > length["needed_length"]).all()
    assert [str(name) for name in length["decides"].values] == ["capstan.core"] * 4
    for name, variable in length.variables.items():
        assert variable.dtype.kind in "OU" or variable.attrs.get("units"), f"{name} has no unit"


@pytest.mark.parametrize("speed", [100, 240])
def test_run_agrees_with_what_length_says(tmp_path, speed):
    length = answer("length", tmp_path, "--speed", f"{speed} m/min", "--points", "2", "--no-band")
    text = CASE.read_text().replace('"18 m"', f'"{float(length.attrs["needed_m"])!r} m"').replace('"150 m/min"', f'"{speed} m/min"')
    case = tmp_path / "built.toml"
    case.write_text(text)
    core = json.loads(run("run", case, "--json", "--no-band"))["stations"][2]["core_degC"]
    assert 59.95 < core <= 60.0, "the limit is met, and hardly more than met"


def test_the_ceilings_of_a_speed_rise(tmp_path):
    speed = answer("speed", tmp_path, "--passes", "1..2", "--turn", "1 m", "--no-band")
    ceilings = speed["ceiling_speed"].values
    assert (np.diff(ceilings) >= 0).all() and ceilings[0] == speed.attrs["top_m_s"]
    assert speed["ceiling_speed"].attrs["units"] == "m s-1"
    assert speed["top_speed"].dims == ("passes",) and speed["top_speed"][0] == ceilings[0]
    assert speed["top_speed"][1] > 1.5 * speed["top_speed"][0]
