"""The page of `run --report` in a real browser: on a wide and a narrow screen, on A4 and on US Letter paper."""

import re
import subprocess
from pathlib import Path

import pytest

from browser import PAPER

PROJECT = Path(__file__).resolve().parents[2]
CASES = ["house-wire", "pe-core-series-water"]  # a limit missed, all limits met


@pytest.fixture(scope="module", params=CASES)
def page(request, program, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / f"{request.param}.html"
    case = PROJECT / "cases" / f"{request.param}.toml"
    subprocess.run([program, "run", case, "--report", path, "--quiet"], check=True)
    return path


@pytest.mark.parametrize("width", [1280, 400])
def test_the_screen_is_never_scrolled_sideways(chromium, page, width):
    chromium.open(page, width)
    assert chromium.value("innerWidth") == width
    assert chromium.value("document.documentElement.scrollWidth") <= width
    assert chromium.screenshot().startswith(b"\x89PNG")


def test_nothing_is_asked_for_from_elsewhere(chromium, page):
    asked = chromium.open(page)
    assert asked[0] == page.resolve().as_uri()
    assert [url[:22] for url in asked[1:]] == ["data:image/png;base64,"] * 4
    assert chromium.value("[...document.images].every(i => i.complete && i.naturalWidth === 1600)")


def test_a_request_would_be_seen(chromium, tmp_path):
    probe = tmp_path / "probe.html"
    probe.write_text("<img src='http://elsewhere.invalid/x.png'><div style='width:3000px'>wide</div>")
    assert "http://elsewhere.invalid/x.png" in chromium.open(probe)
    assert chromium.value("document.documentElement.scrollWidth") >= 3000


def test_the_case_is_folded_away_on_the_screen_and_printed(chromium, page):
    chromium.open(page)
    shown = "getComputedStyle(document.querySelector('pre')).display"
    assert chromium.value(shown) == "none"
    assert chromium.value(f"document.querySelector('#case').click(); {shown}") == "block"


@pytest.mark.parametrize("paper", PAPER)
def test_paper_takes_the_whole_report(chromium, page, tmp_path, paper):
    chromium.open(page)
    sheet = tmp_path / "page.pdf"
    about, text = chromium.printed(sheet, paper)
    size = [float(side) for side in about["Page size"].split("pts")[0].split("x")]
    assert size == pytest.approx([side / 25.4 * 72 for side in PAPER[paper]], abs=1.0)  # Chromium rounds to pixels
    assert 4 <= int(about["Pages"]) <= 6
    verdict = "NOT MET" if page.stem == "house-wire" else "ALL LIMITS ARE MET"
    for words in [verdict, "hot gauge", "capstan", "Cautions", "Appendix: the case as it was computed", "tolerance ="]:
        assert words in text, words
    # The verdict is on the first sheet; no sheet is blank.
    sheets = text.rstrip("\f").split("\f")
    assert verdict in sheets[0]
    assert all(sheet.strip() for sheet in sheets)
    # The first sheet is full but for what the next table would need.
    words = subprocess.run(["pdftotext", "-bbox", "-l", "1", sheet, "-"], check=True, capture_output=True, text=True)
    lowest = max(float(end) for end in re.findall(r'yMax="([0-9.]+)"', words.stdout))
    assert lowest > 0.75 * size[1]
