"""Numbers of pages that stand in no run's JSON: those of a calibrated case, of the page to try numbers on, of files of the project."""

import csv
import math
import os
import re
import shlex
import subprocess
from itertools import pairwise
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = Path(os.environ.get("QUENCHWAY_BIN", "target/release/quenchway"))
TRIAL = "cases/trials/house-wire-trial.csv"
DATE = re.compile(r"\b\d{4}-\d\d-\d\d\b")


def page(name):
    """A page of the book on one line, marks taken out."""
    text = (PROJECT / "docs" / f"{name}.md").read_text(encoding="utf-8")
    return " ".join(re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL).split())


def ratio(text):
    """A number as a source writes it: 1.0 / 60.0."""
    top, _, bottom = text.partition("/")
    return float(top) / float(bottom or 1)


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


# A constant of the sources, its value there, and the words of a page that state it: whoever changes one changes the other.
CONSTANTS = [
    ("solver/src/study/stages/search.rs", "SCANNED", "64", "stages", "computes 64 places for each number, and 64 more."),
    ("solver/src/study/stages/search.rs", "POLISHED", "6", "stages", "from the six best places that lie apart"),
    ("solver/src/study/stages/around.rs", "GRID", "21", "stages", "two full grids of 21 values of each of up to three numbers"),
    ("solver/src/study/stages/around.rs", "MOST_OF_GRID", "3", "stages", "of each of up to three numbers"),
    ("solver/src/study/stages/around.rs", "SHRUNK", "0.1", "stages", "the other a tenth of them about the answer"),
    ("solver/src/study/stages/around.rs", "BETTER", "2e-3", "stages", "is better by more than 0.2 %"),
    ("solver/src/study/stages/around.rs", "POINTS", "9", "stages", "the best for nine values of one limit"),
    ("solver/src/study/search/levers.rs", "COLDEST", "5.0", "length-and-speed", "colder water down to 5 °C"),
    ("solver/src/study/search/levers.rs", "ROOM", "20.0", "length-and-speed", "a cooler conductor down to 20 °C"),
    ("solver/src/study/search/scan.rs", "WIDTH", "1e-4", "length-and-speed", "encloses each crossing to a ten thousandth"),
    ("solver/src/study/search/confirm.rs", "CONSISTENT", "2e-3", "length-and-speed", "until both agree to 0.2 %"),
    ("solver/src/case/preheat.rs", "HIGHEST", "Celsius(500.0)", "conductors", "More than 500 °C is an error"),
    ("solver/src/case/preheat.rs", "HIGHEST", "Celsius(500.0)", "drive", "a preheater has heated above 500 °C"),
    ("solver/src/case/preheat.rs", "HIGHEST", "Celsius(500.0)", "numerics", "above 500 °C the metre is"),
    ("solver/src/case/cautions.rs", "SCALDING", "43.0", "stages", "a trough at or above 43 °C"),
    ("solver/src/case/cautions.rs", "SCALDING", "43.0", "job-stages", "a trough at or above 43 °C"),
    ("solver/src/case/mod.rs", "TOLERANCE", "0.01", "case-file", "| `tolerance` | temperature difference | 0.01 K |"),
    ("solver/src/study/moves/ramp.rs", "SHORTEST", "1.0", "start-up-and-stops", "tries ramps of 1 s to 1 h"),
    ("solver/src/study/moves/ramp.rs", "LONGEST", "3600.0", "start-up-and-stops", "tries ramps of 1 s to 1 h"),
    ("solver/src/study/moves/ramps.rs", "BRAKES", "5.0", "start-up-and-stops", "takes 5 s down and 20 s up"),
    ("solver/src/study/moves/ramps.rs", "STARTS", "20.0", "start-up-and-stops", "takes 5 s down and 20 s up"),
    ("solver/src/study/moves/stop.rs", "FILLED", "1.5", "start-up-and-stops", "until the line is filled one and a half times"),
    ("solver/src/study/moves/mod.rs", "SEARCH", "0.1", "start-up-and-stops", "at both of these ends, to 0.1 K"),
    ("solver/src/study/fit/model.rs", "TOLERANCE", "0.02", "fit", "at its tolerance, at most 0.02 K"),
    ("solver/src/study/fit/judge.rs", "CORRELATED", "0.95", "fit", "two unknowns with a correlation beyond ±0.95"),
    ("solver/src/study/fit/judge.rs", "PULLED", "3.0", "fit", "by more than three of its standard values"),
    ("solver/src/study/fit/possible.rs", "TOO_FAR", "4.0", "fit", "by more than four uncertainties"),
    ("cli/src/trial/mod.rs", "MOST_TRIALS", "100", "fit", "Where more than 100 rows hold a measurement"),
    ("solver/src/study/spread/indices.rs", "RESAMPLED", "400", "spread", "from 400 resamplings of the samples"),
    ("solver/src/study/spread/reach.rs", "WIDTH", "1e-3", "spread", "from which on its limits are met, to a thousandth"),
    ("solver/src/study/spread/mod.rs", "CHECKED", "100", "spread", "One sample in a hundred, drawn by the seed"),
    ("solver/src/study/sweep/mod.rs", "CHECKED", "100", "sweep", "The first sample and about one in a hundred"),
    ("solver/src/study/sweep/file/mod.rs", "MOST_BLOCKS", "1_000_000", "sweep", "samples in a block, 1 to 1000000"),
    ("solver/src/study/map/mod.rs", "MOST", "200", "map", "up to 200 along an axis"),
    ("solver/src/study/map/points.rs", "CHECKED", "10", "map", "One point in a hundred, at least nine"),
    ("solver/src/study/map/points.rs", "LEAST_CHECKED", "3", "map", "One point in a hundred, at least nine"),
    ("solver/src/study/rank/mod.rs", "TENTH", "0.1", "rank", "10 % up and 10 % down (a temperature 10 K)"),
    ("solver/src/study/rank/mod.rs", "KELVIN", "10.0", "rank", "10 % up and 10 % down (a temperature 10 K)"),
    ("solver/src/study/rank/mod.rs", "NOISE", "2.0", "rank", "which is twice the tolerance"),
    ("solver/src/study/rank/mod.rs", "NOTHING", "0.01", "rank", "those below 0.01 m, s or m/s count as none"),
    ("solver/src/study/gauges/mod.rs", "CHANGE", "0.01", "gauges-and-water", "at 99 % and 101 % of the speed"),
    ("solver/src/study/water/mod.rs", "ASSUMED_RISE", "5.0", "gauges-and-water", "the flow that would hold its rise to 5 K"),
    ("solver/src/study/cooling.rs", "LONGER", "0.1", "theory", "T_L with all water a tenth longer"),
    ("solver/src/study/cooling.rs", "NOTHING", "0.05", "theory", "differ by less than 0.05 K"),
    ("solver/src/study/cooling.rs", "UNMEASURED", "0.2", "messages", "the film in water is more than 20 % of the resistance"),
    ("solver/src/march/mod.rs", "TIGHTER", "8.0", "numerics", "by the [rule](glossary.md#rule) at the tolerance, and at an eighth of it"),
    ("solver/src/march/mod.rs", "SHARE", "1.5", "numerics", "Its stated error is 1.5 times the largest difference"),
    ("solver/src/march/mod.rs", "SHARE_OF_PEAKS", "1.8", "numerics", "(with a latent peak 1.8 times)"),
    ("solver/src/march/mod.rs", "FLOOR", "0.2", "numerics", "never less than a fifth of the tolerance"),
    ("solver/src/march/mod.rs", "ATTEMPTS", "8", "numerics", "tightens the pair again, up to eight times"),
    ("solver/src/march/mod.rs", "ENOUGH", "30_000_000", "numerics", "once the finer run has taken 3e7 node-steps"),
    ("solver/src/march/skins.rs", "THICK_WALL", "1.5e-3", "messages", "the skin of a wall over 1.5 mm sets over melt"),
    ("solver/src/march/skins.rs", "MOST_MELT_SHRINK", "0.10", "messages", "that still has more than 10 % of the layer's volume to lose"),
    ("solver/src/march/by_rate.rs", "CONSISTENT", "0.03", "materials", "until the shift stays within 0.03 K"),
    ("solver/src/march/warnings.rs", "NOTABLE", "0.2", "messages", "for more than a fifth of the section's time"),
    ("solver/src/march/warnings.rs", "DECIDES", "1.3", "messages", "more than 1.3 times the law's film"),
    ("solver/src/march/warnings.rs", "UNMENTIONED", "0.01", "messages", "for more than a hundredth of the section's time"),
    ("solver/src/march/assemble.rs", "LONG_BOILING", "0.1", "messages", "above 100 °C in water for more than 0.1 s"),
    ("solver/src/march/assemble.rs", "LOW_PECLET", "100.0", "messages", "Péclet number below 100"),
    ("solver/src/film/end.rs", "AIR_DRAGGED_IN", "5.0", "messages", "the product runs faster than 5 m/s through the water"),
    ("solver/src/film/end.rs", "UNSAID_STIR", "0.1", "film-laws", "the high end has h_s at 0.1 m/s"),
    ("solver/src/film/moving.rs", "ENTRY_OFFSET", "2.5e-3", "film-laws", "The law is evaluated at x + 2.5 mm."),
    ("solver/src/film/moving.rs", "TURBULENT_IN_WATER", "0.75", "film-laws", "The factor c is 0.75 in water"),
    ("solver/src/film/surface.rs", "EMISSIVITY", "0.94", "case-file", "0.94 in air where the law answers"),
    ("solver/src/film/around.rs", "SPREAD", "0.19", "theory", "0.19 k ρc/t"),
    ("solver/src/film/around.rs", "WORST", "1.0 / 8.0", "theory", "the mean over the worst eighth"),
    ("solver/src/study/drive/mod.rs", "ATTEMPTS", "4", "numerics", "four times tighter, up to four times"),
    ("solver/src/study/drive/parked.rs", "INTERVALS", "16", "numerics", "is evaluated on 16 Chebyshev intervals"),
    ("solver/src/study/drive/spans.rs", "WIDTHS", "4.5", "theory", "within 4.5 √(α t) of a boundary"),
    ("cli/src/sweep/run.rs", "HEEDED", "Duration::from_millis(200)", "sweep", "stop within about a fifth of a second"),
    ("cli/src/sweep/ready.rs", "READERS", "4", "planning", "the threads that read ahead, four at most"),
    ("cli/pictures/src/sweep.rs", "MOST", "4", "sweep", "each of the first four outputs"),
    ("cli/src/store/beside.rs", "STALE", "Duration::from_secs(600)", "results-file", "once it is ten minutes old"),
    ("solver/src/study/search/scan.rs", "FACTOR", "std::f64::consts::SQRT_2", "length-and-speed", "in steps of a factor √2"),
    ("solver/src/study/moves/intervals.rs", "FACTOR", "std::f64::consts::SQRT_2", "start-up-and-stops", "that lie a factor √2 apart"),
    ("solver/src/line/programme/extruder.rs", "LUMP", "1.5", "drive", "is more than 1.5 or less than 0.5 of what the line takes along"),
    ("solver/src/line/programme/extruder.rs", "BARE", "0.5", "drive", "is more than 1.5 or less than 0.5 of what the line takes along"),
    ("solver/src/line/programme/extruder.rs", "LUMP", "1.5", "theory", "A ratio y/v above 1.5 is a lump, below 0.5 a bare spot."),
    ("solver/src/line/programme/extruder.rs", "LUMP", "1.5", "glossary", "more than 1.5 times, or less than half"),
    ("solver/src/line/skin.rs", "SKIN", "0.1", "glossary", "The outer tenth of a plastic wall"),
    ("solver/src/line/skin.rs", "ASIDE", "5.0", "theory", "the mean from 5 K above T_set to 5 K below it"),
    ("solver/src/line/skin.rs", "INSTANT", "0.42", "theory", "within 0.42 t_out"),
    ("solver/src/line/prepare.rs", "MOST_NODES", "400", "performance", "more than 400 nodes are computed one at a time"),
    ("solver/src/line/water_search.rs", "FREEZE", "0.01", "numerics", "moves by less than a hundredth of the accuracy"),
    ("solver/src/line/trip.rs", "SLACK", "1.5", "numerics", "only above 1.5 times its allowance"),
    ("solver/src/line/settings.rs", "THROUGH_PEAKS", "1.5", "numerics", "lets its steps err by 30 ε there"),
    ("solver/src/slice/enthalpy.rs", "DENSITY_RATIO", "1.06", "numerics", "the density changes by more than 6 %"),
    ("solver/src/engine/coefficients.rs", "GAMMA", "0.25", "numerics", "γ = 1/4"),
    ("solver/src/engine/coefficients.rs", "FORESEEN", "0.7", "numerics", "h* = h + 0.7 (h − h₋)"),
    ("solver/src/material/conductor/strand.rs", "BUNCHED", "0.72", "conductors", "fill 72 % of the circle"),
    ("solver/src/material/conductor/strand.rs", "LAY_RATIO", "14.0", "conductors", "is 14 times the diameter over all"),
    ("solver/src/material/conductor/iec.rs", "LARGEST_SOLID", "16.0", "conductors", "class 1 and 5 from 0.5 to 16 mm2"),
    ("solver/src/film/boundary_layer.rs", "LONG_CYLINDER", "2.086", "film-laws", "(2.086 at the table's end)"),
    ("solver/src/film/end.rs", "ROUNDED", "0.025", "film-laws", "(0.025 b)^2"),
    ("solver/src/film/formulas.rs", "SPRAYED_DISC", "20e-3", "film-laws", "D = 20 mm"),
    ("solver/src/study/drive/mod.rs", "MARCHED", "0.25", "numerics", "by the rule at a quarter of the tolerance"),
    ("solver/src/study/drive/attempt.rs", "SETTLED", "0.5", "numerics", "what lies between them is settled at half of it"),
    ("solver/src/study/drive/attempt.rs", "SHARE", "1.5", "numerics", "The first is 1.5 times the largest difference from a march"),
    ("solver/src/study/drive/attempt.rs", "CHECKED", "8", "numerics", "on every eighth metre"),
    ("solver/src/study/drive/parked.rs", "PIECES", "8", "numerics", "in each of eight or more pieces of the standstill"),
    ("solver/src/study/drive/parked.rs", "HALVINGS", "10", "numerics", "is halved, up to ten times"),
    ("solver/src/study/drive/wheel.rs", "INTERVALS", "8", "numerics", "a metre is evaluated on eight intervals"),
    ("solver/src/study/drive/pieces.rs", "MOST", "16", "numerics", "3, 5, 9 or 17 nested Chebyshev points"),
    ("cli/page/src/controls.rs", "AROUND", "20.0", "try", "and 20 K to either side of a temperature"),
    ("solver/src/slice/build/mod.rs", "ACCURACY", "0.009", "numerics", "c = (ε/0.009 K)^¼ at most 1.3"),
    ("solver/src/slice/build/mod.rs", "COARSEST", "1.3", "numerics", "c = (ε/0.009 K)^¼ at most 1.3"),
    ("solver/src/slice/build/mod.rs", "AT_SURFACE", "0.65", "numerics", "| at the surface | 0.65 c √(α t)"),
    ("solver/src/slice/build/mod.rs", "AT_SURFACE", "0.65", "theory", "Its outermost interval is 0.65 √(α t_out)."),
    ("solver/src/slice/build/mod.rs", "AT_JOINT", "0.45", "numerics", "| at a joint | 0.45 c √(α t₁)"),
    ("solver/src/slice/build/mod.rs", "AT_BORE", "0.5", "numerics", "| at a bore | 0.5 c of its radius |"),
    ("solver/src/slice/build/mod.rs", "GROWTH", "0.35", "numerics", "| away from them | grows by 0.35 c of the distance |"),
    ("solver/src/slice/build/mod.rs", "GROWTH_OF_PEAK", "0.35", "numerics",
     "| layer with a latent peak | growth × 0.35, at most c/18 of the layer;"),
    ("solver/src/slice/build/mod.rs", "PARTS_OF_PEAK", "18.0", "numerics", "at most c/18 of the layer; surface × 0.5; joint × 0.35 with"),
    ("solver/src/slice/build/mod.rs", "SURFACE_OF_PEAK", "0.5", "numerics", "at most c/18 of the layer; surface × 0.5; joint × 0.35 with"),
    ("solver/src/slice/build/mod.rs", "JOINT_OF_PEAK", "0.35", "numerics", "at most c/18 of the layer; surface × 0.5; joint × 0.35 with"),
    ("solver/src/slice/build/mod.rs", "GROWTH_ALONE", "0.5", "numerics",
     "in a run by the rule alone | growth × 0.5, at most c/22 of the layer |"),
    ("solver/src/slice/build/mod.rs", "PARTS_ALONE", "22.0", "numerics",
     "in a run by the rule alone | growth × 0.5, at most c/22 of the layer |"),
    ("solver/src/slice/build/mod.rs", "PARTS_OF_FRONT", "6.0", "numerics",
     "at most c/6 of the depth of the freezing front at any report, but not below 0.35 of"),
    ("solver/src/slice/build/mod.rs", "LEAST_FOR_FRONT", "0.35", "numerics",
     "at most c/6 of the depth of the freezing front at any report, but not below 0.35 of"),
    ("solver/src/slice/build/mod.rs", "STRETCH", "1.25", "numerics", "a thicker layer has more intervals, in steps of a quarter"),
    ("solver/src/line/front.rs", "EARLY", "0.8", "numerics", "The front counts from 0.8 of this time."),
    ("solver/src/march/mod.rs", "WELL_BEFORE", "1.0 / 16.0", "numerics", "a sixteenth of the time above 100 °C, too"),
    ("solver/src/march/mod.rs", "WATER_BALANCE", "1e-10", "numerics", "checks the water's heat balance to 1e-10"),
    ("solver/src/march/mod.rs", "BALANCE", "1e-12", "theory", "must agree to 1e-12 of the product's heat content"),
    ("solver/src/march/assemble.rs", "LONG_BOILING", "0.1", "theory", "reports more than 0.1 s, and warns"),
    ("solver/src/march/assemble.rs", "LOW_PECLET", "100.0", "theory", "Below 100 the program warns."),
    ("solver/src/line/settings.rs", "OF_ACCURACY", "20.0", "numerics", "A step may err by 20 ε:"),
    ("solver/src/line/trip.rs", "BEFORE_REPORT", "0.05", "numerics", "These may err by ε only, since there the estimate is the error."),
    ("solver/src/line/trip.rs", "AFTER_KINK", "0.05", "numerics", "These may err by ε only, since there the estimate is the error."),
    ("solver/src/engine/kernel/step.rs", "SAFETY", "0.9", "numerics", "Steps change by 0.9 err^(−¼) within 0.15 to 6."),
    ("solver/src/engine/kernel/step.rs", "SHORTER", "0.15", "numerics", "Steps change by 0.9 err^(−¼) within 0.15 to 6."),
    ("solver/src/engine/kernel/step.rs", "LONGER", "6.0", "numerics", "Steps change by 0.9 err^(−¼) within 0.15 to 6."),
    ("solver/src/engine/kernel/peak.rs", "REDUCED", "0.8", "numerics", "the matrix takes c min(1, max(s, 2s − 0.8))"),
    ("solver/src/study/drive/attempt.rs", "FLOOR", "0.2", "numerics", "Their sum is not stated below a fifth of the tolerance."),
    ("solver/src/study/drive/attempt.rs", "TIGHTER", "8.0", "numerics", "the largest difference from a march eight times tighter"),
    ("solver/src/study/drive/attempt.rs", "SHARE", "1.5", "theory", "The second part is 1.5 times the"),
    ("solver/src/study/drive/pieces.rs", "MOST", "16", "theory", "It gets 3, 5, 9, 17 Chebyshev points in u"),
    ("solver/src/study/drive/wheel.rs", "AT_REST", "8", "numerics", "At a standstill it is evaluated so in each of eight pieces."),
    ("solver/src/study/drive/mod.rs", "NOTHING", "1e-6", "numerics", "Two stretches of lumps or bare spots less than 1 µm apart are one."),
    ("solver/src/study/cooling.rs", "SHARES", "[0.10, 0.35, 0.65]", "theory",
     "A share below 10 % is called the plastic's, to 35 % mostly the plastic's, to 65 % both"),
    ("solver/src/film/moving.rs", "ENTRY_OFFSET", "2.5e-3", "decisions", "**The entry of a film law is shifted by 2.5 mm.**"),
    ("solver/src/film/moving.rs", "TURBULENT_IN_WATER", "0.75", "decisions", "So the law takes 0.75 of it."),
    ("solver/src/film/moving.rs", "TRANSITION", "[2e5, 600.0]", "film-laws", "w = 1/[1 + (2e5/Re_x)^4 + (600/Re_a)^4]"),
    ("solver/src/film/moving.rs", "ROUNDED", "[0.1, 5e-6]", "film-laws", "rounded at zero, over 0.1 K and 5e-6 1/K"),
    ("solver/src/film/surface.rs", "EMISSIVITY", "0.94", "decisions", "and to 0.94 where the air law answers"),
    ("solver/src/film/surface.rs", "STEFAN_BOLTZMANN", "5.670374419e-8", "theory", "Stefan-Boltzmann constant, 5.670374419e-8 W/(m² K⁴)"),
    ("solver/src/material/mod.rs", "FINISHED", "Celsius(23.0)", "glossary", "The size when everything is at 23 °C"),
    ("solver/src/material/mod.rs", "COLDEST_MELT", "Celsius(100.0)", "gauges-and-water", "or above 100 °C where its material has none"),
    ("solver/src/case/section.rs", "ROOM", "Celsius(25.0)", "case-file", "that of the nearest air section, or 25 °C"),
    ("solver/src/case/cautions.rs", "LEGIONELLA", "[20.0, 45.0]", "gauges-and-water",
     "Water that stands between 20 and 45 °C grows Legionella"),
    ("solver/src/study/fit/steady.rs", "NEAR", "[0.5, 0.01]", "fit", "with settings within 1 % and 0.5 K"),
    ("solver/src/study/fit/statistics.rs", "CONFIDENCE", "0.95", "fit", "each with its 95 % interval"),
    ("solver/src/study/fit/statistics.rs", "SELDOM", "0.05", "fit", "(sign test, 5 %)"),
    ("solver/src/study/fit/judge.rs", "CHANCE", "0.01", "fit", "(Kendall, 1 %)"),
    ("solver/src/study/spread/summary.rs", "SHARES", "[0.05, 0.25, 0.5, 0.75, 0.95]", "spread", "5, 25, 50, 75, 95 %"),
    ("solver/src/study/spread/lengths.rs", "CHANCES", "[0.5, 0.75, 0.9, 0.95, 0.99]", "spread", "50, 75, 90, 95, 99 %"),
    ("solver/src/file/mod.rs", "LARGEST", "1_000_000", "messages", "reads at most 1,000,000 bytes of a case, study or data file"),
    ("solver/src/file/conductor.rs", "SHORTEST_LAY", "4.0", "case-file", "of one turn; at least 4 diameters over all"),
]

