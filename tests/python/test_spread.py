"""The results files of a spread and a rank as users read them: every sample with units, its summaries computed anew."""

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


def answer(command, out, case=CASE, *flags):
    """Runs a command and opens its results file as users do, without options and without warnings."""
    program = Path(PROGRAM)
    program = program if program.is_absolute() else PROJECT / program
    subprocess.run([program, command, case, "--out", out, "--quiet", *flags], check=True)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return xr.open_dataset(out / f"{Path(case).stem}-{command}.h5", engine="h5netcdf")


@pytest.fixture(scope="module", autouse=True)
def program():
    assert PROGRAM, "QUENCHWAY_BIN names no program: run `make test-python`"


@pytest.fixture(scope="module")
def spread(tmp_path_factory):
    return answer("spread", tmp_path_factory.mktemp("spread"), CASE, "--samples", "512", "--indices", "--seed", "4")


def test_every_sample_is_there_with_units(spread):
    assert spread.sizes["sample"] == 512
    assert spread["capstan_core"].dims == ("sample",) and spread["capstan_core"].attrs["units"] == "degC"
    assert spread["vary_section_trough_film_lean"].attrs["units"] == "1"
    assert spread["vary_layer_insulation_temperature"].attrs["units"] == "K"
    assert spread["needed_length"].attrs["units"] == "m"
    assert (spread["status"] == 0).all()
    assert "case_toml" in spread.attrs and spread.attrs["method"] == "sobol" and spread.attrs["seed"] == 4
    for name, variable in spread.variables.items():
        assert variable.dtype.kind in "OU" or variable.attrs.get("units"), f"{name} has no unit"


def test_summaries_are_those_of_the_samples(spread):
    for name in ["capstan_core", "capstan_surface", "hot_gauge_diameter"]:
        values = spread[name].values
        shares = spread["percentile"].values
        np.testing.assert_allclose(spread[f"{name}_percentiles"], np.quantile(values, shares), rtol=1e-12)
        np.testing.assert_allclose(spread[f"{name}_mean"], values.mean(), rtol=1e-12)
        np.testing.assert_allclose(spread[f"{name}_standard_deviation"], values.std(ddof=1), rtol=1e-9)


def test_chances_are_counts(spread):
    limits = [str(name) for name in spread["limit_name"].values]
    assert limits == ["capstan.surface", "capstan.core"]
    met = [spread[name.replace(".", "_")].values <= spread["limit_temperature"].values[i] for i, name in enumerate(limits)]
    np.testing.assert_array_equal(spread["probability"], [m.mean() for m in met])
    assert spread.attrs["all_limits_probability"] == np.logical_and(*met).mean()
    # The trough that is there meets the limits of the samples that need no longer one.
    needs = spread["needed_length"].values
    assert abs((needs <= 18.0).mean() - spread.attrs["all_limits_probability"]) < 0.005
    np.testing.assert_allclose(
        spread["length_at_chance"].sel(chance=0.95), np.quantile(needs, 0.95), rtol=1e-12
    )


def test_draws_are_distributed_as_they_say(spread):
    from scipy import stats

    # Even samples follow their distribution far more closely than random ones would.
    factor = spread["vary_section_trough_film_lean"].values
    assert stats.kstest(factor, "norm").statistic < 0.005
    melt = spread["vary_layer_insulation_temperature"].values / 3.0
    assert stats.kstest(melt, "norm").statistic < 0.005


def test_indices_have_their_inputs(spread):
    first = spread["first_order"]
    assert first.dims == ("target", "input")
    names = [str(name) for name in spread["input_name"].values]
    core = first.values[1]
    assert names[int(core.argmax())] in ("material.pvc-insulation.conductivity", "section.trough.film_lean")
    assert abs(core.sum() - 1.0) < 0.25
    assert (spread["total_order_low"] <= spread["total_order_high"]).all()


def test_failed_samples_are_marked(tmp_path):
    case = tmp_path / "thin.toml"
    lines = '\n[vary]\n"layer.insulation.diameter" = { uniform = ["1.68 mm", "3.68 mm"] }\n'
    case.write_text(CASE.read_text() + lines)
    spread = answer("spread", tmp_path, case, "--samples", "128")
    failed = spread["vary_layer_insulation_diameter"].values <= 1.78e-3
    assert 0 < failed.sum() < 12
    np.testing.assert_array_equal(spread["status"].values == 1, failed)
    np.testing.assert_array_equal(np.isnan(spread["capstan_core"].values), failed)
    reasons = spread["status_reason"].values
    assert all(("no wall" in str(reason)) == bad for reason, bad in zip(reasons, failed))


def test_a_rank_is_labelled(tmp_path):
    rank = answer("rank", tmp_path)
    changes = rank["number_change"]
    assert changes.dims == ("number", "target") and changes.attrs["units"] == "K"
    names = [str(name) for name in rank["number_name"].values]
    speed = names.index("line.speed")
    assert changes.values[speed, 1] > 0 and rank["number_length_change"].values[speed] > 0
    assert rank.attrs["deciding"] == "capstan.core" and rank.attrs["needed_length_m"] > 18
    assert rank["uncertain_change"].dims == ("uncertain", "target")
