"""Edits that keep a procedure correct: nothing may be found in their copies."""

import re
from collections.abc import Callable
from copy import deepcopy
from typing import Any

from tests.procedure.slips.kinds import Data, as_list, bolts, number_of, source_of

Edit = Callable[[Data], object]
EDITS: dict[str, Edit] = {}
WORDS = {
    "two": "2",
    "three": "3",
    "four": "4",
    "five": "5",
    "eight": "8",
    "six": "6",
    "twenty": "20",
    "one": "1",
}


def edit(name: str) -> Callable[[Edit], Edit]:
    """Add an edit under its name."""

    def add(made: Edit) -> Edit:
        EDITS[name] = made
        return made

    return add


def edited(data: Data, made: Edit) -> Data:
    """A copy with the edit in it."""
    copy = deepcopy(data)
    made(copy)
    return copy


def _each_text(job: Data, key: str, change: Callable[[str], str]) -> None:
    for step in job["steps"]:
        if step.get(key):
            step[key] = change(step[key])


def _say(name: str, pattern: str, new: str | Callable[[re.Match[str]], str]) -> None:
    EDITS[name] = lambda job: _each_text(job, "say", lambda text: re.sub(pattern, new, text))


def _set(name: str, path: tuple[str, ...], value: Any) -> None:
    def made(job: Data) -> None:
        at = job
        for key in path[:-1]:
            at = at[key]
        at[path[-1]] = value

    EDITS[name] = made


def _every(name: str, section: str, change: Callable[[Data], object]) -> None:
    def made(job: Data) -> None:
        found = job.get(section, {})
        for thing in found.values() if isinstance(found, dict) else found:
            change(thing)

    EDITS[name] = made


def _every_bolt(name: str, change: Callable[[Data], object]) -> None:
    EDITS[name] = lambda job: [change(bolt) for step in job["steps"] for bolt in bolts(step)]


def _add_step(name: str, before: str, step: Data) -> None:
    """A step before the first one of an act, on the way that goes through it."""

    def made(job: Data) -> None:
        place = next(
            (n for n, s in enumerate(job["steps"]) if s["act"] == before and "after" not in s and n), None
        )
        if place is not None:
            job["steps"].insert(place, deepcopy(step))

    EDITS[name] = made


_set("another title", ("title",), "Another title for the job")
_set("another revision", ("revision",), "2")
_set("the source is named", ("source_of_torques",), "Workshop manual 4711, third edition, 2024")
_every("another book time", "steps", lambda step: "wait" in step or step.update(book="9 min"))
_every("no more", "steps", lambda step: step.pop("more", None))
_every("no where", "steps", lambda step: step.pop("where", None))
_every(
    "more is told", "steps", lambda step: step.setdefault("more", "Take your time and keep the lamp close.")
)
_every("times as ISO 8601", "steps", lambda step: "wait" in step or step.update(book="PT9M"))
_say("figures for words", r"\b(two|three|four|five|eight|six|twenty)\b", lambda m: WORDS[m[1]])
_say("newton metres written without a dot", "N·m", "Nm")
_say("newton metres in words", "N·m", "newton metres")
_say("millimetres in words", r"\bmm\b", "millimetres")
_say("volts in words", r"\bV\b", "volts")
_say("at most is no more than", "At most", "No more than")
_say("begins with now", r"^(\w)", lambda m: f"Now {m[1].lower()}")
_say("and another sentence", r"$", " Take your time.")
_say("a semicolon for a full stop", r"\. (?=Three|Two|One|Four|Eight)", "; ")
_say("minutes in words", r"\bmin\b", "minutes")
_every_bolt(
    "bags under other names", lambda b: b.update(bag=b["bag"].replace("bag", "box")) if "bag" in b else 0
)
_every_bolt("no bags", lambda b: b.pop("bag", None))
_every_bolt("a class", lambda b: b.update({"class": "10.9"}) if "thread" in b else 0)
_every_bolt("no drives", lambda b: [b.pop(key, None) for key in ("hex", "socket_hex", "six_lobe")])
_every_bolt("no threads", lambda b: b.pop("thread", None))
_every_bolt(
    "the older head", lambda b: b.update(hex=17) if b.get("thread") == "M10" and b.get("hex") == 16 else 0
)
_every_bolt("torques as one stage", lambda b: b.update(stages=[b.pop("torque")]) if "torque" in b else 0)
_every_bolt(
    "torques without a dot",
    lambda b: b.update(torque=b["torque"].replace("N·m", "Nm")) if "torque" in b else 0,
)
_every("items where they are", "items", lambda item: item.setdefault("where", "where it can be seen"))
_every("no releases", "items", lambda item: item.pop("releases", None))
_every("no protection", "items", lambda item: item.pop("protect", None))
_every("items called old", "items", lambda item: item.update(name=f"old {item['name']}"))
_every("seals called old", "seals", lambda seal: seal.update(name=f"old {seal['name']}"))
_every("one part more of each", "parts", lambda part: part.update(count=part.get("count", 1) + 1))
_every("a slower product", "consumables", lambda one: one.update(full_cure="48 h"))
_every("a product that stays wet longer", "consumables", lambda one: one.update(skin_over="20 min"))
_every("another reference temperature", "consumables", lambda one: one.update(reference_temperature=20))
_every("a product under another name", "consumables", lambda one: one.update(name=f"black {one['name']}"))
_every("follow-ups later", "follow_ups", lambda one: one.update(after="30 days"))
_every("follow-ups without distance", "follow_ups", lambda one: one.pop("distance_km", None))
_every(
    "stricter proofs",
    "energy",
    lambda one: one["prove"].update(at_most=one["prove"]["at_most"]) if "prove" in one else 0,
)
_every("longer waits", "energy", lambda one: one.update(wait="50 min"))
_every("sources without an article", "energy", lambda one: one.update(name=one["name"].removeprefix("the ")))
_every("graver signal words", "cautions", lambda one: one.update(signal="DANGER"))


