"""Checks a built book, and Markdown beside it: every link leads to a file that is there, every anchor to a heading.

    links.py BOOK [MARKDOWN ...]
"""

import re
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote


class Page(HTMLParser):
    """Links and anchors of one page."""

    def __init__(self, text):
        super().__init__()
        self.links, self.anchors = [], set()
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        for name, value in attributes:
            if name == "id":
                self.anchors.add(value)
            elif value and name in ("href", "src") and tag in ("a", "img"):
                self.links.append(value)


def outside(link):
    """Whether a link leaves the project."""
    return re.match(r"[a-z]+:", link)


def main(book, *beside):
    pages = {path.resolve(): Page(path.read_text(encoding="utf-8")) for path in Path(book).rglob("*.html")}
    wrong, count = [], 0
    for path, page in pages.items():
        if path.name in ("print.html", "404.html", "toc.html"):
            continue
        for link in page.links:
            if outside(link):
                continue
            count += 1
            name, _, anchor = unquote(link).partition("#")
            target = (path.parent / name).resolve() if name else path
            if not target.exists():
                wrong.append(f"{path.name}: {link}: no such file")
            elif anchor and target in pages and anchor not in pages[target].anchors:
                wrong.append(f"{path.name}: {link}: no such heading")
    for path in map(Path, beside):
        for link in re.findall(r"\]\(([^)\s]+)\)", path.read_text(encoding="utf-8")):
            if not outside(link):
                count += 1
                if not (path.parent / link.partition("#")[0]).exists():
                    wrong.append(f"{path}: {link}: no such file")
    print("\n".join(wrong) or f"{count} links lead somewhere")
    return 1 if wrong or count < 100 else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
