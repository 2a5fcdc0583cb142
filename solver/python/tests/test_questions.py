"""Length, speed and convergence are those of the command line."""

import json
import re
import xml.etree.ElementTree

import pytest
import quenchway as qw


@pytest.mark.parametrize("band", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_the_top_speed_is_that_of_the_program(program, house, tmp_path, band):
    path = tmp_path / "case.toml"
    path.write_text(house.text)
    answer = json.loads(program("speed", path, "--json", *([] if band else ["--no-band"])))["speed"]
    found = qw.top_speed(house, band=band)
    assert (found.speed, found.deciding) == (answer["top_m_s"], answer["ceilings"][0]["name"])
    assert found.printed == answer["printed"]["text"]
    assert (found.range is not None) is band
    if band:
        assert found.range.unfavourable == answer["range"]["unfavourable_m_s"] < found.speed
    # The speed that is printed is the one that was marched.
    assert found.solution.case.get("line.speed") == answer["printed"]["si"] <= found.speed
    assert found.solution.limits_met and not qw.march(house).limits_met


def test_the_needed_length_is_that_of_the_program(program, house, tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(house.text)
    answer = json.loads(program("length", path, "--json", "--no-band"))["length"]
    found = qw.needed_length(house)
    assert (found.length, found.printed) == (answer["needed_m"], answer["printed"]["text"])
    assert [need.length for need in found.limits] == [limit["needed_m"] for limit in answer["limits"]]
    assert found.over == [] and found.solution.limits_met
    assert found.lengths == {"trough": found.trough}
    # The trough that is built is the one of the solution's case.
    built = found.solution.case
    assert built.get("section.trough.length") == found.trough >= found.length
    assert qw.march(built).stations["capstan"].core == found.solution.stations["capstan"].core


def test_a_trough_that_the_plant_does_not_bear_is_told_with_what_it_exceeds(house):
    case = qw.Case.from_text(house.text + '\n[plant]\nhall_max = "15 m"\n')
    (over,) = qw.needed_length(case).over
    assert over.name == "plant.hall_max" and over.value > over.max == 15.0


def test_what_has_no_answer_says_why(house):
    bare = qw.Case.from_text("\n".join(line for line in house.text.splitlines() if "_max" not in line))
    with pytest.raises(qw.NoAnswer, match="any length would do"):
        qw.needed_length(bare)
    with pytest.raises(qw.NoAnswer, match="any speed would do"):
        qw.top_speed(bare)
    with pytest.raises(ValueError, match="levels is 2; it takes 3 to 8"):
        qw.converge(house, 2)


def test_convergence_is_that_of_the_program(program, house, tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(house.text)
    answer = json.loads(program("converge", path, "--json"))
    found = qw.converge(house)
    assert [level._asdict() for level in found.levels] == answer["levels"]
    assert [track.values for track in found.temperatures] == [one["values_degC"] for one in answer["temperatures"]]
    assert found.index == max(one["index_K"] for one in answer["temperatures"])


def test_a_solution_shows_its_verdict_and_ends_with_its_cautions(house):
    solution = qw.march(house, band=True)
    text = repr(solution)
    lines = text.splitlines()
    assert lines[0] == house.title and "NOT MET: core at \"capstan\" is" in text
    assert lines[-len(solution.cautions) :] == [f"- {caution}" for caution in solution.cautions]
    page = solution._repr_html_()
    assert page.startswith('<div class="quenchway">') and 'class="verdict bad"' in page and page.count("<svg") == 1
    for caution in solution.cautions:
        assert caution.split(",")[0].split('"')[0] in page
    # Nothing is fetched from anywhere.
    assert not re.search(r"(src|href)=", page)


def test_a_page_is_well_formed_and_escapes_names(house):
    case = qw.Case.from_text(house.text.replace("2.5 mm2", "<script>alert(1)</script> & 2.5 mm2", 1))
    page = qw.march(case)._repr_html_()
    assert "<script" not in page and "&lt;script&gt;" in page
    picture = page[page.index("<svg") : page.index("</svg>") + len("</svg>")]
    svg = xml.etree.ElementTree.fromstring(picture)
    space = "{http://www.w3.org/2000/svg}"
    curves = svg.findall(f"{space}polyline")
    assert len(curves) == 3
    # The picture's last point of the core is where the core is at the end of the line.
    surface, _, core = ([float(pair.split(",")[1]) for pair in curve.get("points").split()] for curve in curves)
    assert core[-1] < surface[-1]
    assert "<script" in case.title
