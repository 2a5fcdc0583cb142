"""Answers as xarray data sets: names, dimensions, units and attributes of the results file."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from quenchway import _engine

if TYPE_CHECKING:
    import xarray

GROUPS = ("stations", "sections", "band")


def dataset(answer: "_engine.Solution | _engine.Drive", group: str) -> "xarray.Dataset":
    """What a results file of this answer holds in a group; the root is the empty name."""
    import xarray as xr

    facts, variables = answer._labelled(group)
    names = {name for name, *_ in variables}
    labels: set[str] = set()
    data: dict[str, Any] = {}
    for name, dims, units, long_name, may_miss, coordinates, values in variables:
        # Texts have no unit.
        attrs = {"units": units, "long_name": long_name} if units else {"long_name": long_name}
        data[name] = xr.Variable(dims, values, attrs, {"_FillValue": float("nan")} if may_miss else None)
        labels |= {label for label in coordinates.split() if label in names}
    if not group:
        now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        facts["history"] = f"{now} quenchway-python {_engine.VERSION} {facts.get('command', 'march')}"
    return xr.Dataset(data, attrs=facts).set_coords(sorted(labels))


def datatree(solution: "_engine.Solution") -> "xarray.DataTree":
    """All groups of a results file of this solution."""
    import xarray as xr

    groups = {f"/{group}": dataset(solution, group) for group in ("", *GROUPS)}
    return xr.DataTree.from_dict(groups)
