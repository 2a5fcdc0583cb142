"""The card for the operators in a real browser: one sheet of A4 and of US Letter, with its cautions."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

import browser

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("QUENCHWAY_BIN")
PAPER = {"A4": (210.0, 297.0), "US Letter": (215.9, 279.4)}  # mm
CASES = {
    "house-wire-stop": ["stop"],
    "house-wire-ramp": ["ramp", "--from", "20 m/min", "--to", "150 m/min"],
    "house-wire-reel-change": ["reel", "--standstill", "60 s"],
}


@pytest.fixture(scope="module")
def chromium():
    if not (browser.find() and shutil.which("pdftotext") and shutil.which("pdfinfo") and PROGRAM):
        missing = "chromium, pdftotext and QUENCHWAY_BIN are needed: NOTHING LOOKED AT THE CARD (make setup-browser)"
        pytest.fail(missing) if os.environ.get("CI") == "true" else pytest.skip(missing)
    opened = browser.Browser()
    yield opened
    opened.close()


@pytest.fixture(scope="module", params=CASES)
def card(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("card") / f"{request.param}.html"
    command, *flags = CASES[request.param]
    case = PROJECT / "cases" / "drive" / f"{request.param}.toml"
    subprocess.run([Path(PROGRAM).resolve(), command, case, *flags, "--card", path, "--quiet"], check=True)
    return path


@pytest.mark.parametrize("paper", PAPER)
def test_the_card_is_one_sheet_with_its_cautions(chromium, card, tmp_path, paper):
    chromium.open(card)
    sheet = tmp_path / "card.pdf"
    sheet.write_bytes(chromium.pdf(*PAPER[paper]))
    about = subprocess.run(["pdfinfo", sheet], check=True, capture_output=True, text=True).stdout
    about = dict(line.split(":", 1) for line in about.splitlines() if ":" in line)
    assert int(about["Pages"]) == 1
    text = subprocess.run(["pdftotext", "-layout", sheet, "-"], check=True, capture_output=True, text=True).stdout
    words = " ".join(text.split())
    for caution in [
        "In danger stop at once",
        "hydrogen chloride",
        "Keep hands out",
        "nip points",
        "Local codes and licensed practice prevail",
    ]:
        assert caution in words, caution
