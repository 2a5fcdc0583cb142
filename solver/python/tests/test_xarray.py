"""`to_xarray` gives what the results file of the same run holds."""

import numpy as np
import pytest
import quenchway as qw
import xarray as xr
from conftest import CASES, PROJECT

# Flat, one layer, water that does not touch all round, several joints.
CHOSEN = {"house-wire", "flat-slab", "poured-jacket", "three-core-jacket"}


@pytest.mark.parametrize(
    "path", [pytest.param(path, id=path.stem, marks=() if path.stem in CHOSEN else pytest.mark.slow) for path in CASES]
)
def test_the_data_set_is_that_of_the_results_file(program, path, tmp_path):
    program("run", path, "--out", tmp_path, "--quiet")
    case = qw.Case.from_toml(path)
    solution = qw.march(case, band=True)
    for group in ("", "stations", "sections", "band"):
        ours = solution.to_xarray(group)
        with xr.open_dataset(tmp_path / f"{path.stem}.h5", engine="h5netcdf", group=group or None) as file:
            theirs = file.load()
        if not group:
            assert ours.attrs.pop("source").startswith("quenchway-python ")
            assert ours.attrs.pop("history").endswith(" march")
            del theirs.attrs["source"], theirs.attrs["history"]
        # Values, names, order of dimensions, coordinates and attributes.
        xr.testing.assert_identical(ours, theirs)
        for name, variable in theirs.variables.items():
            if variable.dtype.kind in "fi":
                assert ours[name].dtype == variable.dtype, name
            gap = "_FillValue" in variable.encoding
            assert gap == ("_FillValue" in ours[name].encoding), name


def test_a_tree_has_all_groups(house):
    tree = qw.march(house).to_datatree()
    assert set(tree.children) == {"stations", "sections", "band"}
    assert tree["stations"]["core_temperature"].sizes == {"station": 3}


def test_a_written_data_set_is_read_back(house, tmp_path):
    data = qw.march(house).to_xarray()
    data.to_netcdf(tmp_path / "house.nc", engine="h5netcdf")
    with xr.open_dataset(tmp_path / "house.nc", engine="h5netcdf") as file:
        assert np.array_equal(file["temperature"], data["temperature"])
        assert file["temperature"].attrs["units"] == "degC"


def test_changes_are_told(house):
    changed = house.with_values({"line.speed": 2.0})
    data = qw.march(changed).to_xarray()
    assert data.attrs["case_changes"] == '[["line.speed",2.0]]'
    assert data.attrs["resolved_case"] == changed.resolved() != house.resolved()
    assert "case_changes" not in qw.march(house).to_xarray().attrs
    with pytest.raises(ValueError, match='there is no group "station"; there are stations, sections, band'):
        qw.march(house).to_xarray("station")


def test_a_drive_is_the_data_set_of_its_results_file(program, tmp_path):
    path = PROJECT / "cases/drive/house-wire-ramp.toml"
    program("drive", path, "--no-band", "--out", tmp_path, "--quiet")
    ours = qw.drive(qw.Case.from_toml(path)).to_xarray()
    with xr.open_dataset(tmp_path / "house-wire-ramp-drive.h5", engine="h5netcdf") as file:
        theirs = file.load()
    assert ours.attrs.pop("source").startswith("quenchway-python ") and ours.attrs.pop("history").endswith(" drive")
    del theirs.attrs["source"], theirs.attrs["history"]
    xr.testing.assert_identical(ours, theirs)
