"""What is wrong is told with all problems, and no panic crosses."""

import pickle
import re

import pytest
import quenchway as qw
from conftest import BAD_CASES, PROJECT


@pytest.mark.parametrize("path", BAD_CASES, ids=lambda path: path.stem)
def test_every_wrong_case_is_a_case_error_with_the_keys_of_its_expected_text(path):
    expected = path.with_suffix(".txt").read_text()
    with pytest.raises(qw.CaseError) as caught:
        qw.Case.from_toml(path)
    problems = caught.value.problems
    report = str(caught.value)
    count = re.search(r"^(\d+) problems? in", expected, re.MULTILINE)
    assert len(problems) == int(count[1]) and report.endswith("nothing was computed")
    words = " ".join(expected.split())
    for problem in problems[:20]:
        if problem.key:
            assert problem.key in words, problem
        assert problem.message in report and problem.help
        if problem.line is not None:
            assert f"line {problem.line}, column {problem.column}:" in report
            assert f":{problem.line}:{problem.column}]" in expected or f"(line {problem.line}," in expected, problem


def test_there_are_wrong_cases():
    assert len(BAD_CASES) > 100


def test_a_report_points_at_the_place():
    with pytest.raises(qw.CaseError) as caught:
        qw.Case.from_text(qw.EXAMPLE.replace('speed = "150 m/min"', "speed = 150").replace("188 degC", "188 deg"))
    first, second = caught.value.problems
    assert (first.key, second.key) == ("line.speed", "layer.insulation.temperature")
    lines = str(caught.value).splitlines()
    place = next(index for index, line in enumerate(lines) if line.startswith("    speed = 150"))
    assert lines[place + 1].startswith("            ^^^")
    assert lines[place - 1] == f"  the case, line {first.line}, column {first.column}:"
    assert lines[-1] == "2 problems in the case; nothing was computed"


def test_what_cannot_be_read_is_an_error_of_the_file(tmp_path):
    with pytest.raises(FileNotFoundError):
        qw.Case.from_toml(tmp_path / "none.toml")
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'title = "x"\n# \xe9\n')
    with pytest.raises(qw.CaseError, match="line 2 is not UTF-8 text; save it as UTF-8"):
        qw.Case.from_toml(latin)
    large = tmp_path / "large.toml"
    large.write_text("#" * 1_000_001)
    with pytest.raises(qw.CaseError, match="more than 1000000 bytes"):
        qw.Case.from_toml(large)


def test_no_text_steers_a_terminal():
    with pytest.raises(qw.CaseError) as caught:
        qw.Case.from_text('title = "\\u001b[2J\\u202e"\n[line]\nspeed = "fast\\u0007\u200b"\n')
    told = str(caught.value) + "".join(f"{one.key}{one.message}{one.help}" for one in caught.value.problems)
    assert len(caught.value.problems) >= 2 and not re.search("[\x00-\x09\x0b-\x1f\u200b\u202e]", told)


def test_unknown_names_have_suggestions(house):
    with pytest.raises(qw.UnknownName) as caught:
        house.get("section.trouhg.length")
    assert isinstance(caught.value, KeyError) and caught.value.name == "section.trouhg.length"
    assert str(caught.value).endswith("did you mean section.trough.length?")
    with pytest.raises(qw.UnknownName, match="did you mean capstan.core"):
        qw.march(house).get("capstan.cor")


def test_wrong_values_say_what_is_possible(house):
    with pytest.raises(qw.CaseError) as caught:
        house.with_values({"line.speed": "150"})
    (problem,) = caught.value.problems
    assert problem.key == "line.speed" and "has no unit" in problem.message and problem.line is None
    for value in (-1.0, float("nan"), float("inf"), 1e9):
        with pytest.raises(qw.CaseError, match="outside what is possible"):
            house.with_values({"line.speed": value})
    with pytest.raises(TypeError, match="line.speed: a list is neither a number in SI nor a text with a unit"):
        house.with_values({"line.speed": [1.0]})
    with pytest.raises(TypeError):
        house.with_values({1: 1.0})


def test_a_march_without_an_answer_says_which_part(house):
    thin = house.with_values({"layer.insulation.diameter": 1e-3})
    for question in (qw.march, qw.converge):
        with pytest.raises(qw.MarchError, match="has no wall") as caught:
            question(thin)
        assert caught.value.kind == "unphysical" and "insulation" in caught.value.place
        assert isinstance(caught.value, (qw.NoAnswer, ArithmeticError))


@pytest.mark.parametrize(
    "error",
    [
        qw.CaseError("report", [("line.speed", "no unit", None, 1, 2)]),
        qw.MarchError("text", "unphysical", "layer"),
        qw.UnknownName("text", "x"),
        qw.NoAnswer("text"),
    ],
    ids=lambda error: type(error).__name__,
)
def test_errors_travel_between_processes(error):
    back = pickle.loads(pickle.dumps(error))
    assert type(back) is type(error) and str(back) == str(error) and vars(back) == vars(error)


def test_a_case_cannot_be_made_or_changed_from_outside(house):
    with pytest.raises(TypeError):
        qw.Case()
    with pytest.raises(AttributeError):
        house.title = "other"
    assert (PROJECT / "solver/python/quenchway/py.typed").exists()
