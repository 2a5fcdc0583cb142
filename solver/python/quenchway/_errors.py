"""What can go wrong. The engine raises these; each says what is wrong and what would be right."""

from typing import NamedTuple, NoReturn, TypeVar

T = TypeVar("T")


class Problem(NamedTuple):
    """One thing that is wrong with a case."""

    key: str
    """Key path; empty where the text is no TOML."""
    message: str
    """What is wrong."""
    help: str | None
    """What would be right."""
    line: int | None
    """Line in the text, from 1; none where something is missing or no text was read."""
    column: int | None
    """Column in characters, from 1."""


class CaseError(ValueError):
    """A case, or a value for it, that is wrong. All problems at once are in `problems`."""

    problems: list[Problem]

    def __init__(self, report: str, problems: list[tuple[str, str, str | None, int | None, int | None]]) -> None:
        super().__init__(report, problems)
        self.problems = [Problem(*problem) for problem in problems]

    def __str__(self) -> str:
        return str(self.args[0])


class UnknownName(KeyError):
    """A key path that leads to no number of the case, or a name that is no output of it."""

    name: str

    def __init__(self, message: str, name: str) -> None:
        super().__init__(message, name)
        self.name = name

    def __str__(self) -> str:
        return str(self.args[0])


class Named(dict[str, T]):
    """Parts of an answer by name; a name that it does not have is an `UnknownName`."""

    def __missing__(self, name: str) -> NoReturn:
        raise UnknownName(f"there is no {name!r}; there are {', '.join(self)}", name)


class NoAnswer(ArithmeticError):
    """A question that has no answer for this case; the text says why."""


class MarchError(NoAnswer):
    """A march that gives no answer."""

    kind: str
    """One word: `unphysical`, `too_large`, `water_not_liquid`, `water_open`, `water_trickles`, `step_vanished`,
    `not_finite`, `balance_open`."""
    place: str | None
    """The layer, section or station that it is about."""

    def __init__(self, message: str, kind: str, place: str | None) -> None:
        super().__init__(message, kind, place)
        self.kind = kind
        self.place = place

    def __str__(self) -> str:
        return str(self.args[0])
