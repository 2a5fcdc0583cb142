"""The module gives the numbers of the program, to the last bit."""

import gc
import json
import os
import time

import numpy as np
import pytest
import quenchway as qw
from conftest import CASES, DRIVES, PROJECT, told

LIGHT = {"house-wire", "jacket-talc", "flat-slab", "three-core-jacket", "poured-jacket"}


def marked(path):
    return pytest.param(path, id=path.stem, marks=() if path.stem in LIGHT else (pytest.mark.slow,))


@pytest.mark.parametrize("path", [marked(path) for path in CASES])
def test_the_json_is_that_of_run(program, path):
    assert told(qw.march(qw.Case.from_toml(path), band=True).to_json()) == told(program("run", path, "--json"))
    without = told(program("run", path, "--json", "--no-band"))
    assert told(qw.march(qw.Case.from_toml(path)).to_json()) == without


def test_a_changed_number_is_a_changed_file(program, house, tmp_path):
    text = house.text
    assert text.count('speed = "150 m/min"') == 1
    edited = tmp_path / "edited.toml"
    edited.write_text(text.replace('speed = "150 m/min"', 'speed = "132.5 m/min"'))
    changed = told(qw.march(house.with_values({"line.speed": "132.5 m/min"})).to_json())
    assert changed.pop("case_changes") == [["line.speed", 132.5 / 60]]
    expected = told(program("run", edited, "--json", "--no-band"))
    assert changed.pop("case_sha256") != expected.pop("case_sha256")
    assert changed == expected


def test_numbers_go_in_as_si_or_as_text(house):
    changed = house.with_values({"line.speed": 2.0, "section.trough.temperature": "60.8 degF"})
    assert changed.get("line.speed") == 2.0
    assert changed.get("section.trough.temperature") == pytest.approx(16.0, abs=1e-9)
    assert changed.show("line.speed") == "120 m/min"
    assert house.get("line.speed") == 2.5
    assert set(house.paths) >= {"line.speed", "layer.insulation.diameter", 'section."air gap".length'}
    assert [path for path in house.paths if house.get(path) != house.get(path)] == []


def test_the_speed_is_set_before_what_follows_it():
    table = 'temperature = { speed = [["100 m/min", "180 degC"], ["200 m/min", "200 degC"]] }'
    case = qw.Case.from_text(qw.EXAMPLE.replace('temperature = "188 degC"', table))
    changed = case.with_values({"layer.insulation.temperature": 195.0, "line.speed": "200 m/min"})
    assert changed.get("layer.insulation.temperature") == 195.0
    found = qw.batch(
        case, {"layer.insulation.temperature": np.array([195.0]), "line.speed": "200 m/min"}, ["capstan.core"]
    )
    alone = qw.batch(changed, {}, ["capstan.core"])
    assert found["capstan.core"][0] == alone["capstan.core"]


def test_tables_and_text_make_the_same_case(house):
    import tomllib

    case = qw.Case.from_dict(tomllib.loads(house.text))
    ours, theirs = told(qw.march(case).to_json()), told(qw.march(house).to_json())
    assert ours.pop("case_sha256") != theirs.pop("case_sha256")
    assert ours == theirs
    assert qw.Case.from_text(house.resolved()).resolved() == house.resolved()