# The same of numbers that stand in an expression of a source, by its text on one line.
EXPRESSIONS = [
    ("solver/src/slice/build/mod.rs", "0.008 * (high - low) * libm::pow(x, 1.5) < accuracy / 4.0",
     "numerics", "0.008 ΔT x^1.5 with x = r²/(14.7 α t₁), stays below a quarter of the accuracy wanted"),
    ("solver/src/slice/build/mod.rs", "radii.hot[0] / (14.7 * alpha * times.first_report)",
     "numerics", "0.008 ΔT x^1.5 with x = r²/(14.7 α t₁), stays below a quarter of the accuracy wanted"),
    ("solver/src/slice/build/mod.rs", "libm::pow(fineness.accuracy / ACCURACY, 0.25)", "numerics", "c = (ε/0.009 K)^¼ at most 1.3"),
    ("solver/src/line/settings.rs", "factor: libm::pow(ratio, -0.25)", "numerics", "divides every layer into 8^(1/4) times more intervals"),
    ("solver/src/line/front.rs", "PEAK * lowest", "numerics", "or that at which the melt begins to freeze"),
    ("solver/src/slice/enthalpy.rs", "10.0 * segment.heat_capacity_slope.abs() > segment.heat_capacity",
     "numerics", "changes by more than itself within 10 K"),
    ("solver/src/line/trip.rs", "-0.5 / (GAMMA * water)", "numerics", "steps keep γ Δt |e| below one half"),
    ("solver/src/line/prepare.rs", "libm::exp2(0.5 * steps)", "numerics", "where that is higher, in steps of √2"),
    ("solver/src/film/end.rs", "{ 0.4 + 0.2 / (1.0 + fourth) } else { 0.7 }", "film-laws", "t = 0.4 + 0.2/[1 + (U/5 m/s)^4]; air 0.7"),
    ("solver/src/film/end.rs", "End { laminar: 0.8, turbulent, free: 0.75, stir: 0.75,",
     "film-laws", "low = {[0.8 h_l + w m(t h_t, 0.8 h_l)]^3 + (0.75 h_n)^3 + (0.75 h_s)^3}^(1/3)"),
    ("solver/src/film/end.rs", "End { laminar: 1.2, turbulent: 1.3, free: 1.25, stir, stirred, transition: [5e4, 300.0] }",
     "film-laws", "high = {[1.2 h_l + w' m(1.3 h_t, 1.2 h_l)]^3 + (1.25 h_n)^3 + (1.25 h_s)^3}^(1/3), w' with 5e4 and 300"),
    ("solver/src/maths/sample/joe_kuo.rs", "JOE_KUO: [(u32, &[u32]); 256]", "spread", "up to 256 dimensions"),
    ("cli/src/commands/length/mod.rs", "[0.5, 1.5].map(|factor| factor * case.line_speed)", "length-and-speed", "from half to one and a half of the speed"),
    ("tests/cases.rs", "solution.balance.relative_error.abs() <= 2e-15", "numerics", "(2e-15 of the product's heat content in the cases of this project)"),
    ("solver/src/study/fit/mod.rs", '"surface" | "equalised" => Some(2.0), "core" | "mean" | "hottest" => Some(3.0)',
     "fit", "It is 2 K for surface and mixed temperature, and 3 K for the core."),
    ("solver/src/study/fit/mod.rs", '"water_in" | "water_out" => Some(0.3)', "fit", "It is 0.3 K for water, and 0.01 mm for a diameter"),
    ("solver/src/study/fit/unknown.rs", "(true, _) => 0.02, (false, true) => 0.5",
     "fit", "central differences of 2 % of a factor and 0.5 K of a temperature"),
    ("cli/src/args/spread.rs", "default_value_t = 1024", "spread", "how many samples, 1024 without it"),
    ("cli/src/args/map.rs", 'default_value = "60"', "map", "60 by 60 without it"),
    ("cli/src/args/length.rs", "default_value_t = 13", "length-and-speed", "(13 without it)"),
    ("solver/src/names/keys.rs", "SPEED: Quantity = quantity(Dimension::Speed, 1e-4, 100.0)", "case-file", "line speed, 1e-4 to 100 m/s"),
    ("solver/src/names/keys.rs", "TOLERANCE: Quantity = quantity(Dimension::TemperatureDifference, 1e-5, 5.0)",
     "case-file", "largest error wanted of every reported temperature, 1e-5 to 5 K"),
    ("solver/src/names/keys.rs", "VELOCITY: Quantity = quantity(Dimension::Speed, 0.0, 300.0)", "case-file", "0 to 300 m/s"),
    ("solver/src/names/keys.rs", "STIRRED: Quantity = quantity(Dimension::Speed, 0.0, 10.0)", "case-file", "besides the line, 0 to 10 m/s"),
    ("solver/src/names/keys.rs", "WATER_FLUX: Quantity = quantity(Dimension::WaterFlux, 1e-3, 100.0)",
     "case-file", "water that arrives at the product's surface, 0.001 to 100 kg/(m² s)"),
]


