"""Many cases at once: numbers of a case vary, outputs come back."""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from quenchway import _engine
from quenchway._errors import NoAnswer

if TYPE_CHECKING:
    import xarray


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
        return self._outputs[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._outputs)

    def __len__(self) -> int:
        return len(self._outputs)

    def __repr__(self) -> str:
        count = int(np.prod(self.shape))
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
            along = [axis for axis, length in enumerate(padded) if length > 1]
            if len(along) == 1:
                alone.setdefault(along[0], []).append(path)
        for axis, paths in alone.items():
            # Of several numbers that move together none is the dimension.
            if len(paths) == 1:
                dims[axis] = paths[0]
        coords: dict[str, Any] = {}
        for path, values in self._given.items():
            full = (1,) * (len(shape) - values.ndim) + values.shape
            own = [axis for axis, length in enumerate(full) if length > 1]
            _, units = self._case._label(path)
            coords[path] = ([dims[axis] for axis in own], values.reshape([full[axis] for axis in own]), {"units": units})
        data: dict[str, Any] = {}
        for name, units, words in self._case._output_labels(list(self)):
            data[name] = (dims, self._outputs[name], {"units": units, "long_name": words})
        return xr.Dataset(data, coords=coords, attrs={"title": self._case.title})


def batch(
    case: _engine.Case,
    values: Mapping[str, npt.ArrayLike],
    outputs: Sequence[str],
    *,
    threads: int | None = None,
    strict: bool = False,
) -> Batch:
    """The outputs of many variants of a case, at the case's tolerance, on all cores and without the interpreter's lock.

    `values` maps key paths to arrays in SI (temperatures in degC) or to texts with a unit; they are broadcast against each
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

    Raises `UnknownName` for a path or an output that the case does not have, `CaseError` for a text that is no value there,
    `ValueError` for arrays that do not go together.
    """
    names = [name for name, _, _ in case._output_labels(list(outputs))]
    given = {case._label(path)[0]: _numbers(case, path, value) for path, value in values.items()}
    if len(given) != len(values):
        raise ValueError(f"a number of the case is given twice: {', '.join(values)}")
    shape = np.broadcast_shapes(*(value.shape for value in given.values()))
    columns = [np.ascontiguousarray(np.broadcast_to(value, shape)).reshape(-1) for value in given.values()]
    count = int(np.prod(shape))
    found, failed = _engine._batch(case, list(given), columns, count, names, threads)
    problems = [(tuple(int(place) for place in np.unravel_index(row, shape)), text) for row, text in failed]
    if strict and problems:
        index, text = problems[0]
        raise NoAnswer(f"{len(problems)} of {count} cases have no answer; the first is {index}: {text}")
    arrays = {name: found[:, index].reshape(shape) for index, name in enumerate(names)}
    return Batch(case, given, arrays, shape, problems)


def _numbers(case: _engine.Case, path: str, value: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Values in SI; texts are read with their units."""
    array = np.asarray(value)
    if array.dtype.kind == "U":
        texts = [case.parse(path, str(text)) for text in array.reshape(-1)]
        return np.array(texts, dtype=np.float64).reshape(array.shape)
    if array.dtype.kind not in "fiu":
        raise TypeError(f"{path}: values of type {array.dtype} are neither numbers in SI nor texts with a unit")
    return array.astype(np.float64)
