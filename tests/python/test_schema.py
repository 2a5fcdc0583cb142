"""The JSON Schemas that editors get: every case and study of the project fits them, wrong ones do not."""

import json
import os
import subprocess
import tomllib
from pathlib import Path

import jsonschema
import pytest

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = os.environ.get("QUENCHWAY_BIN")
STUDY = """
case = "wire.toml"
outputs = ["capstan.core"]
"""


def checker(*flags):
    assert PROGRAM, "QUENCHWAY_BIN names no program: run `make test-python`"
    program = Path(PROGRAM)
    program = program if program.is_absolute() else PROJECT / program
    text = subprocess.run([program, "schema", *flags], check=True, capture_output=True, text=True).stdout
    schema = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


@pytest.fixture(scope="module")
def of_a_case():
    return checker()


@pytest.fixture(scope="module")
def of_a_study():
    return checker("--study")


@pytest.mark.parametrize("path", sorted(PROJECT.glob("cases/*.toml")), ids=lambda path: path.name)
def test_every_case_fits(path, of_a_case):
    of_a_case.validate(tomllib.loads(path.read_text()))


@pytest.mark.parametrize(
    "path", sorted([*PROJECT.glob("cases/studies/*.toml"), PROJECT / "tests/cluster/study.toml"]), ids=lambda path: path.name
)
def test_every_study_fits(path, of_a_study):
    of_a_study.validate(tomllib.loads(path.read_text()))


@pytest.mark.parametrize(
    "text",
    [
        STUDY + '[vary]\n"line.speed" = { from = "1 m/s", to = "2 m/s", points = 3 }',
        STUDY + '[vary]\nline.speed = ["1 m/s", "2 m/s"]\nsection.trough.length = { from = "1 m", to = "2 m", step = "0.5 m" }',
        STUDY + 'method = "sobol"\nsamples = 64\nseed = 3\n[vary]\n"line.speed" = { normal = ["1 m/s", "0.1 m/s"] }',
    ],
)
def test_good_forms_fit(text, of_a_study):
    of_a_study.validate(tomllib.loads(text))


@pytest.mark.parametrize(
    "text",
    [
        STUDY,
        STUDY.replace("outputs", "output") + '[vary]\n"line.speed" = ["1 m/s"]',
        STUDY.replace('["capstan.core"]', "[]") + '[vary]\n"line.speed" = ["1 m/s"]',
        STUDY + "[vary]",
        STUDY + '[vary]\n"line.speed" = []',
        STUDY + '[vary]\n"line.speed" = "1 m/s"',
        STUDY + '[vary]\n"line.speed" = { from = "1 m/s", points = 3 }',
        STUDY + '[vary]\n"line.speed" = { from = "1 m/s", to = "2 m/s", point = 3 }',
        STUDY + '[vary]\n"line.speed" = { from = "1 m/s", to = "2 m/s", points = 3, step = "1 m/s" }',
        STUDY + '[vary]\n"line.speed" = { normal = ["1 m/s"] }',
        STUDY + 'samples = 64\n[vary]\n"line.speed" = ["1 m/s"]',
        STUDY + 'method = "sobol"\n[vary]\n"line.speed" = ["1 m/s"]',
        STUDY + 'method = "sobol"\nsamples = 0\n[vary]\n"line.speed" = ["1 m/s"]',
        STUDY + 'fields = ["colour"]\n[vary]\n"line.speed" = ["1 m/s"]',
    ],
)
def test_bad_forms_do_not(text, of_a_study):
    with pytest.raises(jsonschema.ValidationError):
        of_a_study.validate(tomllib.loads(text))


def test_a_misspelt_key_of_a_case_does_not_fit(of_a_case):
    text = (PROJECT / "cases/house-wire.toml").read_text()
    with pytest.raises(jsonschema.ValidationError):
        of_a_case.validate(tomllib.loads(text.replace("speed =", "sped =", 1)))
