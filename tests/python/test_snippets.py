"""Every Python snippet of the book runs, in a fresh directory, on the files that the commands beside it write."""

import os
import re
import subprocess
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = Path(os.environ.get("QUENCHWAY_BIN", "target/release/quenchway"))
CASES = PROJECT / "cases"
AXES = ["--x", "line.speed=100 m/min..400 m/min", "--y", "section.trough.length=5 m..40 m", "--points", "8x6"]
WATER = ["--speeds", "15 m/min..40 m/min", "--points", "3"]
FIT = ["--data", str(CASES / "trials/house-wire-trial.csv"), "--unknown", "section.trough.film_factor"]

# What makes the files that a page's snippets read. A page with snippets that is not here fails the test.
COMMANDS = {
    "fit": [["fit", "house-wire.toml", *FIT, "--unknown", "layer.conductor.temperature", "--out", "results"]],
    "gauges-and-water": [["water", "pe-core-series-water.toml", *WATER, "--out", "cards"]],
    "length-and-speed": [["length", "multi-pass-wire.toml", "--speeds", "300 m/min..800 m/min", "--points", "3", "--out", "results"]],
    "map": [["map", "house-wire.toml", *AXES, "--show", "capstan.core", "--out", "maps"]],
    "results-file": [["run", "house-wire.toml", "--out", "out"]],
    "spread": [["spread", "house-wire.toml", "--samples", "64", "--no-length", "--out", "results"]],
    "sweep": [["sweep", f"studies/{name}.toml", "--out", "results"] for name in ("speed-and-length", "four-inputs")],
}
# Pages whose code is run elsewhere.
ELSEWHERE = {"python"}


def snippets(page):
    return re.findall(r"```python\n(.*?)```", page.read_text(encoding="utf-8"), flags=re.DOTALL)


PAGES = sorted(page.stem for page in (PROJECT / "docs").glob("*.md") if snippets(page) and page.stem not in ELSEWHERE)


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("page", PAGES)
def test_the_page_shows_code_that_runs(page, tmp_path, monkeypatch, capsys):
    program = PROGRAM if PROGRAM.is_absolute() else PROJECT / PROGRAM
    monkeypatch.chdir(tmp_path)
    for command, case, *rest in COMMANDS[page]:
        subprocess.run([program, command, CASES / case, *rest, "--quiet"], check=True)
    for code in snippets(PROJECT / "docs" / f"{page}.md"):
        exec(compile(code, f"docs/{page}.md", "exec"), {})
        assert capsys.readouterr().out, "a snippet shows what it finds"
