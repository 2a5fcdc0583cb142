"""Sentences of a page or of a terminal's report, and how many words each has."""

import re

# What ends no sentence although a full stop stands there.
SHORT = r"(?<!\be\.g)(?<!\bi\.e)(?<!\bEq)(?<!\bNo)(?<!\bvol)(?<!\bpp)(?<!\bp)(?<!\bal)(?<!\bed)(?<!\bFig)(?<!\b[A-Z])"
# After a full stop, a question or an exclamation mark, behind which a quotation or a bracket may close.
END = re.compile(SHORT + r"(?:(?<=[.!?])|(?<=[.!?][)\"])|(?<=[.!?]\)\)))\s+(?=[\"'(\[]?[A-Z0-9−-])")


def sentences(paragraph):
    """A paragraph without marks, cut into its sentences."""
    return [sentence for sentence in END.split(" ".join(paragraph.split())) if sentence]


def count(sentence, code=True):
    """Words of a sentence; a sign is none. Without `code` what stands in code marks counts nothing, as names in a table."""
    words = [word for word in sentence.split() if re.search(r"[^\W_]|°", word)]
    return len([word for word in words if code or CODE not in word])


CODE = "CODE"


def plain(text):
    """A paragraph of a page without its marks: links as their words, code as one word."""
    text = re.sub(r"!?\[([^\]]*)\]\([^)]*\)", r"\1", text)
    text = re.sub(r"`[^`]*`", CODE, text)
    return re.sub(r"\*\*|(?<!\w)[*_]|[*_](?!\w)", "", text)


def paragraphs(page):
    """Of a page in Markdown: line, kind (`text` or `cell`), words. Code blocks, comments and formulas set apart are left out."""
    page = re.sub(r"<!--.*?-->", lambda comment: "\n" * comment.group().count("\n"), page, flags=re.DOTALL)
    found, gathered, began, fenced, listed = [], [], 0, False, False

    def close():
        if gathered:
            found.append((began, "text", " ".join(gathered)))
            gathered.clear()

    for number, line in enumerate(page.split("\n"), 1):
        words = line.strip()
        if words.startswith("```"):
            close()
            fenced = not fenced
        elif fenced or not words:
            close()
        elif line.startswith("    ") and not gathered:
            continue
        elif words.startswith("|"):
            close()
            cells = (cell.strip() for cell in re.split(r"(?<!\\)\|", words.strip("|")))
            found += [(number, "cell", cell) for cell in cells if re.search(r"\w", cell)]
        elif words.startswith("#"):
            close()
            found.append((number, "text", words.lstrip("# ")))
            listed = False
        else:
            item = re.match(r"(?:[-*]|\d+\.|>)\s+", words)
            if item:
                close()
                words, listed = words[item.end():], True
            elif not gathered and not line.startswith(" "):
                listed = False
            began = began if gathered else number
            gathered.append(words)
    close()
    return found


def prose(report):
    """Paragraphs of a report as a terminal shows it, the title first: without tables and lists of numbers."""
    title, _, report = report.partition("\n")
    found, gathered = [title], []

    def close():
        if gathered:
            found.append(" ".join(gathered))
            gathered.clear()

    indent = 0
    for line in report.split("\n"):
        words = line.strip()
        deep = len(line) - len(line.lstrip())
        item = re.match(r"[-!] |(?:range|source): +", words)
        if not words or "─" in words or re.search(r"\S {2,}\S", words):
            close()
            continue
        if item or deep != indent:
            close()
        indent = deep + (item.end() if item else 0)
        gathered.append(words.lstrip("-! "))
    close()
    return found


# Before the words of a help's line: a command, a flag with its value, an argument, one of several values, an exit status.
NAMED = re.compile(r"^(?:[a-z]+ {2,}|(?:-\w, )?--[\w-]+(?: <[^>]*>)?|<[^>]*>|- [\w-]+:|[\d or]+ {2})\s*")
LISTS = ("Commands:", "Arguments:", "Options:", "A Slurm script:", "Exit status:")


def help_texts(text):
    """What the help of a command says, unwrapped: its paragraphs, the words of its lists, the remarks beside its examples."""
    found, code = [], False
    for block in re.split(r"\n\s*\n", text.strip()):
        lines = block.split("\n")
        if not lines[0].startswith(" "):
            code = lines[0].endswith(":") and lines[0] not in LISTS
        flat = [line for line in lines if not line.startswith(" ") and not line.startswith("Usage:") and not line.endswith(":")]
        found += [" ".join(flat)] if flat else []
        for line in (line.strip() for line in lines if line.startswith(" ")):
            # Two spaces or more set a remark apart from an example.
            remark = re.search(r"\S {2,}(?:# )?(.*)", line)
            words = remark.group(1) if code and remark else "" if code else NAMED.sub("", line)
            found += [words] if words else []
    return found


def comments(text):
    """Comments of a demo file, lines that follow each other joined."""
    found, gathered = [], []
    for line in [*text.split("\n"), ""]:
        whole = re.match(r"\s*#\s?(.*)", line)
        if whole:
            gathered.append(whole.group(1))
            continue
        found += [" ".join(gathered)] if gathered else []
        gathered = []
        found += re.findall(r"\s#\s(.*)", line)
    return found


def messages(text):
    """What a terminal's diagnostic says of the problems of a file: message, label and help of each, without the lines of the file."""
    found, key = [], r"(?:[\w.]+(?:\[\w+\]|\.\"[^\"]+\")*: )?"
    for line in text.split("\n"):
        began = re.match(rf"  x {key}(.*)|  help: (.*)|.*`-- (.*)", line)
        goes_on = re.match(r"  (?:\| |      )(\S.*)", line)
        if began:
            found.append(next(words for words in began.groups() if words is not None))
        elif goes_on and found:
            found[-1] += " " + goes_on.group(1)
    return found
