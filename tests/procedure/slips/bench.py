"""Slips of what is laid out, and of the form of the file."""

from tests.procedure.slips.kinds import Data, bolt_slip, bolts, job_slip, step_slip, thing_slip

SPECIAL = (
    "volt meter",
    "thermometer",
    "cutter",
    "micrometer",
    "dial gauge",
    "scraper",
    "stands",
    "clip pliers",
)


@step_slip("a special tool is asked for and not listed", hurts=False)
def tool_not_listed(job: Data, step: Data) -> bool:
    for tool in step.get("tools", []):
        if tool.endswith(SPECIAL):
            noun = tool.split()[-1]
            kept = [one for one in job["tools"] if noun not in one]
            changed = len(kept) < len(job["tools"])
            job["tools"] = kept
            return changed
    return False


@job_slip("a tool is listed and never asked for", hurts=False, held=True)
def tool_never_used(job: Data) -> bool:
    job["tools"] = [*job.get("tools", []), "valve spring compressor"]
    return True


@thing_slip("parts", "a single-use part is listed and fitted nowhere", held=True)
def part_fitted_nowhere(job: Data, id_: str, part: Data) -> bool:
    job["parts"]["spare-ring-new"] = {"name": "camshaft ring", "single_use": True}
    return id_ == next(iter(job["parts"]))


@thing_slip("parts", "a new part is asked for and not listed", hurts=False)
def part_not_listed(job: Data, id_: str, part: Data) -> bool:
    named = part["name"].split()[-1]
    asked = [
        s
        for s in job["steps"]
        if f"new {named}" in s["say"].lower().replace("left ", "") and not s.get("only_if")
    ]
    others = [p for i, p in job["parts"].items() if i != id_ and named in p["name"]]
    used = any(seal.get("part") == id_ for seal in job.get("seals", {}).values())
    del job["parts"][id_]
    return bool(asked) and not used and not others


@thing_slip("parts", "a part is listed and nobody speaks of it", hurts=False, held=True)
def part_never_used(job: Data, id_: str, part: Data) -> bool:
    part["name"] = "left mirror glass"
    return not any(seal.get("part") == id_ for seal in job.get("seals", {}).values())


@thing_slip("parts", "less fluid is on the bench than is filled in")
def too_little_fluid(job: Data, id_: str, part: Data) -> bool:
    if "litre" not in part["name"] or part.get("count", 1) < 3:
        return False
    part["count"] = 2
    return True


@job_slip("no torque wrench reaches the torque", hurts=False, held=True)
def wrench_too_small(job: Data) -> bool:
    for place, tool in enumerate(job.get("tools", [])):
        if tool.startswith("torque wrenches"):
            job["tools"][place] = "torque wrench, 4 to 20 N·m"
            return any(
                "45" in str(b) or "22 N" in str(b) or "110" in str(b) for s in job["steps"] for b in bolts(s)
            )
    return False


@step_slip("a key is misspelt")
def key_misspelt(job: Data, step: Data) -> bool:
    for key in ("opens", "closes", "needs_isolated"):
        if key in step:
            step[f"{key[:-2]}{key[-1]}{key[-2]}"] = step.pop(key)
            return True
    return False


@step_slip("a key is missing", hurts=False, held=True)
def key_missing(job: Data, step: Data) -> bool:
    return bool(step.pop("say"))


@step_slip("an act is misspelt", hurts=False)
def act_misspelt(job: Data, step: Data) -> bool:
    step["act"] = step["act"][:-1] + "x"
    return True


@bolt_slip("a torque has no unit")
def no_unit(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("torque"):
        return False
    bolt["torque"] = float(bolt["torque"].split()[0])
    return True


@bolt_slip("a torque is in foot pounds", held=True)
def foreign_unit(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("torque"):
        return False
    bolt["torque"] = bolt["torque"].replace("N·m", "lbf·ft")
    return True


@step_slip("a name is misspelt", held=True)
def name_misspelt(job: Data, step: Data) -> bool:
    for key in ("opens", "closes", "needs_isolated", "renews"):
        if step.get(key):
            step[key][0] += "s"
            return True
    return False


@step_slip("a time has no unit", hurts=False)
def time_without_unit(job: Data, step: Data) -> bool:
    step["book"] = 4
    return True


@job_slip("the title is a mark of what is left to do", hurts=False, held=True)
def no_title(job: Data) -> bool:
    job["title"] = "TODO"
    return True


@job_slip("the source of the torques is not known")
def no_source(job: Data) -> bool:
    job["source_of_torques"] = "TBD"
    return True
