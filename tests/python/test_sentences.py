"""Pages, reports and help are in short sentences and in the words that DEVELOPERS.md asks for."""

import html
import json
import os
import re
import subprocess
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sentences import comments, count, help_texts, messages, paragraphs, plain, prose, sentences

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
    "latent-peak": r"\blatent peaks?\b",
    "melt-shrink": r"\bmelt shrink\b",
    "programme": r"\bprogrammes?\b",
    "scrap": r"\bscrap\b",
    "standard-value": r"\bstandard values?\b",
}


def long_ones(texts):
    """Where a sentence has too many words: place, words, sentence. A table's cell may list, with semicolons between."""
    found = []
    for place, kind, text in texts:
        # A default in brackets is a sentence of its own.
        text = re.sub(r"\s*\[(default.*?)\](?=$|\.|;)", r". The \1", text, flags=re.DOTALL)
        for sentence in sentences(plain(text)):
            parts = sentence.split(";") if kind == "cell" else [sentence]
            found += [f"{place}: {count(part, kind != 'cell')} words: {part.strip()}" for part in parts
                      if count(part, kind != "cell") > LONGEST]
    return found


def wrong_words(texts, inside):
    found = []
    for place, _, text in texts:
        for pattern, why in {**FORBIDDEN, **({} if inside else INSIDE)}.items():
            hit = re.search(pattern, plain(text), flags=re.IGNORECASE)
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


def program(*arguments, columns=120):
    path = PROGRAM if PROGRAM.is_absolute() else PROJECT / PROGRAM
    done = subprocess.run([path, *arguments], cwd=PROJECT, capture_output=True, text=True, check=False,
                          env={**os.environ, "COLUMNS": str(columns)})
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


def test_help_is_in_short_sentences_and_plain_words():
    """The help of the program and of every command: its first line, every flag, every sentence and every meaning of an exit status."""
    overall = program("--help", columns=1000)
    commands = re.findall(r"^  ([a-z]+) ", overall.partition("Commands:")[2].partition("\n\n")[0], flags=re.MULTILINE)
    assert len(commands) > 20
    wrong, meanings = [], 0
    for command in ["", *commands]:
        text = program("help", command, columns=1000) if command else overall
        texts = [(command or "quenchway", "text", one) for one in help_texts(text)]
        assert len(texts) > 1, command
        meanings += len(re.findall(r"^  [\d or]+  \w", text, flags=re.MULTILINE))
        wrong += long_ones(texts) + wrong_words(texts, inside=False)
    assert wrong == []
    assert meanings > 50, meanings


def test_messages_are_in_short_sentences_and_plain_words():
    """The expected texts of every wrong case and study, which the Rust tests compare with the program."""
    files = sorted(file for folder in ("bad_cases", "bad_studies") for file in (PROJECT / "tests" / folder).glob("*.txt"))
    texts = [(file.name, "cell", message) for file in files for message in messages(file.read_text(encoding="utf-8"))]
    assert len(texts) > 900
    # What there is to choose from is one word, as in a table.
    texts = [(place, kind, re.sub(r"(?:\S+(?: \S+\"\.\S+)?, )+\S+ and \S+", "NAMES", one)) for place, kind, one in texts]
    assert long_ones(texts) == []
    assert wrong_words(texts, inside=False) == []


def test_demo_files_are_in_short_sentences_and_plain_words():
    files = sorted(file for ending in ("toml", "csv") for file in (PROJECT / "cases").rglob(f"*.{ending}"))
    texts = [(file.name, "cell", one) for file in files for one in comments(file.read_text(encoding="utf-8"))]
    assert len(texts) > 30
    assert long_ones(texts) == []
    assert wrong_words(texts, inside=False) == []


def test_materials_and_film_laws_use_plain_words():
    """What the program prints of each of them; their sources are lists, and are not counted."""
    laws = [law["name"] for law in json.loads(program("films", "--json"))["laws"]]
    materials = sorted(file.stem for file in (PROJECT / "solver/materials").glob("*.toml"))
    assert len(laws) > 10 and len(materials) > 15
    asked = [*(("films", name) for name in laws), *(("materials", name) for name in materials)]
    texts = [(" ".join(of), "cell", " ".join(program(*of).split())) for of in asked]
    assert wrong_words(texts, inside=False) == []


