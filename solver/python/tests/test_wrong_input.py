"""A new user's mistakes: each is refused with what to write, and no panic crosses."""

import collections.abc
import io
import types

import numpy as np
import pytest
import quenchway as qw
from conftest import PROJECT
from quenchway import _engine

SPEED, LENGTH, OUTPUTS = "line.speed", "section.trough.length", ["capstan.core"]
RAMP = PROJECT / "cases/drive/house-wire-ramp.toml"


class Unfriendly:
    def __float__(self):
        raise RuntimeError("no number")

    def __fspath__(self):
        raise RuntimeError("no path")

    def __index__(self):
        raise RuntimeError("no index")

    def __repr__(self):
        raise RuntimeError("no words")


HOSTILE = [
    *(None, True, -1, 0, 10**400, 2**63, 1.5, float("nan"), float("inf"), 1j, "", "x", "150", "\ud800", "１５０ m/min", "a\0b"),
    *("9" * 50_000 + " m", b"x", [], [[]], [1.0, [2.0]], {}, {1: 2}, {"line": None}, {SPEED: "\ud800"}, {"": 1.0}, set(), object()),
    *(Unfriendly(), io.StringIO("x"), np.array([]), np.array([1.0, 2.0]), np.array(None), np.datetime64("2026-01-01"), qw.Case),
]


@pytest.fixture(scope="module")
def calls(house):
    """Every function that takes something, by its name, as a function of one of its arguments."""
    solution, driven = qw.march(house), qw.drive(qw.Case.from_toml(RAMP), every=20.0)
    found = qw.batch(house, {SPEED: [2.0]}, OUTPUTS)
    return {
        **{name: getattr(qw.Case, name) for name in ("from_toml", "from_text", "from_dict")},
        **{name: getattr(house, name) for name in ("with_values", "get", "show")},
        "with_values, a value": lambda value: house.with_values({SPEED: value}),
        "parse": lambda value: house.parse(SPEED, value),
        "parse, a path": lambda value: house.parse(value, "1 m/s"),
        "batch": lambda value: qw.batch(value, {}, OUTPUTS),
        "batch, values": lambda value: qw.batch(house, value, OUTPUTS),
        "batch, a value": lambda value: qw.batch(house, {SPEED: value}, OUTPUTS, strict=True),
        "batch, outputs": lambda value: qw.batch(house, {SPEED: []}, value),
        "batch, an output": lambda value: qw.batch(house, {SPEED: []}, [value]),
        "batch, threads": lambda value: qw.batch(house, {SPEED: []}, OUTPUTS, threads=value),
        "of a batch": found.__getitem__,
        "Solution.get": solution.get,
        "stations": solution.stations.__getitem__,
        "to_xarray": solution.to_xarray,
        "seen": driven.seen,
        "drive, every": lambda value: qw.drive(house, every=value),
        "converge, levels": lambda value: qw.converge(house.with_values({"layer.insulation.diameter": 1e-3}), value),
        **{name: getattr(qw, name) for name in ("march", "top_speed", "needed_length", "converge", "drive")},
    }


REFUSED = (TypeError, ValueError, KeyError, OSError, ArithmeticError, RuntimeError)


@pytest.mark.parametrize("index", range(len(HOSTILE)))
def test_no_panic_crosses(calls, index):
    for name, call in calls.items():
        try:
            call(HOSTILE[index])
        except REFUSED as error:
            # A panic is a BaseException, and the test ends with it.
            assert str(error), name
            assert "fault of the engine" not in str(error), name


def refused(error, words, call):
    with pytest.raises(error) as caught:
        call()
    assert words in str(caught.value)


def test_a_file_that_cannot_be_read_is_named(tmp_path):
    with pytest.raises(FileNotFoundError) as caught:
        qw.Case.from_toml(tmp_path / "none.toml")
    assert caught.value.filename == str(tmp_path / "none.toml")
    refused(IsADirectoryError, str(tmp_path), lambda: qw.Case.from_toml(tmp_path))
    refused(TypeError, "not int", lambda: qw.Case.from_toml(0))
    refused(ValueError, "Case.from_text reads the text of a case", lambda: qw.Case.from_toml(qw.EXAMPLE))
    refused(qw.CaseError, "Case.from_toml reads a file", lambda: qw.Case.from_text("house-wire.toml"))
    odd = tmp_path / "größe \U0001f9f5.toml"
    odd.write_text(qw.EXAMPLE)
    assert qw.Case.from_toml(odd).text == qw.Case.from_toml(bytes(odd)).text == qw.EXAMPLE


@pytest.mark.parametrize("question", [qw.march, qw.top_speed, qw.needed_length, qw.converge, qw.drive])
def test_what_is_no_case_is_told_how_to_read_one(question):
    refused(TypeError, "a str is no Case; write Case.from_toml(path)", lambda: question("house-wire.toml"))
    refused(TypeError, "a type is no Case; write Case.from_toml(path)", lambda: question(qw.Case))


def test_numbers_of_threads_and_levels_have_a_range(house):
    for threads in (0, -1, 5000, 10**30):
        refused(ValueError, f"threads is {threads}; it takes 1 to 4096", lambda: qw.march(house, threads=threads))
    for levels in (2, 9, -1, 10**30):
        refused(ValueError, f"levels is {levels}; it takes 3 to 8", lambda: qw.converge(house, levels))


