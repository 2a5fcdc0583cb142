"""The card for the operators in a real browser: one sheet of A4 and of US Letter, with its cautions."""

import subprocess
from pathlib import Path

import pytest

from browser import PAPER

PROJECT = Path(__file__).resolve().parents[2]
CASES = {
    "house-wire-stop": ["stop"],
    "house-wire-ramp": ["ramp", "--from", "20 m/min", "--to", "150 m/min"],
    "house-wire-reel-change": ["reel", "--standstill", "60 s"],
}


@pytest.fixture(scope="module", params=CASES)
def card(request, program, tmp_path_factory):
    path = tmp_path_factory.mktemp("card") / f"{request.param}.html"
    command, *flags = CASES[request.param]
    case = PROJECT / "cases" / "drive" / f"{request.param}.toml"
    subprocess.run([program, command, case, *flags, "--card", path, "--quiet"], check=True)
    return path


@pytest.mark.parametrize("paper", PAPER)
def test_the_card_is_one_sheet_with_its_cautions(chromium, card, tmp_path, paper):
    chromium.open(card)
    about, text = chromium.printed(tmp_path / "card.pdf", paper)
    assert int(about["Pages"]) == 1
    words = " ".join(text.split())
    for caution in [
        "In danger stop at once",
        "hydrogen chloride",
        "Keep hands out",
        "nip points",
        "Local codes and licensed practice prevail",
    ]:
        assert caution in words, caution
