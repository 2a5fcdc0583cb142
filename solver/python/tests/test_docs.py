"""Docstrings run, and the stubs are those of the module."""

import doctest
import re
import subprocess
import sys
from pathlib import Path

import pytest
import quenchway as qw
from quenchway import _answers, _batch, _engine

HERE = Path(__file__).resolve().parent


@pytest.mark.parametrize("module", [qw, _answers, _batch], ids=lambda module: module.__name__)
def test_docstrings_run(module):
    result = doctest.testmod(module, extraglobs={"qw": qw})
    assert result.attempted > 0 and result.failed == 0


def compiled():
    """Every object of the compiled module that has a docstring, by its name."""
    for name in sorted(set(dir(_engine)) - set(dir(object()))):
        thing = getattr(_engine, name)
        if name.startswith("_") or not (callable(thing) or isinstance(thing, type)):
            continue
        yield name, thing
        for part in dir(thing) if isinstance(thing, type) else ():
            if not part.startswith("_"):
                yield f"{name}.{part}", getattr(thing, part)


def test_what_is_public_is_documented_and_its_examples_run():
    parser, runner = doctest.DocTestParser(), doctest.DocTestRunner()
    found = list(compiled())
    assert len(found) > 80
    for name, thing in found:
        assert thing.__doc__ and len(thing.__doc__) > 4, name
        runner.run(parser.get_doctest(thing.__doc__, {"qw": qw}, name, None, None))
    assert runner.tries > 5 and runner.failures == 0
    assert set(qw.__all__) - {"__version__"} == {name for name in dir(qw) if not name.startswith("_")}


@pytest.mark.slow
@pytest.mark.parametrize("command", [["mypy.stubtest", "quenchway"], ["mypy", "--strict", "-p", "quenchway"]], ids=["stubtest", "mypy"])
def test_types_are_those_of_the_module(command, tmp_path):
    done = subprocess.run([sys.executable, "-m", *command], capture_output=True, text=True, cwd=tmp_path, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_page_of_the_book_shows_what_runs(monkeypatch):
    page = (HERE.parents[2] / "docs/python.md").read_text()
    blocks = re.findall(r"```python\n(.*?)```", page, flags=re.DOTALL)
    monkeypatch.chdir(HERE.parents[2])
    parser, runner, names = doctest.DocTestParser(), doctest.DocTestRunner(), {}
    for block in blocks:
        # The names of one snippet hold in those after it.
        test = parser.get_doctest(block, names, "docs/python.md", None, None)
        runner.run(test, clear_globs=False)
        names = test.globs
    assert len(blocks) >= 6 and runner.tries > 15 and runner.failures == 0
