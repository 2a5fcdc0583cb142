"""How long must the cooling trough be, how fast may the line run: the engine of quenchway for Python.

Names are those of the case file and of the command line: key paths go in, names of outputs come out. A number without a
unit is in SI, as in the JSON of the command line. Temperatures are in degC, differences of temperatures in K.

>>> import quenchway as qw
>>> case = qw.Case.from_text(qw.EXAMPLE)
>>> solution = qw.march(case)
>>> round(solution.stations["capstan"].core, 1)
61.9
>>> slower = case.with_values({"line.speed": "140 m/min"})
>>> qw.march(slower).limits_met
True

The numbers are estimates for planning, to be confirmed on the line. Solutions carry their cautions: read them.
"""

from quenchway._answers import Convergence, NeededLength, TopSpeed, converge, needed_length, top_speed
from quenchway._batch import Batch, batch
from quenchway._engine import EXAMPLE, Case, Drive, Limit, Section, Solution, Station, drive, march
from quenchway._engine import VERSION as __version__
from quenchway._errors import CaseError, MarchError, NoAnswer, Problem, UnknownName

__all__ = [
    "EXAMPLE",
    "Batch",
    "Case",
    "CaseError",
    "Convergence",
    "Drive",
    "Limit",
    "MarchError",
    "NeededLength",
    "NoAnswer",
    "Problem",
    "Section",
    "Solution",
    "Station",
    "TopSpeed",
    "UnknownName",
    "__version__",
    "batch",
    "converge",
    "drive",
    "march",
    "needed_length",
    "top_speed",
]
