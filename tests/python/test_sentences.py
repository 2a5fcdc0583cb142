"""Pages, reports and help are in short sentences and in the words that DEVELOPERS.md asks for."""

import os
import re
import subprocess
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sentences import count, paragraphs, plain, prose, sentences

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = Path(os.environ.get("QUENCHWAY_BIN", "target/release/quenchway"))
PAGES = sorted([*(PROJECT / "docs").glob("*.md"), PROJECT / "README.md", PROJECT / "cases/README.md"])
LONGEST = 25

# Words that tell of the program's past, of its inside, or hide who acts. What was new to users is on the page of changes.
FORBIDDEN = {
    r"\blook(?:s|ed)? at\b(?=[,.;]|$)|\blooked at\b": "name the actor: the program tries, computes, checks",
    r"\b(?:is|are|was|were) (?:told|said|asked)\b": "name the actor",
    r"\bblank\b": "space, empty, not given",
    r"\bbehind\b": "after, in time and along the line",
    r"\bno longer\b|\bany more\b|\bformerly\b|\bnow\b|\baims were\b": "the present state only",
    r"\ban own\b": "your own",
    r"\bpaid for by\b": "absorbed by",
}
INSIDE = {r"\blanes?\b|\bwalks?\b|\bbooks\b": "words of the inside stay in DEVELOPERS.md and on the performance page"}
# Special words of the glossary, and how a page writes them.
SPECIAL = {
    "equalised": r"\bequalised\b",
    "film": r"\bfilms?\b",
    "band": r"\bbands?\b",
    "rule": r"\bby the rule\b",
    "rebound": r"\brebound\b",
    "held-free": r"\bheld in length\b|\b[Hh]eld or free\b",
    "march": r"\bmarch(?:es|ed)?\b",
    "standard-value": r"\bstandard values?\b",
}


def long_ones(texts):
    """Where a sentence has too many words: place, words, sentence. A table's cell may list, with semicolons between."""
    found = []
    for place, kind, text in texts:
        text = re.sub(r"\[default.*\]", "", text, flags=re.DOTALL)
        for sentence in sentences(plain(text)):
            parts = sentence.split(";") if kind == "cell" else [sentence]
            found += [f"{place}: {count(part, kind != 'cell')} words: {part.strip()}" for part in parts
                      if count(part, kind != "cell") > LONGEST]
    return found


def wrong_words(texts, inside):
    found = []
    for place, _, text in texts:
        for pattern, why in {**FORBIDDEN, **({} if inside else INSIDE)}.items():
            hit = re.search(pattern, plain(text))
            found += [f"{place}: {hit.group()!r} ({why}): {text[:120]}"] if hit else []
    return found


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(PROJECT).as_posix())
def test_a_page_is_in_short_sentences_and_plain_words(page):
    texts = paragraphs(page.read_text(encoding="utf-8"))
    assert long_ones(texts) == []
    assert wrong_words(texts, inside=page.stem == "performance") == []


def test_the_developers_page_keeps_its_own_rules():
    text = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert f"at most {LONGEST} words" in text


@pytest.mark.parametrize("word", sorted(SPECIAL))
def test_a_special_word_is_defined_once_and_linked(word):
    glossary = (PROJECT / "docs/glossary.md").read_text(encoding="utf-8")
    headings = [line[4:].replace(", ", "-").replace(" ", "-") for line in glossary.split("\n") if line.startswith("### ")]
    assert headings.count(word) == 1
    unlinked = []
    # The page of commands is written from the flags; the others are written by programs for whoever checks them.
    for page in PAGES:
        if page.name in {"glossary.md", "commands.md", "validation.md", "peers.md", "SUMMARY.md", "changes.md"}:
            continue
        text = page.read_text(encoding="utf-8")
        used = any(kind == "text" and re.search(SPECIAL[word], plain(words)) for _, kind, words in paragraphs(text))
        if used and f"glossary.md#{word}" not in text:
            unlinked.append(page.name)
    assert unlinked == []


def program(*arguments):
    path = PROGRAM if PROGRAM.is_absolute() else PROJECT / PROGRAM
    done = subprocess.run([path, *arguments], cwd=PROJECT, capture_output=True, text=True, check=False,
                          env={**os.environ, "COLUMNS": "120"})
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