def test_pages_state_the_constants_of_the_sources():
    wrong = []
    for path, name, value, where, words in CONSTANTS:
        source = (PROJECT / path).read_text(encoding="utf-8")
        found = re.search(rf"^\s*(?:pub(?:\([^)]*\))? )?const {name}: [^=]+ = ([^;]+);", source, flags=re.MULTILINE)
        if not found or found.group(1) != value:
            wrong.append(f"{path}: {name} is {found and found.group(1)}, and the page {where} states {value}")
        if words not in page(where):
            wrong.append(f"docs/{where}.md does not say: {words}")
    for path, expression, where, words in EXPRESSIONS:
        if expression not in " ".join((PROJECT / path).read_text(encoding="utf-8").split()):
            wrong.append(f"{path} has no {expression}, and the page {where} states it")
        if words not in page(where):
            wrong.append(f"docs/{where}.md does not say: {words}")
    assert wrong == []


def end_of_band(varied, value):
    """An end of a usual band as the page writes it."""
    if varied == "Kelvin":
        return f"{value:+g} K"
    if varied == "Factor":
        return f"{100 * (value - 1):+.0f} %"
    return f"{value:g} W/(m2 K)" if math.isfinite(value) else "perfect"


def test_the_page_on_bands_has_the_usual_ones():
    source = (PROJECT / "solver/src/study/band/usual.rs").read_text(encoding="utf-8")
    bands = re.findall(r'what: "([^"]+)",\s*varied: Varied::(\w+),\s*ends: \[([^\]]+)\]', source)
    assert len(bands) == 10
    says, wrong = page("bands"), []
    for what, varied, ends in bands:
        low, high = (ratio(end.replace("f64::INFINITY", "inf")) for end in ends.split(","))
        shown = [end_of_band(varied, end) for end in (low, high)] if varied != "Lean" else ["its low end", "its high end"]
        row = f"| {what} | {shown[0]} | {shown[1]} |"
        wrong += [row] if row not in says else []
    contacts = (PROJECT / "solver/src/names/contacts.rs").read_text(encoding="utf-8")
    named = re.findall(r'name: "(\w+)",\s*conductance: (\d+)\.0,\s*band: \[(\d+)\.0, (\d+)\.0\]', contacts)
    assert len(named) == 3
    for name, *numbers in named:
        words = "`{}` {}{} ({} to {})".format(name, "is " if name == "pressed" else "", *numbers)
        wrong += [words] if words not in page("case-file") else []
    assert wrong == []


