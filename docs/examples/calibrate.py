"""A calibration by sampling: the posterior of a film factor and of a preheat, with the sampler emcee on top of `batch`.

    python docs/examples/calibrate.py --out figures

The trial is cases/trials/house-wire-trial.csv, invented data. As `quenchway fit --bands ignore --spread stated` has it, the film
factor is uniform in its logarithm, the preheat is uniform, and everything else is taken as known. Sampler: D. Foreman-Mackey et al.,
Publ. Astron. Soc. Pac. 125 (2013) 306.
"""

import argparse
import csv
from pathlib import Path

import emcee
import matplotlib
import numpy as np
import quenchway as qw

matplotlib.use("Agg")
import matplotlib.pyplot as plt

CASES = Path(__file__).resolve().parents[2] / "cases"
FACTOR, PREHEAT = "section.trough.film_factor", "layer.conductor.temperature"
# One standard value of an optical gauge, where the trial states none: common practice, no source.
OF_GAUGE = 1e-5
UNITS = {"m/min": 1 / 60, "mm": 1e-3, "degC": 1.0, "K": 1.0}


def trial(path):
    """Settings, measurements and standard values, SI; not a number where nothing was measured."""
    with open(path, newline="") as file:
        header, uncertainties, *rows = csv.reader(line for line in file if not line.startswith("#"))
    names, units = zip(*(column.rstrip("]").split(" [") for column in header), strict=True)
    scale = np.array([UNITS[unit] for unit in units])
    table = np.array([[float(cell) if cell else np.nan for cell in row] for row in rows]) * scale
    stated = [float(cell.split()[0]) if cell.strip("± ") else OF_GAUGE for cell in uncertainties]
    return dict(zip(names[:2], table[:, :2].T, strict=True)), names[2:], table[:, 2:], np.array(stated[2:])


def main(out, walkers=24, steps=400, seed=3):
    case = qw.Case.from_toml(CASES / "house-wire.toml")
    settings, outputs, measured, uncertainty = trial(CASES / "trials/house-wire-trial.csv")

    def log_probability(sample):
        """Of each row of the sample: logarithm of the factor, preheat in degC."""
        values = {FACTOR: np.exp(sample[:, :1]), PREHEAT: sample[:, 1:]}
        found = qw.batch(case, values | settings, outputs)
        computed = np.stack(list(found.values()), axis=-1)
        misfit = ((computed - measured) / uncertainty) ** 2
        total = -0.5 * np.nansum(misfit, axis=(1, 2))
        # A value outside what the case allows has no answer.
        failed = {walker for (walker, _), _ in found.problems}
        total[list(failed)] = -np.inf
        return total

    random = np.random.default_rng(seed)
    start = np.array([np.log(0.3), 100.0]) + random.normal(size=(walkers, 2)) * [0.1, 3.0]
    sampler = emcee.EnsembleSampler(walkers, 2, log_probability, vectorize=True)
    sampler.random_state = np.random.RandomState(seed).get_state()
    sampler.run_mcmc(start, steps)
    chain = sampler.get_chain(discard=steps // 4, flat=True)
    factor, preheat = np.exp(chain[:, 0]), chain[:, 1]

    figure, axes = plt.subplots(figsize=(5.2, 4.0), layout="constrained")
    axes.plot(factor, preheat, ".", markersize=2, alpha=0.25, color="#0b6fa4", rasterized=True)
    axes.set(xlabel="film factor of the trough", ylabel="temperature of the conductor at the die, °C", title="posterior of the trial")
    out.mkdir(parents=True, exist_ok=True)
    figure.savefig(out / "calibrate.png", dpi=150)
    plt.close(figure)
    for name, values in [(FACTOR, factor), (PREHEAT, preheat)]:
        low, middle, high = np.quantile(values, [0.025, 0.5, 0.975])
        print(f"{name}: {middle:.3f}, 95 % from {low:.3f} to {high:.3f}")
    return factor, preheat


if __name__ == "__main__":
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--out", type=Path, default=Path("figures"), help="directory of the picture")
    main(arguments.parse_args().out)