def test_help_is_in_short_sentences_and_plain_words():
    listed = program("--help").partition("Commands:")[2].partition("\n\n")[0]
    commands = re.findall(r"^  ([a-z]+) ", listed, flags=re.MULTILINE)
    assert len(commands) > 20
    for command in commands:
        if command == "help":
            continue
        text = program(command, "--help")
        # A flag and its words stand side by side, or the words below the flag.
        texts = [("help", "text", one) for one in re.split(r"\n\s*\n|\n(?=\s+-)", text) if "Examples:" not in one]
        texts = [(command, kind, re.sub(r"^\s*(?:-\w, )?--?[\w-]+(?: <[^>]*>)*", "", one)) for _, kind, one in texts]
        texts = [one for one in texts if "Usage:" not in one[2] and "[vary]" not in one[2]]
        # The meanings of the exit status are a list.
        texts = [(place, "cell" if "Exit status:" in one else kind, one) for place, kind, one in texts]
        assert long_ones(texts) == []
        assert wrong_words(texts, inside=False) == []


WIRE = "cases/house-wire.toml"
TRIAL = ["--data", "cases/trials/house-wire-trial.csv", "--unknown", "section.trough.film_factor"]
AXES = ["--x", "line.speed=100 m/min..400 m/min", "--y", "section.trough.length=5 m..40 m", "--points", "8x6"]
REPORTS = [
    *(["run", path.relative_to(PROJECT).as_posix()] for path in sorted((PROJECT / "cases").glob("*.toml"))),
    *(["drive", path.relative_to(PROJECT).as_posix()] for path in sorted((PROJECT / "cases/drive").glob("*.toml"))),
    ["length", WIRE], ["length", WIRE, "--speed", "240 m/min"], ["length", "cases/multi-pass-wire.toml"], ["speed", WIRE],
    ["gauges", WIRE], ["gauges", "cases/jacket-talc.toml"], ["rank", WIRE], ["water", WIRE, "--points", "3"],
    ["water", "cases/pe-core-series-water.toml", "--points", "3"], ["water", "cases/flat-slab.toml", "--points", "3"],
    ["fit", WIRE, *TRIAL], ["fit", WIRE, *TRIAL, "--bands", "ignore"], ["spread", WIRE, "--samples", "64"],
    ["map", WIRE, *AXES], ["stages", "cases/staged-pe-core.toml", "--no-band"], ["converge", WIRE], ["films"], ["materials"],
    ["reel", "cases/drive/house-wire-reel-change.toml", "--standstill", "60 s"], ["stop", "cases/drive/house-wire-stop.toml"],
    ["ramp", "cases/drive/house-wire-ramp.toml", "--from", "20 m/min", "--to", "150 m/min"],
]


def test_reports_are_in_short_sentences_and_plain_words():
    with ThreadPoolExecutor(os.cpu_count()) as threads:
        reports = list(threads.map(lambda asked: program(*asked), REPORTS))
    wrong = []
    for asked, report in zip(REPORTS, reports, strict=True):
        # A name of the case in quotation marks is one word; sources are lists.
        kind = {True: "cell", False: "text"}
        texts = [(" ".join(asked[:2]), kind[one.startswith("source: ")], re.sub(r'"[^"]*"', "NAME", one)) for one in prose(report)]
        assert texts, asked
        wrong += long_ones(texts) + wrong_words(texts, inside=False)
    assert wrong == []


def test_what_is_too_long_is_seen():
    """The counting itself, on texts that hold each kind of mistake."""
    long = "word " * 26
    page = f"# Head\n\n{long.strip()}.\n\n    {long}\n\n```text\n{long}\n```\n\n| {long} | a; b |\n\n- short. {long.title()}.\n"
    assert [place.split(":")[0] for place in long_ones(paragraphs(page))] == ["3", "11", "13"]
    assert long_ones([(1, "text", "One `a b c d` two. " * 9)]) == []
    assert len(wrong_words([(1, "text", "It is looked at, and the lanes are told.")], inside=False)) == 3
    assert wrong_words([(1, "text", "The lanes hold it. `blank`")], inside=True) == []
    report = "Title of it\n\nFIRST: a\nsentence.\n\nHead\n name   value\n─────\n a   1\n  - one\n    item\n  ! two\n  more\n"
    assert prose(report) == ["Title of it", "FIRST: a sentence.", "Head", "one item", "two", "more"]
