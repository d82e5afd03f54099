"""Slips of fasteners: counts, sizes, torques, stages, bags, new ones."""

from tests.procedure.slips.kinds import Data, bolt_slip, bolts, job_slip, number_of, step_slip, written


def _said(step: Data, torque: str) -> bool:
    return torque in step["say"]


def _elsewhere(job: Data, bolt: Data, step: Data) -> bool:
    """Are these fasteners handled in another step too?"""
    return any(
        other is not step and any(b["what"] == bolt["what"] for b in bolts(other)) for other in job["steps"]
    )


@bolt_slip("fewer are put back than were taken out")
def fewer_back(job: Data, step: Data, bolt: Data) -> bool:
    if bolt.get("count", 1) < 3 or not (bolt.get("torque") or bolt.get("stages")):
        return False
    bolt["count"] -= 1
    return _elsewhere(job, bolt, step)


@bolt_slip("another count is said than is kept", held=True)
def count_in_the_field(job: Data, step: Data, bolt: Data) -> bool:
    words = {2: "two", 3: "three", 4: "four", 8: "eight"}
    if words.get(bolt.get("count", 1), "-") not in step["say"].lower() or len(bolts(step)) > 1:
        return False
    for other in job["steps"]:
        for one in bolts(other):
            if one["what"] == bolt["what"]:
                one["count"] = bolt["count"] + (3 if one is not bolt else 0)
    bolt["count"] += 3
    return True


@bolt_slip("another count is kept than is said")
def count_in_the_words(job: Data, step: Data, bolt: Data) -> bool:
    words = {2: ("wo ", "hree "), 3: ("hree ", "our "), 4: ("our ", "ix "), 8: ("ight ", "en ")}
    old, new = words.get(bolt.get("count", 1), ("-", "-"))
    noun = bolt["what"].split()[-1]
    if f"{old}{noun}" not in step["say"]:
        return False
    at = step["say"].index(f"{old}{noun}")
    first = {"hree ": "t", "our ": "f", "ix ": "s", "en ": "t"}[new]
    capital = step["say"][at - 1].isupper()
    step["say"] = (
        step["say"][: at - 1] + (first.upper() if capital else first) + new + step["say"][at + len(old) :]
    )
    return True


@bolt_slip("the thread is another at the refit")
def other_thread(job: Data, step: Data, bolt: Data) -> bool:
    swaps = {"M6": "M8", "M8": "M10", "M10": "M12", "M12x1.5": "M12", "M14x1.5": "M14", "M10x1": "M10"}
    if not (bolt.get("torque") or bolt.get("stages")) or bolt.get("thread") not in swaps:
        return False
    bolt["thread"] = swaps[bolt["thread"]]
    return _elsewhere(job, bolt, step)


@bolt_slip("the head is another at the refit", hurts=False, held=True)
def other_head(job: Data, step: Data, bolt: Data) -> bool:
    if not (bolt.get("torque") or bolt.get("stages")) or "hex" not in bolt:
        return False
    bolt["hex"] = {10: 8, 13: 12, 16: 17, 18: 19, 19: 17, 17: 19, 14: 15, 11: 12}.get(bolt["hex"], 13)
    return _elsewhere(job, bolt, step)


@bolt_slip("the head does not go with the thread", hurts=False)
def odd_head(job: Data, step: Data, bolt: Data) -> bool:
    changed = False
    for other in job["steps"]:
        for one in bolts(other):
            if one["what"] == bolt["what"] and "hex" in one and one.get("thread") in ("M6", "M8", "M10"):
                one["hex"] = 24
                changed = True
    return changed


@bolt_slip("an inside drive does not go with the thread", hurts=False, held=True)
def odd_socket(job: Data, step: Data, bolt: Data) -> bool:
    changed = False
    for other in job["steps"]:
        for one in bolts(other):
            if one["what"] == bolt["what"] and ("six_lobe" in one or "socket_hex" in one) and "thread" in one:
                if "six_lobe" in one:
                    one["six_lobe"] = "T60"
                else:
                    one["socket_hex"] = 12
                changed = True
    return changed


@bolt_slip("new ones are not asked for at the refit")
def renew_lost_at_refit(job: Data, step: Data, bolt: Data) -> bool:
    return bool(bolt.get("torque") or bolt.get("stages")) and bool(bolt.pop("renew", None))


