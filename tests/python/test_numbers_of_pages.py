"""Numbers of pages that stand in no run's JSON: those of a calibrated case, of the page to try numbers on, of files of the project."""

import csv
import os
import re
import subprocess
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = Path(os.environ.get("QUENCHWAY_BIN", "target/release/quenchway"))
TRIAL = "cases/trials/house-wire-trial.csv"
DATE = re.compile(r"\b\d{4}-\d\d-\d\d\b")


def page(name):
    """A page of the book on one line, marks taken out."""
    text = (PROJECT / "docs" / f"{name}.md").read_text(encoding="utf-8")
    return " ".join(re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL).split())


def blocks(name, language):
    text = (PROJECT / "docs" / f"{name}.md").read_text(encoding="utf-8")
    return re.findall(rf"```{language}\n(.*?)```", text, flags=re.DOTALL)


def test_the_calibrated_trough_is_what_the_program_writes(tmp_path):
    program = PROGRAM if PROGRAM.is_absolute() else PROJECT / PROGRAM
    written = tmp_path / "calibrated.toml"
    unknowns = ["--unknown", "section.trough.film_factor", "--unknown", "layer.conductor.temperature"]
    command = [program, "fit", "cases/house-wire.toml", "--data", TRIAL, *unknowns, "--write", written, "--quiet"]
    subprocess.run(command, cwd=PROJECT, check=True)
    (shown,) = [block for block in blocks("fit", "toml") if "film_factor" in block]
    assert DATE.sub("DATE", shown) in DATE.sub("DATE", written.read_text(encoding="utf-8"))


def test_the_page_to_try_has_the_times_and_tolerances_of_its_script():
    script = (PROJECT / "cli/page/src/page.js").read_text(encoding="utf-8")

    def constant(name):
        return re.search(rf"^const {name} = ([^;]*);", script, flags=re.MULTILINE).group(1)

    coarse = [float(number) for number in constant("TOLERANCES").strip("[]").split(",")]
    says = page("try")
    assert f"one run to {coarse[0]:g} K, or to {coarse[1]:g} K where a run takes longer than {constant('LATE')} ms." in says
    assert f"Where a case takes longer than {constant('SLOW')} ms," in says
    assert int(constant("SETTLES")) == 250 and "A quarter of a second after the last move" in says


def test_the_tutorial_on_calibration_knows_its_trial():
    with (PROJECT / TRIAL).open(encoding="utf-8", newline="") as file:
        header, uncertainties, *rows = csv.reader(line for line in file if not line.startswith("#"))
    assert header[0] == "line.speed [m/min]" and uncertainties[0] == "±"
    speeds = {row[0] for row in rows}
    words = {5: "five", 6: "six", 7: "seven"}
    assert f"at {words[len(speeds)]} speeds." in page("job-calibration")
    # The Rust tests hold the intervals of the fit to these true values.
    truth = re.search(r"\[\((0\.\d+), \"1\"\), \(([\d.]+), \"degC\"\)\]", (PROJECT / "tests/fit.rs").read_text(encoding="utf-8"))
    film, preheat = map(float, truth.groups())
    for name in ("job-calibration", "fit"):
        assert f"{film:.2f} of the law's film" in page(name)
        assert f"a preheat of {preheat:g} °C" in page(name)


def test_the_study_of_the_page_on_sweeps_is_the_shipped_one():
    shipped = (PROJECT / "cases/studies/speed-and-length.toml").read_text(encoding="utf-8")
    lines = [line for line in shipped.split("\n") if not line.startswith("#")]
    assert blocks("sweep", "toml")[0].strip() == "\n".join(lines).strip()
