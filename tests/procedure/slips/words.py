"""Slips of words: sides, numbers, limits, marks of what was left to do, copied sentences, and the ear."""

from tests.procedure.slips.kinds import Data, step_slip, thing_slip

SWAP = {"left": "right", "right": "left"}


def _swapped(text: str) -> str:
    words = {**SWAP, "Left": "Right", "Right": "Left"}
    return " ".join(
        words.get(word.strip(".,;:"), word.strip(".,;:")) + word[len(word.rstrip(".,;:")) :]
        for word in text.split()
    )


def _sided(step: Data) -> list[str]:
    return [
        n
        for key in ("opens", "closes", "disturbs", "renews")
        for n in step.get(key, [])
        if n[:4] in ("left", "righ")
    ]


@step_slip("the wrong side is said")
def side_said(job: Data, step: Data) -> bool:
    new = _swapped(step["say"])
    if new == step["say"] or not _sided(step):
        return False
    step["say"] = new
    return True


@step_slip("the wrong side is written in where", held=True)
def side_where(job: Data, step: Data) -> bool:
    if "where" not in step or _swapped(step["where"]) == step["where"] or not _sided(step):
        return False
    step["where"] = _swapped(step["where"])
    return any(side in step["say"].lower() for side in SWAP)


@step_slip("the wrong side is closed", held=True)
def side_closed(job: Data, step: Data) -> bool:
    for place, item in enumerate(step.get("closes", [])):
        other = item.replace("left", "right") if item.startswith("left") else item.replace("right", "left")
        if other != item and other in job["items"]:
            step["closes"][place] = other
            return True
    return False


@step_slip("the wrong side is measured")
def side_measured(job: Data, step: Data) -> bool:
    what = step.get("measure", {}).get("what", "")
    if _swapped(what) == what:
        return False
    step["measure"]["what"] = _swapped(what)
    return True


@step_slip("another number of times is said than is kept")
def times_said(job: Data, step: Data) -> bool:
    if "count" not in step or "times" not in step["say"]:
        return False
    step["count"] = step["count"] + 4
    return True


@step_slip("a number of times is said and not kept", hurts=False, held=True)
def times_in_words_alone(job: Data, step: Data) -> bool:
    if "count" not in step or "times" not in step["say"] or step.get("runs_engine"):
        return False
    del step["count"], step["each"]
    return True


@step_slip("another limit is kept than is said")
def limit_kept(job: Data, step: Data) -> bool:
    measure = step.get("measure", {})
    for key in ("at_most", "at_least"):
        if key in measure and f"{measure[key]:g} {measure['unit']}" in step["say"]:
            measure[key] = round(measure[key] * 2, 3)
            return True
    return False


@step_slip("another limit is said than is kept", held=True)
def limit_said(job: Data, step: Data) -> bool:
    measure = step.get("measure", {})
    for key in ("at_most", "at_least"):
        if key in measure and f"{measure[key]:g} {measure['unit']}" in step["say"]:
            old = f"{measure[key]:g} {measure['unit']}"
            step["say"] = step["say"].replace(old, f"{measure[key] * 10:g} {measure['unit']}")
            return True
    return False


@step_slip("a limit is at the other end than is said", held=True)
def limit_turned(job: Data, step: Data) -> bool:
    measure = step.get("measure", {})
    if "at_most" in measure and "at_least" not in measure and "t most" in step["say"]:
        measure["at_least"] = measure.pop("at_most")
        return True
    if "at_least" in measure and "at_most" not in measure and "t least" in step["say"]:
        measure["at_most"] = measure.pop("at_least")
        return True
    return False


@step_slip("a limit is said and not kept")
def limit_lost(job: Data, step: Data) -> bool:
    measure = step.get("measure", {})
    told = "t most" in step["say"] or "t least" in step["say"]
    return told and bool(measure.pop("at_most", None) or measure.pop("at_least", None))


@step_slip("a reading is in another unit than is said", held=True)
def unit_kept(job: Data, step: Data) -> bool:
    measure = step.get("measure", {})
    if "unit" not in measure or f" {measure['unit']}" not in step["say"]:
        return False
    measure["unit"] = {"mm": "V", "L": "bar"}.get(measure["unit"], "%")
    return True


@step_slip("the limits are reversed")
def limits_reversed(job: Data, step: Data) -> bool:
    measure = step.get("measure", {})
    if not {"at_least", "at_most"} <= set(measure):
        return False
    measure["at_least"], measure["at_most"] = measure["at_most"], measure["at_least"]
    return True


@step_slip("the limits are beyond what is told of the volume")
def volume_kept(job: Data, step: Data) -> bool:
    measure = step.get("measure", {})
    if measure.get("unit") != "L":
        return False
    measure["at_least"], measure["at_most"] = measure["at_least"] * 10, measure["at_most"] * 10
    return True


@step_slip("a mark of what is left to do is read aloud")
def todo_said(job: Data, step: Data) -> bool:
    step["say"] = f"{step['say']} TODO check."
    return True


@step_slip("a mark of what is left to do stands in more", held=True)
def todo_in_more(job: Data, step: Data) -> bool:
    step["more"] = f"{step.get('more', '')} ??? N·m, ask the foreman.".strip()
    return True


@thing_slip("items", "a mark of what is left to do stands in a name", held=True)
def todo_in_a_name(job: Data, id_: str, item: Data) -> bool:
    item["name"] = f"{item['name']} (tbc)"
    return True


@step_slip("a signal word is said that no hazard has", held=True)
def signal_in_words_alone(job: Data, step: Data) -> bool:
    if step.get("hazards") or step.get("state"):
        return False
    step["say"] = f"Danger! {step['say']}"
    return True


@step_slip("the words are those of the step before")
def copied(job: Data, step: Data) -> bool:
    place = job["steps"].index(step)
    ledger = any(step.get(key) for key in ("opens", "closes", "isolates", "restores", "proves"))
    if not place or not ledger:
        return False
    step["say"] = job["steps"][place - 1]["say"]
    return True


@step_slip("the words are those of a step that does something else", held=True)
def words_of_another(job: Data, step: Data) -> bool:
    """Swapped with the next step that opens something."""
    place = job["steps"].index(step)
    others = [s for s in job["steps"][place + 1 :] if s.get("opens")]
    if not step.get("opens") or not others:
        return False
    step["say"], others[0]["say"] = others[0]["say"], step["say"]
    return True


@step_slip("a sentence is too long for the ear", hurts=False)
def too_long(job: Data, step: Data) -> bool:
    step["say"] += (
        " Then look at everything again from all sides with the lamp, feel along the edge with a finger,"
        " and do not go on before you are sure that nothing was missed anywhere on it."
    )
    return True


@step_slip("more than three facts in one saying", hurts=False, held=True)
def too_many_facts(job: Data, step: Data) -> bool:
    if step.get("fasteners") or step.get("measure"):
        return False
    step["say"] = f"{step['say']} Mind 3 mm here, 5 mm there, 40 mm below and 12 mm above."
    return True


@step_slip("a state is a whole sentence", hurts=False)
def long_state(job: Data, step: Data) -> bool:
    if not step.get("state"):
        return False
    step["state"] = "everything has been looked at and it is really so now"
    return True


@step_slip("signs that nobody can say", hurts=False, held=True)
def unsayable(job: Data, step: Data) -> bool:
    step["say"] = f"{step['say']} >>> see http://example.org/p?x=1 <<<"
    return True