def test_a_value_is_one_number_or_one_text(house):
    for value, kind in [(True, "bool"), ([2.0], "list"), (np.array([2.0]), "ndarray"), (None, "NoneType"), (b"2 m/s", "bytes")]:
        refused(TypeError, f"a {kind} is neither a number in SI nor a text", lambda: house.with_values({SPEED: value}))
    refused(TypeError, "`batch` takes arrays", lambda: house.with_values({SPEED: np.array([2.0])}))
    refused(TypeError, 'a int is no key path; write one such as "line.speed"', lambda: house.with_values({1: 2.0}))
    refused(ValueError, "line.speed is given twice", lambda: house.with_values({SPEED: 2.0, '"line".speed': 3.0}))
    refused(qw.CaseError, "outside what is possible", lambda: house.with_values({SPEED: 10**400}))
    for value in (np.float32(2.0), np.int64(2), np.array(2.0), 2):
        assert house.with_values({SPEED: value}).get(SPEED) == 2.0


class Ours(collections.abc.Mapping):
    def __init__(self, held):
        self.held = held

    def __getitem__(self, name):
        return self.held[name]

    def __iter__(self):
        return iter(self.held)

    def __len__(self):
        return len(self.held)


def test_any_mapping_is_a_table(house):
    import tomllib

    assert house.with_values(Ours({SPEED: 2.0})).get(SPEED) == 2.0
    tables = Ours(tomllib.loads(house.text))
    assert qw.Case.from_dict(tables).resolved() == qw.Case.from_dict(types.MappingProxyType(tables.held)).resolved()


def test_a_value_without_a_place_in_a_case_is_named():
    for tables, words in [
        ({"line": {"speed": None}}, "line.speed: a NoneType has no place in a case; write a text with its unit"),
        ({"layer": [{"diameter": "1 mm"}, {"diameter": np.int64(2)}]}, "layer[1].diameter: a int64 has no place"),
        ({"line": {3: 1}}, "line, key 3: a int has no place in a case"),
    ]:
        refused(TypeError, words, lambda: qw.Case.from_dict(tables))
    endless = {}
    endless["line"] = endless
    refused(ValueError, "tables this deep", lambda: qw.Case.from_dict(endless))
    refused(qw.CaseError, "line.speed", lambda: qw.Case.from_dict({"line": {"speed": 2.5}}))


def test_a_batch_says_what_it_takes(house):
    refused(TypeError, 'write a dict, such as {"line.speed": [2.0, 2.5]}', lambda: qw.batch(house, [2.0], OUTPUTS))
    refused(TypeError, "outputs is a str; write a list of names", lambda: qw.batch(house, {}, "capstan.core"))
    refused(TypeError, 'outputs is a NoneType; write a list of names, such as ["capstan.core"]', lambda: qw.batch(house, {}, None))
    refused(TypeError, "a str is no Case", lambda: qw.batch("house", {}, OUTPUTS))
    refused(ValueError, "line.speed: setting an array element", lambda: qw.batch(house, {SPEED: [1.0, [2.0]]}, OUTPUTS))
    odd = {SPEED: [1.0, 2.0], LENGTH: [1.0, 2.0, 3.0]}
    refused(ValueError, "line.speed (2,), section.trough.length (3,)", lambda: qw.batch(house, odd, OUTPUTS))
    for values in ([True], [1j], [b"2 m/s"], np.array(["2026-01-01"], "datetime64[D]"), {1.0}):
        refused(TypeError, "neither numbers in SI nor texts with a unit", lambda: qw.batch(house, {SPEED: values}, OUTPUTS))


def test_a_batch_that_no_machine_holds_is_refused(house):
    huge = {SPEED: np.broadcast_to(2.0, (10**5, 1)), LENGTH: np.broadcast_to(9.0, (1, 10**5))}
    refused(ValueError, "10000000000 cases and a batch takes at most 100000000", lambda: qw.batch(house, huge, OUTPUTS))
    one = {SPEED: np.broadcast_to(2.0, (10**6, 10**6))}
    refused(ValueError, "ask for them in parts", lambda: qw.batch(house, one, OUTPUTS))
    refused(MemoryError, "no room for", lambda: _engine._batch(house, [], [], 2**50, OUTPUTS, None))


def test_a_batch_of_no_case_is_a_data_set(house):
    data = qw.batch(house, {SPEED: np.empty((0, 1)), LENGTH: [9.0, 12.0, 15.0]}, OUTPUTS).to_xarray()
    assert data["capstan.core"].sizes == {SPEED: 0, LENGTH: 3}
    assert qw.batch(house, {SPEED: np.empty((0, 3))}, OUTPUTS).to_xarray()["capstan.core"].shape == (0, 3)


def test_texts_of_a_table_and_gaps_are_values(house):
    texts = np.array(["150 m/min", "2 m/s"], dtype=object)
    numbers = qw.batch(house, {SPEED: [2.5, 2.0]}, OUTPUTS)["capstan.core"]
    assert np.array_equal(qw.batch(house, {SPEED: texts}, OUTPUTS)["capstan.core"], numbers)
    gaps = qw.batch(house, {SPEED: np.ma.masked_array([2.5, 2.0], [False, True])}, OUTPUTS)
    assert gaps["capstan.core"][0] == numbers[0] and np.isnan(gaps["capstan.core"][1])
    assert [index for index, _ in gaps.problems] == [(1,)]


def test_parts_of_an_answer_that_are_not_there_are_told_with_those_that_are(house):
    solution = qw.march(house)
    for parts in (solution.stations, solution.sections):
        with pytest.raises(qw.UnknownName) as caught:
            parts["capstn"]
        assert all(name in str(caught.value) for name in parts) and caught.value.name == "capstn"
        assert parts.get("capstn") is None
    refused(qw.UnknownName, "no output 'core'; it has capstan.core", lambda: qw.batch(house, {}, OUTPUTS)["core"])