@edit("a vehicle more")
def vehicle(job: Data) -> None:
    job["applies_to"].append("Another Invented 1.8")


@edit("the cautions in another order")
def cautions(job: Data) -> None:
    job["cautions"].reverse()


@edit("a caution more")
def caution(job: Data) -> None:
    job["cautions"].append({"signal": "CAUTION", "hazard": "Edges are sharp", "avoid": "Wear gloves"})


@edit("items in another order")
def item_order(job: Data) -> None:
    job["items"] = dict(reversed(job["items"].items()))


@edit("parts in another order")
def part_order(job: Data) -> None:
    job["parts"] = dict(reversed(job["parts"].items()))


@edit("keys of steps in another order")
def key_order(job: Data) -> None:
    job["steps"] = [dict(reversed(step.items())) for step in job["steps"]]


@edit("other ids of steps")
def ids(job: Data) -> None:
    new = {step["id"]: f"s{number}-{step['id']}" for number, step in enumerate(job["steps"])}
    for step in job["steps"]:
        step["id"] = new[step["id"]]
        for key in ("after", "waits_for"):
            if key in step:
                step[key] = [new[name] for name in step[key]]
        for key in ("assembles", "only_if"):
            if key in step:
                step[key] = new[step[key]]


@edit("every after written out")
def written_out(job: Data) -> None:
    for before, step in zip(job["steps"], job["steps"][1:], strict=False):
        step.setdefault("after", [before["id"]])


@edit("that no engine runs is written out")
def no_engine(job: Data) -> None:
    for step in job["steps"]:
        step.setdefault("runs_engine", False)


@edit("a stage more in between")
def stage(job: Data) -> None:
    for step in job["steps"]:
        for bolt in bolts(step):
            if len(bolt.get("stages", [])) == 2:
                middle = (number_of(bolt["stages"][0]) + number_of(bolt["stages"][1])) / 2
                bolt["stages"].insert(1, f"{middle:g} N·m")


@edit("a little less torque, in field and words")
def less_torque(job: Data) -> None:
    for step in job["steps"]:
        for bolt in bolts(step):
            if bolt.get("torque") in ("10 N·m", "9 N·m"):
                step["say"] = step["say"].replace(bolt["torque"], "8.5 N·m")
                bolt["torque"] = "8.5 N·m"


@edit("a lower limit of the proof, in field and words")
def lower_limit(job: Data) -> None:
    for step in job["steps"]:
        prove = job["energy"].get(step.get("proves"), {}).get("prove")
        if prove and source_of(job, step["proves"]) == "battery":
            step["say"] = step["say"].replace("0.5 V", "0.2 V")
            prove["at_most"] = 0.2


@edit("states in other words")
def states(job: Data) -> None:
    for step in job["steps"]:
        if step.get("state") == "battery disconnected":
            step["state"] = "battery is off"
        if step.get("state") == "raised and supported":
            step["state"] = "vehicle stands firm on four"


@edit("a caution on a step")
def hazard(job: Data) -> None:
    for step in job["steps"]:
        if as_list(step.get("opens")):
            step.setdefault("hazards", []).append(
                {"signal": "CAUTION", "hazard": "the edge is sharp", "avoid": "wear gloves"}
            )


@edit("a remark on a step")
def notice(job: Data) -> None:
    for step in job["steps"]:
        step.setdefault("hazards", []).append(
            {"signal": "NOTICE", "hazard": "dirt gets into the bearing", "avoid": "wipe around it first"}
        )


@edit("a follow-up more")
def follow_up(job: Data) -> None:
    job["follow_ups"].append({"what": "Listen for a noise", "after": "14 days"})


@edit("a tool more, and a step that asks for it")
def tool(job: Data) -> None:
    job["tools"].append("inspection mirror")
    job["steps"][-1].setdefault("tools", []).append("inspection mirror")


@edit("a part more, and a step that speaks of it")
def part(job: Data) -> None:
    job["parts"]["grommet-new"] = {"name": "rubber grommet"}
    job["steps"][-1]["more"] = "If the rubber grommet is torn, change it."


_add_step(
    "a step that looks",
    "fit",
    {"id": "look-closer", "act": "inspect", "say": "Look for cracks.", "book": "1 min"},
)
_add_step(
    "a step that cleans",
    "apply",
    {"id": "wipe-more", "act": "clean", "say": "Wipe it again.", "book": "1 min"},
)
_add_step(
    "a step that may be wanted",
    "clean",
    {
        "id": "look-if-wanted",
        "act": "inspect",
        "say": "Look at the flange with the lamp.",
        "book": "1 min",
        "optional": "Look at the flange?",
    },
)
_add_step(
    "a step that measures",
    "clean",
    {
        "id": "measure-more",
        "act": "inspect",
        "say": "Measure the width of the groove. At least 4.2 mm.",
        "book": "2 min",
        "measure": {"what": "width of the groove", "unit": "mm", "at_least": 4.2},
    },
)
