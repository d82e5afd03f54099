"""Slips of isolation, proof, restoring, hazards and spoken states."""

from tests.procedure.slips.kinds import Data, as_list, job_slip, source_of, step_slip, thing_slip

PRESSURES = ("hydraulic", "cooling pressure", "fuel pressure")


def _without(step: Data, id_: str) -> bool:
    if id_ not in step.get("needs_isolated", []):
        return False
    step["needs_isolated"].remove(id_)
    return True


def _ids(job: Data, *sources: str) -> list[str]:
    return [id_ for id_ in job.get("energy", {}) if source_of(job, id_) in sources]


@step_slip("isolates is forgotten")
def not_isolated(job: Data, step: Data) -> bool:
    return bool(step.pop("isolates", None))


@step_slip("proves is forgotten")
def not_proved(job: Data, step: Data) -> bool:
    return bool(step.pop("proves", None))


@step_slip("restores is forgotten", held=True)
def not_restored(job: Data, step: Data) -> bool:
    return bool(step.pop("restores", None))


@thing_slip("energy", "a proof has no limit")
def no_limit(job: Data, id_: str, energy: Data) -> bool:
    return bool(energy.get("prove", {}).pop("at_most", None) is not None)


@thing_slip("energy", "a proof has its limit at the wrong end", held=True)
def wrong_end(job: Data, id_: str, energy: Data) -> bool:
    if "at_most" not in energy.get("prove", {}):
        return False
    energy["prove"]["at_least"] = energy["prove"].pop("at_most")
    return True


@thing_slip("energy", "a proof lets a live source through")
def live_passes(job: Data, id_: str, energy: Data) -> bool:
    """Nothing of it in the words, which have another number."""
    if "at_most" not in energy.get("prove", {}):
        return False
    energy["prove"]["at_most"] = {"V": 15, "°C": 95, "bar": 3}.get(energy["prove"]["unit"], 99)
    return True


@thing_slip("energy", "a live source passes by words and limit", held=True)
def live_passes_in_words_too(job: Data, id_: str, energy: Data) -> bool:
    prove = energy.get("prove", {})
    if "at_most" not in prove:
        return False
    new = {"V": 15, "°C": 95}.get(prove["unit"], 99)
    for step in job["steps"]:
        if step.get("proves") == id_:
            step["say"] = step["say"].replace(f"{prove['at_most']:g} ", f"{new} ")
    prove["at_most"] = new
    return True


@thing_slip("energy", "a proof is in a unit that says nothing of the source")
def unit_of_something_else(job: Data, id_: str, energy: Data) -> bool:
    if "unit" not in energy.get("prove", {}):
        return False
    energy["prove"]["unit"] = {"V": "mm", "°C": "V"}.get(energy["prove"]["unit"], "%")
    return True


@thing_slip("energy", "high voltage is proved by words")
def high_voltage_by_words(job: Data, id_: str, energy: Data) -> bool:
    return _by_words(job, id_, energy, "high voltage")


@thing_slip("energy", "an airbag is proved by words", held=True)
def airbag_by_words(job: Data, id_: str, energy: Data) -> bool:
    return _by_words(job, id_, energy, "airbag")


def _by_words(job: Data, id_: str, energy: Data, source: str) -> bool:
    if energy["source"] != "battery":
        return False
    energy |= {"source": source, "wait": "10 min"}
    energy.pop("prove", None)
    for step in job["steps"]:
        if step.get("proves") == id_:
            step["state"] = "it is dead"
            step.pop("measure", None)
    return True


@thing_slip("energy", "a pressure has no wait")
def no_wait(job: Data, id_: str, energy: Data) -> bool:
    return energy["source"] in ("cooling pressure", "fuel pressure") and bool(energy.pop("wait", None))


@job_slip("the wait of a source is not the one that is told", held=True)
def other_wait_told(job: Data) -> bool:
    for step in job["steps"]:
        energy = job.get("energy", {}).get(step.get("isolates"), {})
        if energy.get("wait") == "3 min" and "three minutes" in step.get("more", ""):
            energy["wait"] = "30 s"
            return True
    return False


@step_slip("a connector is unplugged or plugged live")
def connector_live(job: Data, step: Data) -> bool:
    touched = [*as_list(step.get("opens")), *as_list(step.get("closes"))]
    plugs = [item for item in touched if job["items"][item]["kind"] == "connector"]
    return bool(plugs) and any(_without(step, id_) for id_ in _ids(job, "battery"))


@step_slip("a circuit is opened under pressure")
def opened_under_pressure(job: Data, step: Data) -> bool:
    for id_ in _ids(job, *PRESSURES):
        circuit = job["energy"][id_].get("circuit")
        mine = [i for i in as_list(step.get("opens")) if job["items"][i].get("circuit") == circuit]
        if circuit and mine and step["act"] in ("remove", "disconnect", "drain") and _without(step, id_):
            return True
    return False


@step_slip("a hot fluid is drained hot", held=True)
def drained_hot(job: Data, step: Data) -> bool:
    return step["act"] == "drain" and any(_without(step, id_) for id_ in _ids(job, "hot fluid"))


@step_slip("a step that takes something off under the vehicle does not need its stands")
def under_nothing(job: Data, step: Data) -> bool:
    off = step["act"] in ("remove", "disconnect")
    return bool(off and step.get("opens")) and any(_without(step, i) for i in _ids(job, "vehicle support"))


@step_slip("a step that puts something on under the vehicle does not need its stands", held=True)
def on_under_nothing(job: Data, step: Data) -> bool:
    on = step["act"] in ("fit", "connect", "tighten")
    return bool(on and step.get("closes")) and any(_without(step, i) for i in _ids(job, "vehicle support"))


