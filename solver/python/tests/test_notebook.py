"""What a notebook shows, in a real browser: everything can be read on a light page and on a dark one, and no page is scrolled sideways."""

import sys

import pytest
import quenchway as qw
from conftest import PROJECT

sys.path.insert(0, str(PROJECT / "tests/python"))
import browser

# Background and letters of a notebook in its light and in its dark colours.
THEMES = {"light": ("#ffffff", "#1f1f1f"), "dark": ("#111111", "#e8e8e8"), "grey": ("#1e1e1e", "#cccccc")}
# The least contrast of text with its background over the page (WCAG 2.2, success criterion 1.4.3), by relative luminance.
CONTRAST = """
(() => {
    const pencil = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
    const light = (colour) => {
        pencil.fillStyle = colour;
        pencil.fillRect(0, 0, 1, 1);
        const [red, green, blue] = [...pencil.getImageData(0, 0, 1, 1).data].map((value) => {
            const part = value / 255;
            return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
        });
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    };
    const page = light(getComputedStyle(document.body).backgroundColor);
    const found = [];
    const walk = document.createTreeWalker(document.querySelector('.quenchway'), NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
        const one = walk.currentNode.parentElement;
        if (!walk.currentNode.data.trim() || ['STYLE', 'title'].includes(one.tagName)) continue;
        const style = getComputedStyle(one);
        const text = light(one.tagName === 'text' ? style.fill : style.color);
        found.push([(Math.max(text, page) + 0.05) / (Math.min(text, page) + 0.05), one.outerHTML]);
    }
    return [found.length, found.filter(([contrast]) => contrast < 4.5)];
})()
"""


@pytest.fixture(scope="module")
def chromium():
    if not browser.find():
        browser.unseen("chromium is needed: NOTHING LOOKED AT THE NOTEBOOK (make setup-browser)")
    opened = browser.Browser()
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def answers(house):
    return {
        "missed": qw.march(house, band=True),
        "met": qw.march(house.with_values({"line.speed": 2.0})),
        "drive": qw.drive(qw.Case.from_toml(PROJECT / "cases/drive/house-wire-ramp.toml"), every=20.0),
    }


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("name", ["missed", "met", "drive"])
def test_an_answer_can_be_read_on_every_page(chromium, answers, tmp_path, name, theme):
    background, letters = THEMES[theme]
    page = tmp_path / "page.html"
    head = "<!doctype html><meta charset='utf-8'><meta name='viewport' content='width=device-width'>"
    body = f"<body style='background:{background};color:{letters};font:14px sans-serif'>"
    page.write_text(head + body + answers[name]._repr_html_())
    for width in (400, 1000):
        assert chromium.open(page, width) == [page.resolve().as_uri()]
        assert chromium.value("document.documentElement.scrollWidth") <= width
    texts, faint = chromium.value(CONTRAST)
    assert texts > 50 and faint == []
