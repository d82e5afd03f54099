"""Slips of the ledger: what is opened and not named, or named as something else."""

from typing import Any

from tests.procedure.slips.kinds import (
    Data,
    as_list,
    forget_item,
    job_slip,
    later,
    step_slip,
    steps_with,
    thing_slip,
)

OFF = ("remove", "disconnect", "drain")


@step_slip("what a removing step opens is in no ledger")
def nothing_opened(job: Data, step: Data) -> bool:
    if step["act"] not in OFF or step.get("disturbs"):
        return False
    for item in list(as_list(step.get("opens"))):
        forget_item(job, item)
    return True


@step_slip("the fluid that is drained is in no ledger", held=True)
def fluid_forgotten(job: Data, step: Data) -> bool:
    fluids = [i for i in as_list(step.get("opens")) if job["items"][i]["kind"] == "fluid"]
    for item in fluids:
        forget_item(job, item)
    return bool(fluids) and step["act"] == "drain"


@step_slip("a hole that the words have plugged is in no ledger", held=True)
def hole_forgotten(job: Data, step: Data) -> bool:
    ports = [i for i in as_list(step.get("opens")) if job["items"][i]["kind"] == "port"]
    told = any(words in step["say"].lower() for words in ("plug the", "cap the"))
    for item in ports:
        forget_item(job, item)
    return bool(ports) and told


@step_slip("closes is forgotten")
def never_closed(job: Data, step: Data) -> bool:
    return bool(step.pop("closes", None))


@step_slip("opens is forgotten")
def never_opened(job: Data, step: Data) -> bool:
    return bool(step.pop("opens", None))


@step_slip("an unplugging is written as a look, without a ledger", held=True)
def unplugged_by_a_look(job: Data, step: Data) -> bool:
    if step["act"] != "disconnect" or not step["say"].lower().startswith(
        ("unplug", "pull", "left side. unplug")
    ):
        return False
    step["act"] = "inspect"
    for item in list(as_list(step.get("opens"))):
        forget_item(job, item)
    step.pop("disturbs", None)
    return not any(seal.get("joint") is None for seal in job.get("seals", {}).values())


@step_slip("a step of another act tells of unplugging something more")
def unplugged_by_the_way(job: Data, step: Data) -> bool:
    if step["act"] in ("clean", "inspect", "wait"):
        step["say"] = f"{step['say']} Unplug the sensor."
        return True
    return False


@step_slip("a step of another act tells of draining", held=True)
def drained_by_the_way(job: Data, step: Data) -> bool:
    if step["act"] in ("clean", "inspect") and not step.get("optional"):
        step["say"] = f"Drain the oil. {step['say']}"
        return True
    return False


@thing_slip("items", "what lets fluid out is called a panel")
def leak_called_a_panel(job: Data, id_: str, item: Data) -> bool:
    if item["kind"] not in ("hose", "joint") or not item["name"].endswith((" hose", " joint")):
        return False
    item["kind"] = "panel"
    item.pop("circuit", None)
    return True


@thing_slip("items", "a fluid is called a part", held=True)
def fluid_called_a_part(job: Data, id_: str, item: Data) -> bool:
    if item["kind"] != "fluid":
        return False
    item["kind"] = "part"
    item.pop("circuit", None)
    return True


@thing_slip("items", "a connector is called a part")
def connector_called_a_part(job: Data, id_: str, item: Data) -> bool:
    called = item["kind"] == "connector" and "connector" in item["name"]
    item["kind"] = "part"
    return called


@thing_slip("items", "an item is reached through itself", held=True)
def through_itself(job: Data, id_: str, item: Data) -> bool:
    item["reached_through"] = [id_]
    return True


@step_slip("a step leaves open what it closes")
def leaves_open_what_it_closes(job: Data, step: Data) -> bool:
    step["leaves_open"] = list(step.get("closes", []))
    return bool(step["leaves_open"])


@thing_slip("items", "a circuit is misspelt")
def circuit_misspelt(job: Data, id_: str, item: Data) -> bool:
    if "circuit" not in item:
        return False
    item["circuit"] += "s"
    return True


@step_slip("that the engine runs is not said")
def running_unsaid(job: Data, step: Data) -> bool:
    return bool(step.pop("runs_engine", None)) and "engine" in step["say"].lower()


@step_slip("a running engine is said not to run", held=True)
def running_denied(job: Data, step: Data) -> bool:
    running = bool(step.get("runs_engine")) and "engine" in step["say"].lower()
    step["runs_engine"] = False
    return running


@step_slip("a filling step fills no circuit", held=True)
def fills_nothing(job: Data, step: Data) -> bool:
    step["circuits"] = []
    return bool(step["act"] == "fill")


@step_slip("an act is that of taking off, and the step puts on")
def act_turned(job: Data, step: Data) -> bool:
    if not step.get("closes") or step.get("opens") or step["act"] not in ("fit", "connect", "tighten"):
        return False
    step["act"] = "remove"
    return True


@step_slip("an act is that of putting on, and the step takes off", held=True)
def act_turned_back(job: Data, step: Data) -> bool:
    if step["act"] not in OFF:
        return False
    step["act"] = "fit"
    return True


@step_slip("a step that takes something off is called a look")
def called_a_look(job: Data, step: Data) -> bool:
    if step["act"] not in ("remove", "drain"):
        return False
    step["act"] = "inspect"
    return True


@step_slip("an item is closed by an earlier step than the one that closes it", held=True)
def closed_in_the_step_before(job: Data, step: Data) -> bool:
    """Moved to the step that opens it."""
    for item in step.get("closes", []):
        opener = steps_with(job, "opens", item)
        if opener:
            step["closes"].remove(item)
            opener[0].setdefault("closes", []).append(item)
            return True
    return False


@step_slip("two items that one step opens are closed under one name", held=True)
def one_closed_twice(job: Data, step: Data) -> bool:
    closes = step.get("closes", [])
    if len(closes) != 2:
        return False
    closes[1] = closes[0]
    return True


@job_slip("an item is declared and never used", hurts=False)
def unused_item(job: Data) -> bool:
    job["items"]["spare-hose"] = {"name": "spare hose", "kind": "hose", "circuit": "oil"}
    return True


@step_slip("a step is there twice", held=True)
def twice(job: Data, step: Data) -> bool:
    if not (step.get("opens") or step.get("closes")):
        return False
    copy: dict[str, Any] = {**step, "id": f"{step['id']}-again"}
    copy.pop("after", None)
    for other in later(job, step):
        other["after"] = [
            copy["id"] if name == step["id"] else name for name in other.get("after", [])
        ] or other.get("after", None)
        if other["after"] is None:
            del other["after"]
    job["steps"].insert(job["steps"].index(step) + 1, copy)
    return True
