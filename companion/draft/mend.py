"""What an outline tells and the checks find odd is not written down as known: it becomes a question."""

from typing import Any

from companion.procedure.check import find_all
from companion.procedure.fault import Fault
from companion.procedure.model import Procedure

_ASKED = {
    "torque": "torque",
    "stages": "torque",
    "thread": "size",
    "hex": "size",
    "socket_hex": "size",
    "six_lobe": "size",
}
_SAYS_MORE = ("bleeding-unsaid", "running-unsaid", "circuit-never-used")
_ROUNDS = 50


def questioned(data: dict[str, Any]) -> dict[str, Any]:
    """The data with each odd size or torque taken out and asked about instead."""
    for _ in range(_ROUNDS):
        found = find_all(Procedure.from_data(data))
        fault = next((fault for fault in found if _field(fault) or fault.rule.code in _SAYS_MORE), None)
        if fault is None:
            return data
        if fault.rule.code == "circuit-never-used":
            # Left out, it counts for every circuit: that is the safe side.
            data["items"][fault.path[1]].pop("circuit", None)
        elif _field(fault):
            _take_out(data, fault)
        else:
            _ask_what_it_says(data["steps"][fault.path[1]])
    return data


def _ask_what_it_says(step: dict[str, Any]) -> None:
    """Words that tell of bleeding or of a running engine, in a remark: nobody knows whether they mean it."""
    step["circuits"], step["runs_engine"] = [], False
    ask = f"Is something bled, filled or run here? The outline says: {step.get('more') or step['say']}"
    step.setdefault("review", []).append({"ask": ask, "about": "other"})


def _field(fault: Fault) -> str | None:
    path = fault.path
    if len(path) == 5 and path[0] == "steps" and path[2] == "fasteners" and path[4] in _ASKED:
        return str(path[4])
    return None


def _take_out(data: dict[str, Any], fault: Fault) -> None:
    _, position, _, place, name = fault.path
    step = data["steps"][position]
    fastener = step["fasteners"][place]
    # A head can be seen on the bench: of a thread and a head that do not fit, the thread is the less sure.
    name = "thread" if name == "hex" and "thread" in fastener else name
    told = fastener.pop(name)
    what = fastener["what"]
    for other in data["steps"] if name == "thread" else ():
        for one in other.get("fasteners", ()):
            if one["what"] == what and one.get("thread") == told:
                del one["thread"]
    about = _ASKED[str(name)]
    told = " then ".join(told) if isinstance(told, list) else told
    ask = f"The outline says {told} for the {what}, which is odd. What is right?"
    step.setdefault("review", []).append(
        {"ask": ask, "about": about, **({"dangerous": True} if about == "torque" else {})}
    )
    if about == "torque" and "measure" not in step:
        step["measure"] = {"what": f"torque of the {what}", "unit": "N·m"}
