"""Slips of torques: another in the words than in the field, lost, in another unit, stages and angles."""

from tests.procedure.slips.kinds import Data, bolt_slip, bolts, number_of, written


def _said(step: Data, torque: str) -> bool:
    return torque in step["say"]


def _elsewhere(job: Data, bolt: Data, step: Data) -> bool:
    """Are these fasteners handled in another step too?"""
    return any(
        other is not step and any(b["what"] == bolt["what"] for b in bolts(other)) for other in job["steps"]
    )


@bolt_slip("the torque is another than is said")
def torque_in_the_field(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("torque") or not _said(step, bolt["torque"]):
        return False
    bolt["torque"] = written(number_of(bolt["torque"]) * 1.15)
    return True


@bolt_slip("another torque is said than is kept", held=True)
def torque_in_the_words(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("torque") or not _said(step, bolt["torque"]):
        return False
    step["say"] = step["say"].replace(bolt["torque"], written(number_of(bolt["torque"]) * 1.2))
    return True


@bolt_slip("another torque is said, without its unit", held=True)
def bare_torque_in_the_words(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("torque") or not _said(step, bolt["torque"]) or len(bolts(step)) > 1:
        return False
    number = round(number_of(bolt["torque"]) * 1.2)
    if number == number_of(bolt["torque"]):
        return False
    step["say"] = step["say"].replace(f" {bolt['torque']}", f" Tighten to {number}")
    return True


@bolt_slip("another torque is told in more", held=True)
def torque_in_more(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("torque"):
        return False
    step["more"] = f"Tighten the {bolt['what']} to {written(number_of(bolt['torque']) * 1.3)}."
    return True


@bolt_slip("the torque is lost at the refit")
def torque_lost(job: Data, step: Data, bolt: Data) -> bool:
    if step["act"] != "tighten" or len(bolts(step)) > 1 or not _elsewhere(job, bolt, step):
        return False
    step["act"] = "fit"
    lost = bolt.pop("torque", None) or bolt.pop("stages", None)
    last = [s for s in job["steps"] for b in bolts(s) if b["what"] == bolt["what"]][-1]
    for sentence in (f" {lost}",):
        step["say"] = step["say"].replace(sentence, "")
    return last is step and "thread" in bolt


@bolt_slip("the torque is lost where energy is restored")
def torque_lost_at_restoring(job: Data, step: Data, bolt: Data) -> bool:
    return step["act"] == "restore" and bool(bolt.pop("torque", None) or bolt.pop("stages", None))


@bolt_slip("the stages fall")
def stages_fall(job: Data, step: Data, bolt: Data) -> bool:
    if len(bolt.get("stages", [])) < 2:
        return False
    bolt["stages"].reverse()
    return True


@bolt_slip("an angle without a torque before it")
def angle_alone(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("stages"):
        return False
    bolt["stages"] = ["90°"]
    return True


@bolt_slip("an angle of nine hundred degrees", held=True)
def angle_too_far(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("stages"):
        return False
    bolt["stages"] = [bolt["stages"][0], "900°"]
    return True


def _times(bolt: Data, factor: float) -> None:
    if "torque" in bolt:
        bolt["torque"] = written(number_of(bolt["torque"]) * factor)
    if "stages" in bolt:
        bolt["stages"] = [written(number_of(one) * factor) for one in bolt["stages"] if "N·m" in one]


def _everywhere(job: Data, bolt: Data, factor: float) -> bool:
    """In the fields and in the words of every step, so that only norms can tell."""
    if not (bolt.get("torque") or bolt.get("stages")) or "thread" not in bolt:
        return False
    for step in job["steps"]:
        for one in bolts(step):
            if one["what"] == bolt["what"] and one.get("thread") == bolt["thread"]:
                for torque in [one.get("torque"), *one.get("stages", [])]:
                    if torque and "N·m" in torque:
                        new = written(number_of(torque) * factor)
                        step["say"] = step["say"].replace(torque, new)
                _times(one, factor)
    return True


@bolt_slip("ten times the torque, in field and words")
def ten_times(job: Data, step: Data, bolt: Data) -> bool:
    return _everywhere(job, bolt, 10)


@bolt_slip("a tenth of the torque, in field and words", held=True)
def a_tenth(job: Data, step: Data, bolt: Data) -> bool:
    return _everywhere(job, bolt, 0.1)


@bolt_slip("inch pounds taken for newton metres, in field and words", held=True)
def inch_pounds(job: Data, step: Data, bolt: Data) -> bool:
    return _everywhere(job, bolt, 8.85)


@bolt_slip("foot pounds in the field, newton metres in the words", held=True)
def foot_pounds(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("torque") or not _said(step, bolt["torque"]):
        return False
    _times(bolt, 1 / 1.3558)
    return True


@bolt_slip("kilogram metres in the field, newton metres in the words")
def kilogram_metres(job: Data, step: Data, bolt: Data) -> bool:
    if not bolt.get("torque") or not _said(step, bolt["torque"]):
        return False
    _times(bolt, 1 / 9.80665)
    return True
