"""What the tests of the module share. QUENCHWAY_BIN names the program whose answers the module must give."""

import json
import os
import subprocess
from pathlib import Path

import pytest
import quenchway as qw

PROJECT = Path(__file__).resolve().parents[3]
CASES = sorted((PROJECT / "cases").glob("*.toml"))
DRIVES = sorted((PROJECT / "cases/drive").glob("*.toml"))
BAD_CASES = sorted((PROJECT / "tests/bad_cases").glob("*.toml"))


@pytest.fixture(scope="session")
def program():
    """Runs the program; `make test-python` says where it is."""
    path = os.environ.get("QUENCHWAY_BIN")
    assert path, "QUENCHWAY_BIN names no program: run `make test-python`"

    def run(*arguments, status=0):
        done = subprocess.run([path, *map(str, arguments)], capture_output=True, text=True, check=False)
        assert done.returncode == status, done.stderr
        return done.stdout

    return run


@pytest.fixture(scope="session")
def house():
    return qw.Case.from_toml(PROJECT / "cases/house-wire.toml")


def told(text):
    """An answer in JSON without what differs from program to program and from run to run."""
    answer = json.loads(text)
    assert answer.pop("program")
    answer["numerics"].pop("wall_s")
    return answer