def words(command):
    """The words of a command, without where its files go: that changes nothing of what is printed."""
    said = shlex.split(command, comments=True)
    files = [at for at, word in enumerate(said) if word in {"--out", "--report", "--write"}]
    return [word for at, word in enumerate(said) if at not in files and at - 1 not in files]


def test_the_command_that_a_page_shows_is_that_of_its_output():
    wrong, compared = [], 0
    for path in sorted((PROJECT / "docs").glob("*.md")):
        text = path.read_text(encoding="utf-8")
        blocks = re.sub(r"\\\n\s*", "", text)
        shown = [words(command) for command in re.findall(r"(?:^    |`)quenchway (\w+ cases/[^\n`]*)", blocks, flags=re.MULTILINE)]
        for command in re.findall(r"<!-- output: (.*?) lines ", text):
            asked = words(command)
            alike = [other for other in shown if other[:2] == asked[:2]]
            if alike and " with " not in command:
                compared += 1
                wrong += [f"{path.name}: {command}"] if asked not in alike else []
    assert wrong == [] and compared > 8


def test_the_page_of_materials_has_the_shifts_of_the_setting_point():
    source = (PROJECT / "solver/src/material/setting.rs").read_text(encoding="utf-8").replace("OF_THE_CURVES", "1.0 / 6.0")
    text = (PROJECT / "docs/materials.md").read_text(encoding="utf-8")
    families = re.findall(r'materials: &\["([^"]+)".*?points: &\[(.*?)\]\],\s*covered: ([\d.]+),\s*unsure: ([\d.]+),', source, flags=re.DOTALL)
    assert len(families) == 3
    for material, points, covered, unsure in families:
        points = [(ratio(rate), float(shift)) for rate, shift in re.findall(r"\[([\d. /]+), (-?[\d.]+)", points)]
        steps = [pair for pair in pairwise(points) if pair[0][1] >= 0]
        slopes = [(end - start) / math.log10(to / rate) for (rate, start), (to, end) in steps]
        (row,) = [line.split("|") for line in text.split("\n") if line.startswith(f"| `{material}`") and "K/s |" in line]
        stated = re.findall(r"([\d.]+) \(to (\d+)", row[2])
        assert [(round(slope, 1), to) for slope, (_, (to, _)) in zip(slopes, steps, strict=True)] == [
            (float(slope), float(to)) for slope, to in stated]
        assert (row[3].strip(), row[4].strip()) == (f"{float(covered):g} K/s", f"{float(unsure):g} K")


def test_the_page_of_messages_has_every_warning_of_a_line_in_time():
    sources = ["solver/src/study/drive/answer/beside.rs", "cli/words/src/moves/mod.rs"]
    kinds = [kind for path in sources for kind in re.findall(r'kind: "([^"]+)"', (PROJECT / path).read_text(encoding="utf-8"))]
    assert len(kinds) >= 10
    assert [kind for kind in kinds if f"| `{kind}` |" not in page("messages")] == []


def test_the_page_on_reports_names_every_command_that_writes_one():
    program = PROGRAM if PROGRAM.is_absolute() else PROJECT / PROGRAM

    def shown(*arguments):
        return subprocess.run([program, *arguments], capture_output=True, text=True, check=True).stdout

    commands = re.findall(r"^  ([a-z]+) ", shown("--help").partition("Commands:")[2].partition("\n\n")[0], flags=re.MULTILINE)
    writing = {command for command in commands if "--report" in shown("help", command)}
    sentence = page("report-page").split("It works for all of these: ")[1].split(".")[0]
    assert writing == set(re.findall(r"`([a-z]+)`", sentence)) and len(writing) > 10
