"""Slips of order, conditions, waits and what is due afterwards."""

from tests.procedure.slips.kinds import Data, job_slip, later, step_slip


@step_slip("a closing step waits for nothing")
def closes_whenever(job: Data, step: Data) -> bool:
    if not step.get("closes") or step.get("after") == []:
        return False
    step["after"] = []
    return True


@step_slip("steps wait for one another in a ring", held=True)
def ring(job: Data, step: Data) -> bool:
    following = later(job, step)
    if not following or "after" in following[0] or not step.get("opens"):
        return False
    step["after"] = [following[0]["id"]]
    return True


@step_slip("an id is that of another step", hurts=False)
def same_id(job: Data, step: Data) -> bool:
    if step is job["steps"][0]:
        return False
    step["id"] = job["steps"][0]["id"]
    return True


@step_slip("the condition of a step is forgotten")
def unconditional(job: Data, step: Data) -> bool:
    return bool(step.pop("only_if", None)) and bool(step.get("closes"))


@step_slip("the condition of a step that works on what may be on is forgotten", held=True)
def unconditional_work(job: Data, step: Data) -> bool:
    return bool(step.pop("only_if", None)) and step["act"] == "clean"


@step_slip("a condition names a step that is not optional", hurts=False, held=True)
def wrong_condition(job: Data, step: Data) -> bool:
    if "only_if" not in step:
        return False
    step["only_if"] = job["steps"][1]["id"]
    return True


@step_slip("a step is optional, and its counterpart is not", held=True)
def optional_half(job: Data, step: Data) -> bool:
    if not step.get("opens") or step.get("optional") or step["act"] != "remove":
        return False
    step["optional"] = "Is it wanted?"
    return True


@step_slip("a waiting step has no wait", hurts=False)
def no_wait(job: Data, step: Data) -> bool:
    return bool(step.pop("wait", None))


@step_slip("the wait is not the one that is said")
def other_wait(job: Data, step: Data) -> bool:
    if "wait" not in step or step["wait"] not in step["say"]:
        return False
    number, unit = step["wait"].split()
    step["wait"] = f"{int(number) // 5 or 1} {unit}"
    return True


@step_slip("the wait that is said is not the one that is kept", held=True)
def other_wait_said(job: Data, step: Data) -> bool:
    if "wait" not in step or step["wait"] not in step["say"]:
        return False
    number, unit = step["wait"].split()
    step["say"] = step["say"].replace(step["wait"], f"{int(number) * 3} {unit}")
    return True


@step_slip("minutes have become seconds", held=True)
def seconds(job: Data, step: Data) -> bool:
    if "wait" not in step or step["wait"] not in step["say"]:
        return False
    step["wait"] = step["wait"].replace("min", "s")
    return True


@step_slip("a waiting step takes less time than its wait", hurts=False)
def shorter_than_its_wait(job: Data, step: Data) -> bool:
    if "wait" not in step:
        return False
    step["book"] = "1 min"
    return not step["wait"].startswith("1 ")


@step_slip("a book time of nothing", hurts=False, held=True)
def no_book_time(job: Data, step: Data) -> bool:
    step["book"] = "0 min"
    return True


@step_slip("a book time of days", hurts=False)
def days_of_book_time(job: Data, step: Data) -> bool:
    step["book"] = step["book"].replace("min", "days")
    return "days" in step["book"]


@job_slip("the cleaner dries after the sealant is on", held=True)
def dries_too_late(job: Data) -> bool:
    return _moved(job, "dry", "apply")


@job_slip("it drains after the plug is in", held=False)
def drains_too_late(job: Data) -> bool:
    drains = [s for s in job["steps"] if s["act"] == "wait" and "drain" in s["say"].lower()]
    fluids = [i for i, item in job["items"].items() if item["kind"] == "fluid"]
    fills = [s for s in job["steps"] if set(s.get("closes", [])) & set(fluids)]
    return bool(drains and fills) and _put_behind(job, drains[0], fills[0])


def _moved(job: Data, word: str, act: str) -> bool:
    waits = [s for s in job["steps"] if s["act"] == "wait" and f" {word} " in s["say"].lower()]
    targets = [s for s in job["steps"] if s["act"] == act]
    return bool(waits and targets) and _put_behind(job, waits[0], targets[0])


def _put_behind(job: Data, step: Data, other: Data) -> bool:
    """Moved in the file, with the steps that named it in `after` now naming the one before it."""
    place = job["steps"].index(step)
    before = job["steps"][place - 1]["id"]
    for one in job["steps"]:
        if step["id"] in one.get("after", []):
            one["after"] = [before if name == step["id"] else name for name in one["after"]]
    job["steps"].remove(step)
    job["steps"].insert(job["steps"].index(other) + 1, step)
    return True


@job_slip("a follow-up is never due", hurts=False)
def never_due(job: Data) -> bool:
    for follow_up in job.get("follow_ups", []):
        for key in ("after", "distance_km", "heat_cycles"):
            follow_up.pop(key, None)
        return True
    return False


@job_slip("a follow-up is due by distance alone", hurts=False, held=True)
def by_distance_alone(job: Data) -> bool:
    due = [one for one in job.get("follow_ups", []) if one.get("distance_km")]
    for follow_up in due:
        follow_up.pop("after", None)
        follow_up.pop("heat_cycles", None)
    return bool(due)


@job_slip("a follow-up is due at once", hurts=False)
def due_at_once(job: Data) -> bool:
    for follow_up in job.get("follow_ups", []):
        follow_up["after"] = "0 s"
        return True
    return False


@job_slip("a follow-up is there twice", hurts=False, held=True)
def follow_up_twice(job: Data) -> bool:
    found = job.get("follow_ups", [])
    found.extend(found[:1])
    return bool(found)


@step_slip("a count without what is counted", hurts=False, held=True)
def no_each(job: Data, step: Data) -> bool:
    return bool(step.pop("each", None))