@bolt_slip("new ones are asked for at the refit alone", hurts=False, held=True)
def renew_lost_at_removal(job: Data, step: Data, bolt: Data) -> bool:
    return not (bolt.get("torque") or bolt.get("stages")) and bool(bolt.pop("renew", None))


@job_slip("scrap bolts are not renewed in any field", held=True)
def renewed_in_words_alone(job: Data) -> bool:
    return sum(bool(bolt.pop("renew", None)) for step in job["steps"] for bolt in bolts(step)) > 0


@bolt_slip("a pitch that no thread has", held=True)
def no_such_pitch(job: Data, step: Data, bolt: Data) -> bool:
    changed = False
    for other in job["steps"]:
        for one in bolts(other):
            if one["what"] == bolt["what"] and "thread" in one:
                one["thread"] = f"{one['thread'].partition('x')[0]}x1.4"
                changed = True
    return changed


@bolt_slip("two drives", hurts=False)
def two_drives(job: Data, step: Data, bolt: Data) -> bool:
    if "hex" not in bolt:
        return False
    bolt["six_lobe"] = "T30"
    return True


@bolt_slip("torque and stages", held=True)
def torque_and_stages(job: Data, step: Data, bolt: Data) -> bool:
    if "torque" not in bolt:
        return False
    bolt["stages"] = ["5 N·m", bolt["torque"]]
    return True


@bolt_slip("the sequence that is said is in no field", hurts=False)
def sequence_lost(job: Data, step: Data, bolt: Data) -> bool:
    told = any(w in step["say"] for w in ("crosswise", "middle outwards", "ends inwards"))
    return bool(bolt.pop("sequence", None)) and told


@bolt_slip("another sequence is said than is kept", held=True)
def other_sequence(job: Data, step: Data, bolt: Data) -> bool:
    if "sequence" not in bolt or "crosswise" not in step["say"]:
        return False
    bolt["sequence"] = "clockwise, one after another"
    return True


@step_slip("two torques of one step are swapped")
def torques_swapped(job: Data, step: Data) -> bool:
    two = [bolt for bolt in bolts(step) if "torque" in bolt and _said(step, bolt["torque"])]
    if len(two) != 2 or two[0]["torque"] == two[1]["torque"]:
        return False
    two[0]["torque"], two[1]["torque"] = two[1]["torque"], two[0]["torque"]
    return True


@bolt_slip("left and right have another torque, in field and words", held=True)
def sides_differ(job: Data, step: Data, bolt: Data) -> bool:
    if "right" not in step["id"] or not bolt.get("torque") or not _said(step, bolt["torque"]):
        return False
    new = written(number_of(bolt["torque"]) * 1.4)
    step["say"] = step["say"].replace(bolt["torque"], new)
    bolt["torque"] = new
    return True


@job_slip("six hundred newton metres on wheel bolts")
def six_hundred(job: Data) -> bool:
    changed = False
    for step in job["steps"]:
        for bolt in bolts(step):
            if bolt["what"] == "wheel bolts" and bolt.get("stages"):
                step["say"] = step["say"].replace("110 N·m", "600 N·m")
                bolt["stages"] = ["60 N·m", "600 N·m"]
                changed = True
    return changed


@bolt_slip("one bag for two kinds", hurts=False)
def one_bag(job: Data, step: Data, bolt: Data) -> bool:
    bags = [b.get("bag") for s in job["steps"] for b in bolts(s) if b.get("bag")]
    if not bolt.get("bag") or bolt["bag"] == bags[0]:
        return False
    bolt["bag"] = bags[0]
    return True


@bolt_slip("more than its class bears", held=True)
def weak_class(job: Data, step: Data, bolt: Data) -> bool:
    limits = {"M6": 6.0, "M8": 16.0, "M10": 30.0, "M12x1.5": 60.0}
    torque = [bolt["torque"]] if bolt.get("torque") else bolt.get("stages", [])
    thread = bolt.get("thread")
    if not torque or thread not in limits or number_of(torque[-1]) < limits[thread]:
        return False
    bolt["class"] = "4.6"
    return True


@job_slip("a follow-up tightens to another torque")
def other_torque_later(job: Data) -> bool:
    for follow_up in job.get("follow_ups", []):
        if "110 N·m" in follow_up["what"]:
            follow_up["what"] = follow_up["what"].replace("110", "140")
            return True
    return False


@bolt_slip("a count of hundreds", hurts=False, held=True)
def hundreds(job: Data, step: Data, bolt: Data) -> bool:
    if bolt.get("count", 1) < 2:
        return False
    bolt["count"] = 2000
    return True