@step_slip("a step between a loaded spring does not need it locked", held=True)
def spring_not_needed(job: Data, step: Data) -> bool:
    touched = bool(step.get("opens") or step.get("closes"))
    return touched and any(_without(step, id_) for id_ in _ids(job, "stored spring"))


@thing_slip("energy", "a source is needed by no step")
def needed_by_nobody(job: Data, id_: str, energy: Data) -> bool:
    return sum(_without(step, id_) for step in job["steps"]) > 0


@job_slip("the states of isolating and restoring are swapped")
def states_swapped(job: Data) -> bool:
    pairs = {}
    for step in job["steps"]:
        for key in ("isolates", "restores"):
            if source_of(job, step.get(key)) in ("battery", "vehicle support"):
                pairs[key, step[key]] = step
    for (key, id_), step in pairs.items():
        other = pairs.get(("restores", id_))
        if key == "isolates" and other:
            step["state"], other["state"] = other["state"], step["state"]
            return True
    return False


@step_slip("a state is that of another step")
def same_state(job: Data, step: Data) -> bool:
    states = [other["state"] for other in job["steps"] if other.get("state") and other is not step]
    if not step.get("state") or not states:
        return False
    step["state"] = states[0]
    return True


@step_slip("a state is one word", held=True)
def one_word(job: Data, step: Data) -> bool:
    if not step.get("state"):
        return False
    step["state"] = "done"
    return True


@step_slip("a grave step has no state")
def no_state(job: Data, step: Data) -> bool:
    grave = any(h["signal"] in ("DANGER", "WARNING") for h in step.get("hazards", []))
    return bool(step.pop("state", None)) and grave


@step_slip("a vehicle or a spring is handled without a hazard told", held=True)
def no_hazard(job: Data, step: Data) -> bool:
    handled = source_of(job, step.get("isolates") or step.get("restores"))
    return handled in ("vehicle support", "stored spring") and bool(step.pop("hazards", None))


@step_slip("what crushes or scalds is a notice")
def grave_is_a_notice(job: Data, step: Data) -> bool:
    for hazard in step.get("hazards", []):
        if hazard["signal"] in ("DANGER", "WARNING"):
            hazard["signal"] = "NOTICE"
            told = ("crush", "scald", "pressure", "spring", "burn", "catch", "poison", "under it", "steam")
            return any(word in hazard["hazard"] for word in told)
    return False


@step_slip("what harms eyes or skin is a notice", held=True)
def harm_is_a_notice(job: Data, step: Data) -> bool:
    for hazard in step.get("hazards", []):
        if hazard["signal"] == "CAUTION":
            hazard["signal"] = "NOTICE"
            return True
    return False


@step_slip("what crushes is only a caution", held=True)
def crushing_is_a_caution(job: Data, step: Data) -> bool:
    for hazard in step.get("hazards", []):
        if hazard["signal"] == "DANGER":
            hazard["signal"] = "CAUTION"
            return True
    return False


@job_slip("the battery is back before the spring or the pressure is", held=True)
def battery_back_first(job: Data) -> bool:
    back = [s for s in job["steps"] if source_of(job, s.get("restores")) == "battery"]
    under = [
        s["isolates"]
        for s in job["steps"]
        if s.get("isolates") and any(source_of(job, n) == "battery" for n in s.get("needs_isolated", []))
    ]
    others = [s for s in job["steps"] if s.get("restores") in under]
    if not (back and others):
        return False
    job["steps"].remove(back[0])
    job["steps"].insert(job["steps"].index(others[0]), back[0])
    others[0]["after"] = [*others[0].get("after", []), back[0]["id"]]
    return True


@job_slip("two sources are isolated under one another's names")
def sources_swapped(job: Data) -> bool:
    steps = [s for s in job["steps"] if s.get("isolates")]
    if len(steps) < 2:
        return False
    steps[0]["isolates"], steps[1]["isolates"] = steps[1]["isolates"], steps[0]["isolates"]
    return True


@job_slip("the engine is run before the battery is on")
def run_without_battery(job: Data) -> bool:
    runs = [s for s in job["steps"] if s.get("runs_engine")]
    back = [s for s in job["steps"] if source_of(job, s.get("restores")) == "battery"]
    if not (runs and back) or job["steps"].index(runs[0]) < job["steps"].index(back[0]):
        return False
    runs[0].pop("after", None)
    job["steps"].remove(runs[0])
    job["steps"].insert(job["steps"].index(back[0]), runs[0])
    return True


@step_slip("a proving step takes another reading than its source", held=True)
def two_proofs(job: Data, step: Data) -> bool:
    prove = job.get("energy", {}).get(step.get("proves"), {}).get("prove")
    if not prove:
        return False
    step["measure"] = {**prove, "at_most": prove["at_most"] * 2}
    return True


@step_slip("the limit that is said is not the one that is kept")
def other_limit_said(job: Data, step: Data) -> bool:
    prove = job.get("energy", {}).get(step.get("proves"), {}).get("prove")
    if not prove or f"{prove['at_most']:g} " not in step["say"]:
        return False
    step["say"] = step["say"].replace(f"{prove['at_most']:g} ", f"{prove['at_most'] * 4:g} ")
    return True


@step_slip("a source is proved before it is isolated", held=True)
def proved_first(job: Data, step: Data) -> bool:
    if not step.get("proves"):
        return False
    isolating = next(s for s in job["steps"] if s.get("isolates") == step["proves"])
    isolating["isolates"], step["proves"] = None, None
    del isolating["isolates"], step["proves"]
    isolating["proves"] = step["isolates"] = next(iter(job["energy"]))
    return True
