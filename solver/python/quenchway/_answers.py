"""The questions of length, speed and convergence, with their answers as small objects."""

from dataclasses import dataclass, field
from typing import NamedTuple

from quenchway import _engine


class Need(NamedTuple):
    """What one limit needs of the trough."""

    name: str
    """The limit: `capstan.core`."""
    max: float
    """Its highest value, SI (temperatures in degC)."""
    length: float | None
    """Length of trough from which on it is met, m; none where no length does."""


class Ceiling(NamedTuple):
    """The speed that one ceiling allows."""

    name: str
    """A limit, `capstan.core`, or a ceiling of the plant, `plant.chiller_max`."""
    max: float
    """Its highest value, SI (temperatures in degC)."""
    speed: float | None
    """The fastest line up to which it is met, m/s; none where no speed meets it."""


class Range(NamedTuple):
    """How far the uncertainty of the inputs moves an answer."""

    favourable: float | None
    """The answer at the favourable end; none where there is none."""
    unfavourable: float | None
    """The answer that allows for the uncertainty of the inputs; none where there is none."""
    largest: str
    """Key path of the input that moves the deciding limit most."""


class Over(NamedTuple):
    """A ceiling of the plant that the needed trough exceeds."""

    name: str
    max: float
    value: float


@dataclass(frozen=True)
class TopSpeed:
    """The fastest line of a trough as it is."""

    speed: float
    """m/s."""
    printed: str
    """The same as the command line prints it, rounded down."""
    deciding: str
    """The ceiling that decides."""
    ceilings: list[Ceiling]
    """All ceilings, the lowest first."""
    range: Range | None
    """How far the uncertainty of the inputs moves it; none where it was not asked for."""
    solution: _engine.Solution = field(repr=False)
    """The solution at the speed as it is printed, in which every ceiling is met."""


@dataclass(frozen=True)
class NeededLength:
    """The shortest trough that meets every limit."""

    length: float
    """m: all sections that grow, one pass of each."""
    printed: str
    """The same as the command line prints it, rounded up."""
    trough: float
    """The trough as it is built, in whole modules where the plant has any, m."""
    lengths: dict[str, float]
    """Length of each section that grows as it is built, m."""
    deciding: str | None
    """The limit that decides; none where the shortest trough of the search meets all."""
    limits: list[Need]
    """What each limit alone needs."""
    over: list[Over]
    """What the plant does not allow of this trough; empty where it allows all."""
    range: Range | None
    """How far the uncertainty of the inputs moves the length; none where it was not asked for."""
    solution: _engine.Solution = field(repr=False)
    """The solution of the trough as it is built."""


class Level(NamedTuple):
    """One level of a convergence study."""

    size_factor: float
    """By how much its intervals are smaller than the rule's."""
    intervals: int
    """Intervals across the product."""
    steps: int
    """Time steps."""


@dataclass(frozen=True)
class Track:
    """A temperature on every level."""

    temperature: str
    """`station.quantity`."""
    values: list[float]
    """On each level, coarse to fine, degC."""
    order: float | None
    """Observed order; none where the levels agree to rounding or scatter."""
    extrapolated: float
    """Extrapolated value, degC."""
    index: float
    """Grid convergence index of the finest level, K."""


@dataclass(frozen=True)
class Convergence:
    """A case on finer meshes and with shorter steps."""

    levels: list[Level]
    temperatures: list[Track]

    @property
    def index(self) -> float:
        """The largest grid convergence index of all temperatures, K."""
        return max(track.index for track in self.temperatures)


def top_speed(case: _engine.Case, *, band: bool = False, threads: int | None = None) -> TopSpeed:
    """The fastest line at which every limit and every ceiling of the plant is met, as `quenchway speed` finds it.

    With `band` also how far the uncertainty of the inputs moves it, which takes some hundred solves more.

    >>> import quenchway as qw
    >>> found = qw.top_speed(qw.Case.from_text(qw.EXAMPLE))
    >>> found.deciding, found.printed
    ('capstan.core', '144 m/min')

    Raises `NoAnswer` where no speed meets all ceilings, or none is reached.
    """
    found = _engine._top_speed(case, band, threads)
    found["ceilings"] = [Ceiling(*ceiling) for ceiling in found["ceilings"]]
    found["range"] = found["range"] and Range(*found["range"])
    return TopSpeed(**found)


def needed_length(case: _engine.Case, *, band: bool = False, threads: int | None = None) -> NeededLength:
    """The shortest trough that meets every limit at the case's line speed, as `quenchway length` finds it.

    A trough that the plant does not allow is an answer, with what it takes too much of in `over`.

    >>> import quenchway as qw
    >>> found = qw.needed_length(qw.Case.from_text(qw.EXAMPLE))
    >>> found.deciding, 18.0 < found.length < 24.0
    ('capstan.core', True)

    Raises `NoAnswer` where no section may grow, there is no limit, or no length meets all.
    """
    found = _engine._needed_length(case, band, threads)
    found["limits"] = [Need(*need) for need in found["limits"]]
    found["over"] = [Over(*over) for over in found["over"]]
    found["range"] = found["range"] and Range(*found["range"])
    return NeededLength(**found)


def converge(case: _engine.Case, levels: int = 4, *, threads: int | None = None) -> Convergence:
    """The case on meshes twice finer and with steps halved from level to level, as `quenchway converge` does it.

    Observed order and grid convergence index after Roache (J. Fluids Eng. 116, 1994, 405) and Celik et al. (J. Fluids Eng.
    130, 2008, 078001). `levels` is 3 to 8.

    >>> import quenchway as qw
    >>> study = qw.converge(qw.Case.from_text(qw.EXAMPLE), 3)
    >>> [level.size_factor for level in study.levels]
    [1.0, 2.0, 4.0]
    >>> study.index < 0.01
    True

    Raises `MarchError` where a level has no answer.
    """
    found, tracks = _engine._converge(case, levels, threads)
    return Convergence([Level(*level) for level in found], [Track(*track) for track in tracks])
