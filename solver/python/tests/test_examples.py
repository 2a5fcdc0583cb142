"""The examples of the documentation run, and what they show is so."""

import importlib.util
import json

import numpy as np
import pytest
from conftest import PROJECT


def example(name):
    spec = importlib.util.spec_from_file_location(name, PROJECT / f"docs/examples/{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_slab_is_its_series(tmp_path):
    largest, solution = example("slab_series").main(tmp_path)
    assert largest <= solution.error <= solution.tolerance == 0.001
    assert (tmp_path / "slab-series.png").stat().st_size > 10_000


def test_the_map_of_a_faster_line_and_its_needed_lengths_agree(tmp_path):
    core, limit, asked, needed = example("faster_line").main(tmp_path, points=17)
    for speed, answer in zip(asked, needed, strict=True):
        row = core.sel({"line.speed": speed})
        lengths = row["section.trough.length"].values
        if not lengths[0] < answer.length < lengths[-1]:
            continue
        # Where the map crosses the limit; it is straight between two lengths 2 m apart to some hundredths of a metre.
        crossing = np.interp(-limit, -row.values, lengths)
        assert crossing == pytest.approx(answer.length, abs=0.1)
    assert answer.length > needed[0].length
    assert (tmp_path / "faster-line.png").stat().st_size > 10_000


def fitted(program):
    answer = json.loads(
        program(
            *("fit", PROJECT / "cases/house-wire.toml", "--data", PROJECT / "cases/trials/house-wire-trial.csv"),
            *("--unknown", "section.trough.film_factor", "--unknown", "layer.conductor.temperature"),
            *("--bands", "ignore", "--spread", "stated", "--json"),
        )
    )
    return answer["fit"]["unknowns"] if "fit" in answer else answer["unknowns"]


@pytest.mark.slow
def test_the_sampled_posterior_is_that_of_fit(program, tmp_path):
    chains = example("calibrate").main(tmp_path)
    for chain, unknown in zip(chains, fitted(program), strict=True):
        low, high = unknown["interval"]
        quantiles = np.quantile(chain, [0.025, 0.5, 0.975])
        # The chain has some 200 independent samples: the ends of its interval scatter by a tenth of its width.
        assert quantiles == pytest.approx([low, unknown["value"], high], abs=0.1 * (high - low))
