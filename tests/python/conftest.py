"""Kinds of tests, and the browser of those that look at a page."""

import os
import shutil
from pathlib import Path

import pytest

import browser


@pytest.fixture(scope="module")
def program():
    """The program that writes pages, where there is all that looks at them."""
    program = os.environ.get("QUENCHWAY_BIN")
    if not (browser.find() and shutil.which("pdftotext") and shutil.which("pdfinfo") and program):
        browser.unseen("chromium, pdftotext and QUENCHWAY_BIN are needed: NOTHING LOOKED AT THE PAGE (make setup-browser)")
    return Path(program).resolve()


@pytest.fixture(scope="module")
def chromium(program):
    opened = browser.Browser()
    yield opened
    opened.close()


def pytest_configure(config):
    config.addinivalue_line("markers", "slow: takes long and leaves a smaller one of its kind; make test-all runs it")
