"""Small jobs written in a line a step, for what is about the order of closing and nothing else."""

from collections.abc import Mapping
from typing import Any

from companion.procedure.model import Procedure


def step(id_: str, act: str, **more: Any) -> dict[str, Any]:
    """A step; `opens` and `closes` may name one item alone, and a `torque` tightens one bolt."""
    made: dict[str, Any] = {"id": id_, "act": act, "say": f"Do {id_}.", "book": "1 min"}
    torque = more.pop("torque", None)
    if torque is not None:
        made["fasteners"] = [{"what": "bolt", "thread": "M8", "hex": 13, "torque": torque}]
    for key, value in more.items():
        made[key] = [value] if key in ("opens", "closes") and isinstance(value, str) else value
    return made


def job(
    items: Mapping[str, Mapping[str, Any]],
    *steps: Mapping[str, Any],
    energy: Mapping[str, Mapping[str, Any]] | None = None,
    consumables: Mapping[str, Mapping[str, Any]] | None = None,
) -> Procedure:
    """A procedure of these items and steps, nothing checked."""
    named = {id_: {"name": id_, **item} for id_, item in items.items()}
    used = {name for s in steps for name in (*s.get("opens", ()), *s.get("closes", ()))}
    return Procedure.from_data(
        {
            "title": "A small job",
            "revision": "1",
            "applies_to": ["an invented engine"],
            "source_of_torques": "invented",
            "items": {id_: item for id_, item in named.items() if id_ in used},
            "energy": dict(energy or {}),
            "consumables": dict(consumables or {}),
            "steps": list(steps),
        }
    )


COVER_AND_CORE = (
    step("cover-off", "remove", opens="cover"),
    step("core-out", "remove", opens="core"),
    step("core-in", "fit", closes="core"),
    step("cover-on", "fit", closes="cover"),
)
PANELS: Mapping[str, Mapping[str, Any]] = {"cover": {"kind": "panel"}, "core": {"kind": "part"}}

CIRCUIT: Mapping[str, Mapping[str, Any]] = {
    "line": {"kind": "hose", "circuit": "fuel"},
    "oil": {"kind": "fluid", "circuit": "oil"},
    "tray": {"kind": "panel"},
}


def open_line(*between: dict[str, Any], **items: Mapping[str, Any]) -> Procedure:
    """Everything is opened, then closed; what is given comes last."""
    return job(
        {**CIRCUIT, **items},
        step("line-off", "disconnect", opens="line"),
        step("drain", "drain", opens="oil"),
        step("tray-off", "remove", opens="tray"),
        step("tray-on", "fit", closes="tray"),
        step("fill", "fill", closes="oil", circuits=["oil"]),
        step("line-on", "connect", closes="line"),
        *between,
    )
