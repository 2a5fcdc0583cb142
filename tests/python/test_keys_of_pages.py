"""Every key of a question's JSON stands on the page of the question, or on that of the case file."""

import json
import os
import re
import subprocess
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = Path(os.environ.get("QUENCHWAY_BIN", "target/release/quenchway"))
WIRE, DRIVE = "cases/house-wire.toml", "cases/drive/house-wire"
FIT = ["fit", WIRE, "--data", "cases/trials/house-wire-trial.csv", "--unknown", "section.trough.film_factor"]
AXES = ["--x", "line.speed=100 m/min..200 m/min", "--y", "section.trough.length=10 m..20 m", "--points", "3"]
# What stands beside an answer is that of a run, which the page of the case file has.
PAGES = {
    "case-file": [["run", WIRE], ["run", "cases/poured-jacket.toml"], ["run", "cases/multi-pass-wire.toml"]],
    "length-and-speed": [["length", WIRE, "--speeds", "100 m/min..200 m/min", "--points", "2"],
                         ["speed", "cases/multi-pass-wire.toml", "--passes", "5..6"]],
    "gauges-and-water": [["gauges", WIRE], ["water", "cases/pe-core-series-water.toml", "--points", "2"]],
    "drive": [["drive", f"{DRIVE}-stop.toml"], ["drive", f"{DRIVE}-reel-change.toml"]],
    "start-up-and-stops": [["stop", f"{DRIVE}-stop.toml", "--longest", "60 s"], ["reel", f"{DRIVE}-reel-change.toml", "--standstill", "60 s"],
                           ["ramp", f"{DRIVE}-ramp.toml", "--from", "20 m/min", "--to", "150 m/min"]],
    "rank": [["rank", WIRE]],
    "spread": [["spread", WIRE, "--samples", "64", "--indices"]],
    "fit": [FIT],
    "map": [["map", WIRE, *AXES]],
}


def keys(value):
    if isinstance(value, dict):
        return set(value) | {key for inner in value.values() for key in keys(inner)}
    return {key for inner in value for key in keys(inner)} if isinstance(value, list) else set()


def names(page):
    """What stands in code marks on a page: names, and the last part of each."""
    marked = re.findall(r"`([^`]*)`", (PROJECT / "docs" / f"{page}.md").read_text(encoding="utf-8"))
    found = {name for code in marked for name in re.findall(r"[\w.]+", code)}
    return found | {name.split(".")[-1] for name in found}


@pytest.mark.parametrize("page", sorted(PAGES))
def test_a_page_has_every_key_of_its_json(page):
    program = PROGRAM if PROGRAM.is_absolute() else PROJECT / PROGRAM
    known = names(page) | names("case-file")
    for asked in PAGES[page]:
        done = subprocess.run([program, *asked, "--json"], cwd=PROJECT, capture_output=True, text=True, check=False)
        told = json.loads(done.stdout)
        assert len(told) > 3 and sorted(keys(told) - known) == [], asked
