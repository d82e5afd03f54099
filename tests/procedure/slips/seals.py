"""Slips of seals, new parts and what must cure."""

from tests.procedure.slips.kinds import Data, job_slip, step_slip, steps_with, thing_slip


@thing_slip("seals", "a single-use seal may be inspected")
def inspected(job: Data, id_: str, seal: Data) -> bool:
    if seal["use"] != "single":
        return False
    seal["use"] = "inspect"
    return True


@thing_slip("seals", "a single-use seal may be inspected, and has no new part", held=True)
def inspected_without_part(job: Data, id_: str, seal: Data) -> bool:
    words = " ".join(step["say"] for step in steps_with(job, "renews", id_))
    if seal["use"] != "single" or "new" not in words:
        return False
    seal["use"] = "inspect"
    seal.pop("part")
    return True


@thing_slip("seals", "a seal has a joint that is not opened there")
def other_joint(job: Data, id_: str, seal: Data) -> bool:
    opened = {i for step in steps_with(job, "disturbs", id_) for i in step.get("opens", [])}
    for item in job["items"]:
        if item not in opened and item != seal.get("joint"):
            seal["joint"] = item
            return True
    return False


@thing_slip("seals", "a single-use seal has no part")
def no_part(job: Data, id_: str, seal: Data) -> bool:
    return bool(seal.pop("part", None))


@thing_slip("seals", "a single-use seal has no joint", held=True)
def no_joint(job: Data, id_: str, seal: Data) -> bool:
    return seal["use"] == "single" and bool(seal.pop("joint", None))


@thing_slip("parts", "a part for a single-use seal may be used again", held=True)
def reused_part(job: Data, id_: str, part: Data) -> bool:
    needed = any(seal.get("part") == id_ for seal in job.get("seals", {}).values())
    return needed and bool(part.pop("single_use", None))


@step_slip("renews is forgotten")
def not_renewed(job: Data, step: Data) -> bool:
    return bool(step.pop("renews", None))


@step_slip("disturbs is forgotten", held=True)
def not_disturbed(job: Data, step: Data) -> bool:
    return bool(step.pop("disturbs", None))


@thing_slip("seals", "a new seal is in the words alone")
def seal_in_words_alone(job: Data, id_: str, seal: Data) -> bool:
    words = " ".join(step["say"] for step in steps_with(job, "renews", id_)).lower()
    named = any(f"new {noun}" in words for noun in ("ring", "washer", "gasket", "oil passage ring"))
    del job["seals"][id_]
    for step in job["steps"]:
        for key in ("disturbs", "renews"):
            if id_ in step.get(key, []):
                step[key].remove(id_)
    return named


@thing_slip("parts", "fewer new parts than the job fits")
def too_few(job: Data, id_: str, part: Data) -> bool:
    if part.get("count", 1) < 2 or not part.get("single_use"):
        return False
    part["count"] -= 1
    return True


@thing_slip("seals", "a seal has the new part of another", held=True)
def other_part(job: Data, id_: str, seal: Data) -> bool:
    others = [
        s["part"]
        for i, s in job["seals"].items()
        if i != id_ and s.get("part") not in (None, seal.get("part"))
    ]
    if "part" not in seal or not others:
        return False
    seal["part"] = others[0]
    return True


@step_slip("a seal is renewed after its joint is closed")
def renewed_late(job: Data, step: Data) -> bool:
    if not step.get("renews") or not step.get("closes"):
        return False
    following = [s for s in job["steps"][job["steps"].index(step) + 1 :] if not s.get("restores")]
    if not following or any(job["seals"][s].get("joint") not in step["closes"] for s in step["renews"]):
        return False
    following[0]["renews"] = [*following[0].get("renews", []), *step.pop("renews")]
    return True


@thing_slip("consumables", "it skins over sooner than the work is done")
def skins_sooner(job: Data, id_: str, product: Data) -> bool:
    product["skin_over"] = "20 s"
    return True


@thing_slip("consumables", "it skins over after it may be handled", held=True)
def skins_late(job: Data, id_: str, product: Data) -> bool:
    product["skin_over"] = "5 h"
    return True


@step_slip("no step waits for the cure")
def cure_not_awaited(job: Data, step: Data) -> bool:
    return bool(step.pop("waits_for", None))


@job_slip("the wait for the cure comes after the filling")
def cure_awaited_late(job: Data) -> bool:
    fills = [s for s in job["steps"] if s.get("waits_for") and s["act"] == "fill"]
    if not fills:
        return False
    job["steps"][-1]["waits_for"] = fills[0].pop("waits_for")
    return True


@step_slip("the wait names a step at which nothing cures", held=True)
def waits_for_nothing(job: Data, step: Data) -> bool:
    if not step.get("waits_for"):
        return False
    step["waits_for"] = [job["steps"][0]["id"]]
    return True


@thing_slip("consumables", "a full cure of minutes", held=True)
def cured_in_minutes(job: Data, id_: str, product: Data) -> bool:
    product["full_cure"] = product["full_cure"].replace(" h", " min")
    product.pop("handling", None)
    return "min" in product["full_cure"]


@thing_slip("consumables", "handling before the full cure is turned round")
def handling_after(job: Data, id_: str, product: Data) -> bool:
    if "handling" not in product:
        return False
    product["handling"], product["full_cure"] = product["full_cure"], product["handling"]
    return True


@thing_slip("consumables", "what cures without air starts when it is put on", held=True)
def wrong_clock(job: Data, id_: str, product: Data) -> bool:
    if "anaerobic" not in product["product_class"]:
        return False
    product["clock_starts"] = "application"
    for step in job["steps"]:
        step["waits_for"] = [
            next((s["assembles"] for s in job["steps"] if s["id"] == name and s.get("assembles")), name)
            for name in step.get("waits_for", [])
        ]
    return True


@thing_slip("consumables", "a temperature that no workshop has", hurts=False)
def hot_workshop(job: Data, id_: str, product: Data) -> bool:
    if "reference_temperature" not in product:
        return False
    product["reference_temperature"] = 73
    return True


@thing_slip("consumables", "the depth of the data sheet is lost", hurts=False, held=True)
def no_reference_depth(job: Data, id_: str, product: Data) -> bool:
    return bool(product.pop("reference_depth", None))


@step_slip("assembles is forgotten")
def not_assembled(job: Data, step: Data) -> bool:
    return bool(step.pop("assembles", None))


@step_slip("a product is put on in the words alone")
def applied_in_words_alone(job: Data, step: Data) -> bool:
    if not step.pop("applies", None):
        return False
    for other in job["steps"]:
        if other.get("assembles") == step["id"]:
            closing = other["id"]
            del other["assembles"]
            for waiting in job["steps"]:
                if closing in waiting.get("waits_for", []):
                    waiting["waits_for"].remove(closing)
    used = {s["applies"]["consumable"] for s in job["steps"] if s.get("applies")}
    job["consumables"] = {i: one for i, one in job["consumables"].items() if i in used}
    return any(word in step["say"] for word in ("sealant", "thread lock"))


@step_slip("another depth is said than is kept", held=True)
def other_depth(job: Data, step: Data) -> bool:
    if "depth" not in step.get("applies", {}) or "3 mm" not in step["say"]:
        return False
    step["applies"]["depth"] = 1
    return True
