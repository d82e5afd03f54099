"""A fit as a JSON file beside the logs, for "how long left" at the car.

Every start of a job asks for that file. So this module loads numpy only once there is one.
"""

import json
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from companion.errors import LabourError
from companion.files import write_whole
from companion.labour.table.columns import CACHE

if TYPE_CHECKING:
    from companion.labour.model.fitted import Fitted

SCHEMA = 4
"""It stands in the name of the file: a fit of another version is not looked at, and made again."""
_ONE_EACH = ("sigma", "job", "new_step", "base")
"""The arrays with one number for each set of spreads."""


def kept_fit(logs: Path, title: str) -> Path:
    """Where the fit of a procedure is kept."""
    return logs / CACHE / f"fit-{SCHEMA}-{sha256(title.encode()).hexdigest()[:16]}.json"


def keep(fitted: "Fitted", path: Path) -> None:
    """Write a fit.

    Raises:
        LabourError: it cannot be written.
    """
    text = json.dumps(to_data(fitted), separators=(",", ":"))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, text.encode())
    except OSError as error:
        raise LabourError(f"{path}: cannot be written ({error.strerror}); choose another folder") from error


def load(path: Path) -> "Fitted":
    """Read a fit.

    Raises:
        LabourError: the file is missing, or is no fit.
    """
    try:
        return from_data(json.loads(path.read_text(encoding="utf-8")))
    except OSError as error:
        raise LabourError(
            f"{path}: cannot be read ({error.strerror}); run 'companion times' first"
        ) from error
    except (KeyError, TypeError, ValueError, IndexError) as error:
        raise LabourError(f"{path}: is not a fit of step times; delete it, it is made again") from error


def to_data(fitted: "Fitted") -> dict[str, Any]:
    """A fit as plain data. Numbers are rounded to five digits."""
    from companion.labour.model.fitted import OVER_SPREADS

    learnt, odd = fitted.learnt, fitted.odd
    data: dict[str, Any] = {"schema": SCHEMA, "title": fitted.title, "jobs": fitted.jobs}
    data["steps"] = [[s.step, s.work, s.jobs, s.mechanics, s.unfinished, s.book_s] for s in fitted.steps]
    data["mechanics"] = list(fitted.mechanics)
    data["learnt"] = learnt and [learnt.rate, learnt.low, learnt.high, learnt.jobs]
    data["vary"] = None if fitted.vary is None else _rounded(fitted.vary)
    data["odd"] = odd and [odd.times, odd.of, [_rounded(change) for change in odd.changes]]
    for name in OVER_SPREADS:
        array = getattr(fitted, name)
        data[name] = [_rounded(row) for row in array.reshape(len(fitted.sigma), -1)]
    return data


def from_data(data: dict[str, Any]) -> "Fitted":
    """The reverse of `to_data`. Other data raises KeyError, TypeError, ValueError or IndexError."""
    import numpy as np

    from companion.labour.model.fitted import OVER_SPREADS, Fitted
    from companion.labour.model.learning import Learnt
    from companion.labour.model.observations import StepSeen
    from companion.labour.model.odd_times import Odd

    if data["schema"] != SCHEMA:
        raise ValueError(f"schema {data['schema']!r} is not {SCHEMA}")
    arrays = {name: np.array(data[name], float) for name in OVER_SPREADS}
    for name in _ONE_EACH:
        arrays[name] = arrays[name][:, 0]
    sets, steps = len(arrays["sigma"]), len(data["steps"])
    for name in ("mean", "own"):
        arrays[name] = arrays[name].reshape(sets, steps)
    odd = data["odd"]
    return Fitted(
        data["title"],
        data["jobs"],
        tuple(StepSeen(*s) for s in data["steps"]),
        tuple(data["mechanics"]),
        **arrays,
        vary=None if data["vary"] is None else np.array(data["vary"], float).reshape(steps),
        learnt=Learnt(*data["learnt"]) if data["learnt"] else None,
        odd=Odd(odd[0], odd[1], np.array(odd[2], float)) if odd else None,
    )


def _rounded(row: Any) -> list[float]:
    return [float(f"{x:.5g}") for x in row]
