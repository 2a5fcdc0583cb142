"""Many cases at once: numbers of a case vary, outputs come back."""

import math
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from quenchway import _engine
from quenchway._errors import NoAnswer, UnknownName

if TYPE_CHECKING:
    import xarray

# More of them do not fit in the memory of most machines.
MOST = 100_000_000


class Batch(Mapping[str, npt.NDArray[np.float64]]):
    """Outputs of many cases by name, each an array of the shape to which the values were broadcast.

    A case without an answer is not a number in every output; `problems` says why.
    """

    inputs: dict[str, npt.NDArray[np.float64]]
    """The values in SI, each broadcast to `shape`."""
    problems: list[tuple[tuple[int, ...], str]]
    """Index into the arrays, and why there is no answer."""

    def __init__(
        self,
        case: _engine.Case,
        given: dict[str, npt.NDArray[np.float64]],
        outputs: dict[str, npt.NDArray[np.float64]],
        shape: tuple[int, ...],
        problems: list[tuple[tuple[int, ...], str]],
    ) -> None:
        self._case = case
        self._given = given
        self._outputs = outputs
        self.inputs = {path: np.broadcast_to(values, shape) for path, values in given.items()}
        self.shape = shape
        self.problems = problems

    def __getitem__(self, name: str) -> npt.NDArray[np.float64]:
        try:
            return self._outputs[name]
        except KeyError:
            raise UnknownName(f"the batch has no output {name!r}; it has {', '.join(self)}", name) from None

    def __iter__(self) -> Iterator[str]:
        return iter(self._outputs)

    def __len__(self) -> int:
        return len(self._outputs)

    def __repr__(self) -> str:
        count = math.prod(self.shape)
        failed = f", {len(self.problems)} without an answer" if self.problems else ""
        return f"<Batch of {count} cases{failed}: {', '.join(self)}>"

    def to_xarray(self) -> "xarray.Dataset":
        """The batch as a data set: outputs as variables, values as coordinates, all with their units.

        Values that vary along one dimension give it their key path as name; other dimensions are called `dim_0`, `dim_1`.
        """
        import xarray as xr

        shape = self.shape
        dims = [f"dim_{axis}" for axis in range(len(shape))]
        alone: dict[int, list[str]] = {}
        for path, values in self._given.items():
            padded = (1,) * (len(shape) - values.ndim) + values.shape
            along = [axis for axis, length in enumerate(padded) if length != 1]
            if len(along) == 1:
                alone.setdefault(along[0], []).append(path)
        for axis, paths in alone.items():
            # Of several numbers that move together none is the dimension.
            if len(paths) == 1:
                dims[axis] = paths[0]
        coords: dict[str, Any] = {}
        for path, values in self._given.items():
            full = (1,) * (len(shape) - values.ndim) + values.shape
            own = [axis for axis, length in enumerate(full) if length != 1]
            _, units = self._case._label(path)
            coords[path] = ([dims[axis] for axis in own], values.reshape([full[axis] for axis in own]), {"units": units})
        data: dict[str, Any] = {}
        for name, units, words in self._case._output_labels(list(self)):
            data[name] = (dims, self._outputs[name], {"units": units, "long_name": words})
        return xr.Dataset(data, coords=coords, attrs={"title": self._case.title})


def batch(
    case: _engine.Case,
    values: Mapping[str, npt.ArrayLike],
    outputs: Iterable[str],
    *,
    threads: int | None = None,
    strict: bool = False,
) -> Batch:
    """The outputs of many variants of a case, at the case's tolerance, on all cores and without the interpreter's lock.

    `values` maps key paths to arrays in SI (temperatures in degC) or to texts with a unit. They are broadcast against each
    other by the rules of numpy, and `line.speed` is set first. `outputs` are names of outputs, `case.outputs` lists them.
    Each case is solved once, as studies solve it: `solver.tolerance` holds as a rule, without a measured error.

    What a case answers depends neither on its neighbours nor on the number of threads, to the last bit. A case without an
    answer is not a number, and its reason stands in `problems`; with `strict` it raises `NoAnswer` instead.

    >>> import numpy as np, quenchway as qw
    >>> case = qw.Case.from_text(qw.EXAMPLE)
    >>> speed, length = np.array([2.0, 2.5]), np.array([15.0, 18.0, 21.0])
    >>> found = qw.batch(case, {"line.speed": speed[:, None], "section.trough.length": length}, ["capstan.core"])
    >>> found["capstan.core"].shape
    (2, 3)
    >>> bool(np.all(np.diff(found["capstan.core"], axis=1) < 0))
    True

    Raises `UnknownName` for a path or an output that the case does not have. Raises `CaseError` for a text that is no value
    there, and `TypeError` for what is neither a number nor a text. Raises `ValueError` for arrays that do not go together, or
    that make more than 100 million cases.
    """
    if not isinstance(case, _engine.Case):
        raise TypeError(f"a {type(case).__name__} is no Case; write Case.from_toml(path) or Case.from_text(text)")
    if not isinstance(values, Mapping):
        raise TypeError(f'values is a {type(values).__name__}; write a dict, such as {{"line.speed": [2.0, 2.5]}}')
    if isinstance(outputs, str) or not isinstance(outputs, Iterable):
        raise TypeError(f'outputs is a {type(outputs).__name__}; write a list of names, such as ["capstan.core"]')
    names = [name for name, _, _ in case._output_labels(list(outputs))]
    given = {case._label(path)[0]: _numbers(case, path, value) for path, value in values.items()}
    if len(given) != len(values):
        raise ValueError(f"a number of the case is given twice: {', '.join(values)}")
    try:
        shape = np.broadcast_shapes(*(value.shape for value in given.values()))
    except ValueError:
        shapes = ", ".join(f"{path} {value.shape}" for path, value in given.items())
        raise ValueError(f"numpy cannot broadcast the values against each other: {shapes}") from None
    count = _count(shape)
    columns = [np.ascontiguousarray(np.broadcast_to(value, shape)).reshape(-1) for value in given.values()]
    found, failed = _engine._batch(case, list(given), columns, count, names, threads)
    problems = [(tuple(int(place) for place in np.unravel_index(row, shape)), text) for row, text in failed]
    if strict and problems:
        index, text = problems[0]
        raise NoAnswer(f"{len(problems)} of {count} cases have no answer; the first is {index}: {text}")
    arrays = {name: found[:, index].reshape(shape) for index, name in enumerate(names)}
    return Batch(case, given, arrays, shape, problems)


def _count(shape: tuple[int, ...]) -> int:
    count = math.prod(shape)
    if count > MOST:
        raise ValueError(f"these are {count} cases and a batch takes at most {MOST}; ask for them in parts")
    return count


def _numbers(case: _engine.Case, path: str, value: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Values in SI; texts are read with their units, and what is masked is not a number."""
    try:
        array = np.asarray(value)
    except ValueError as error:
        raise ValueError(f"{path}: {error}") from None
    _count(array.shape)
    if array.dtype.kind in "UTO" and all(isinstance(text, str) for text in array.flat):
        texts = [case.parse(path, str(text)) for text in array.flat]
        return np.array(texts, dtype=np.float64).reshape(array.shape)
    if array.dtype.kind not in "fiu":
        raise TypeError(f"{path}: values of type {array.dtype} are neither numbers in SI nor texts with a unit")
    return np.where(np.ma.getmaskarray(value), np.nan, array) if np.ma.isMaskedArray(value) else array.astype(np.float64)