def descriptions(schema):
    if isinstance(schema, dict):
        own = [schema["description"]] if isinstance(schema.get("description"), str) else []
        return own + [one for value in schema.values() for one in descriptions(value)]
    return [one for value in schema for one in descriptions(value)] if isinstance(schema, list) else []


def test_an_editor_shows_short_sentences_and_plain_words():
    """The descriptions of every key in the JSON Schema of case and study."""
    texts = [("schema", "cell", one) for of in ([], ["--study"]) for one in descriptions(json.loads(program("schema", *of)))]
    assert len(texts) > 100
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


def shown(page):
    """What a page in HTML says: each of its paragraphs, items and captions, without pictures and scripts."""
    page = re.sub(r"<(script|style|svg|template)\b.*?</\1>", " ", page, flags=re.DOTALL)
    parts = re.findall(r"<(?:p|li|figcaption|button|label)\b[^>]*>(.*?)</(?:p|li|figcaption|button|label)>", page, flags=re.DOTALL)
    return [one for part in parts if (one := html.unescape(re.sub(r"<[^>]*>", " ", part)).strip())]


def test_cards_and_the_page_to_try_are_in_short_sentences_and_plain_words(tmp_path):
    card, page = tmp_path / "card.html", tmp_path / "try.html"
    # A card answers all three questions: how to start, when not to stop, what to do in a change of reel.
    program("reel", "cases/drive/house-wire-reel-change.toml", "--standstill", "60 s", "--card", str(card))
    texts = [("card", "text", words) for words in shown(card.read_text(encoding="utf-8"))]
    assert len(texts) > 10, texts
    program("try", WIRE, "--out", str(page))
    texts += [("try", "text", words) for words in shown(page.read_text(encoding="utf-8"))]
    script = (PROJECT / "cli/page/src/page.js").read_text(encoding="utf-8")
    said = re.findall(r'^ +\w+: "([A-Z].*)",$', script, flags=re.MULTILINE)
    assert len(said) > 5, said
    texts = [(place, kind, re.sub(r'"[^"]*"', "NAME", one)) for place, kind, one in texts]
    texts += [("page.js", "text", one) for one in said]
    assert long_ones(texts) == []
    assert wrong_words(texts, inside=False) == []


def test_what_is_too_long_is_seen():
    """The counting itself, on texts that hold each kind of mistake."""
    long = "word " * 26
    assert comments("# one\n# two\na = 1  # three\n\n# four\n") == ["one two", "three", "four"]
    page = f"# Head\n\n{long.strip()}.\n\n    {long}\n\n```text\n{long}\n```\n\n| {long} | a; b |\n\n- short. {long.title()}.\n"
    assert [place.split(":")[0] for place in long_ones(paragraphs(page))] == ["3", "11", "13"]
    assert long_ones([(1, "text", "One `a b c d` two. " * 9)]) == []
    assert len(wrong_words([(1, "text", "It is looked at, and the lanes are told.")], inside=False)) == 3
    assert wrong_words([(1, "text", "The lanes hold it. `blank`")], inside=True) == []
    report = "Title of it\n\nFIRST: a\nsentence.\n\nHead\n name   value\n─────\n a   1\n  - one\n    item\n  ! two\n  more\n"
    assert prose(report) == ["Title of it", "FIRST: a sentence.", "Head", "one item", "two", "more"]
    shown = "About it\n\nUsage: it <CASE>\n\nOptions:\n      --out <DIR>  Write it\n  -q, --quiet\n          Be quiet\n\nExamples:\n"
    shown += "  it run   what it does\n  it --all\nMore words\nof it.\n\nExit status:\n  0  done\n  130 or 143  ended\n"
    assert help_texts(shown) == ["About it", "Write it", "Be quiet", "More words of it.", "what it does", "done", "ended"]
    report = "  x line.speed: 150 has\n  | no unit\n   ,-[a.toml:4:9]\n 3 | [line]\n   :  `-- no unit\n   `----\n  help: write one\n"
    assert messages(report) == ["150 has no unit", "no unit", "write one"]
    assert long_ones([(1, "text", f"{'word ' * 14} [default: {'word ' * 14}]")]) == []
    assert long_ones([(1, "text", f"Short [default: {long.strip()}]")]) != []