def test_stations_and_sections_are_those_of_the_json(house):
    solution = qw.march(house)
    answer = json.loads(solution.to_json())
    assert list(solution.stations) == [station["name"] for station in answer["stations"]]
    for station in answer["stations"]:
        found = solution.stations[station["name"]]
        assert (found.distance, found.time) == (station["distance_m"], station["time_s"])
        names = ["surface", "core", "mean", "hottest", "equalised"]
        assert [getattr(found, name) for name in names] == [station[f"{name}_degC"] for name in names]
        assert found.diameter == station["diameter_m"] == solution.get(f'"{found.name}".diameter')
        assert list(found.layer_means.values()) == station["layer_means_degC"]
        assert list(found.layer_hottest) == ["conductor", "insulation"]
        assert [[limit.name, limit.limit, limit.value, limit.margin, limit.met] for limit in found.limits] == [
            list(limit.values()) for limit in station["limits"]
        ]
    for section in answer["sections"]:
        found = solution.sections[section["name"]]
        assert (found.start, found.end, found.heat) == (section["start_m"], section["end_m"], section["heat_W"])
        assert (found.medium, found.film_mean) == (section["medium"], section["film_mean_W_m2K"])
        assert (found.water_in, found.water_out) == (section["water_in_degC"], section["water_out_degC"])
        assert found.exit.core == section["exit"]["core_degC"]
    assert (solution.error, solution.tolerance) == (answer["numerics"]["error_K"], 0.01)
    assert solution.limits_met is all(limit["met"] for station in answer["stations"] for limit in station["limits"])
    assert [list(warning) for warning in solution.warnings] == [list(one.values()) for one in answer["warnings"]]
    assert solution.cautions == answer["cautions"] and solution.cautions


def test_fields_are_views_that_cannot_be_written(house):
    solution = qw.march(house)
    field = solution.temperature
    assert field.base is solution and not field.flags.writeable and not field.flags.owndata
    assert field.shape == solution.radius.shape == (len(solution.distance), len(solution.node_mass))
    with pytest.raises(ValueError, match="read-only"):
        field += 1.0
    with pytest.raises(ValueError, match="WRITEABLE"):
        field.flags.writeable = True
    end = solution.stations["capstan"]
    kept = field[-1, 0]
    del solution
    gc.collect()
    # The field keeps its solution.
    assert field[-1, 0] == kept == pytest.approx(end.core, abs=1.0)


@pytest.mark.slow
def test_a_thousand_solutions_leave_nothing_behind(house):
    def size():
        with open("/proc/self/statm") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGESIZE")

    views = [qw.march(house).temperature for _ in range(20)]
    before = size()
    for _ in range(1000):
        views[_ % 20] = qw.march(house).temperature
    gc.collect()
    # A solution of this case takes some 700 kB: a tenth of them kept would be 70 MB.
    assert size() - before < 20e6
    assert all(np.isfinite(view).all() for view in views)


@pytest.mark.parametrize("path", [pytest.param(path, id=path.stem, marks=pytest.mark.slow) for path in DRIVES])
def test_the_json_of_drive_is_that_of_the_program(program, path):
    found = qw.drive(qw.Case.from_toml(path), band=True)
    assert told(found.to_json()) == told(program("drive", path, "--json"))


def test_a_drive_tells_what_stations_see():
    case = qw.Case.from_toml(PROJECT / "cases/drive/house-wire-ramp.toml")
    found = qw.drive(case, every=2.0)
    answer = json.loads(found.to_json())
    assert (found.made, found.scrap, found.out) == (answer["made_m"], answer["scrap_m"], answer["out_s"])
    assert found.limits_met is (found.scrap == 0.0 and found.out == 0.0)
    seen = found.seen("capstan")
    assert np.all(np.diff(seen["time"]) > 0) and seen["time"][-1] == found.ends
    assert np.nanmax(seen["seen_core_temperature"]) > np.nanmin(seen["seen_core_temperature"]) > 0
    with pytest.raises(ValueError, match="there is no station \"capstn\""):
        found.seen("capstn")
    with pytest.raises(qw.NoAnswer, match="one speed"):
        qw.drive(qw.Case.from_text(qw.EXAMPLE))


@pytest.mark.slow
def test_small_calls_are_quick(house):
    def best(call):
        times = []
        for _ in range(50):
            start = time.perf_counter()
            for _ in range(200):
                call()
            times.append((time.perf_counter() - start) / 200)
        return min(times)

    assert best(lambda: house.get("section.trough.length")) <= 2e-6
    assert best(lambda: house.with_values({"line.speed": 2.2})) <= 5e-6
