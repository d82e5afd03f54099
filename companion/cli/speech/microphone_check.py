"""What `companion hear --check` shows: each phrase as heard, the levels, what to change, what was learnt."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import click

from companion.procedure.nouns import several
from companion.speech.devices.device_microphone import SoundDeviceMicrophone
from companion.speech.devices.microphone import FileMicrophone, Microphone
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.microphone_check import Findings, Tried, fit, prompts, walk
from companion.speech.hearing.profile import Profile
from companion.speech.hearing.remedies import advice, loudness_advice
from companion.speech.language.phrases import Phrase
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.sound.first_look import CLIPPED_SHARE
from companion.speech.sound.level import Ambient
from companion.speech.sound.loudness import niosh_dose, osha_dose


def run(
    ear: Ear,
    phrases: Sequence[Phrase],
    device: str | None,
    recording: Path | None,
    reading: float | None,
    keep: Path | None,
    as_json: bool,
) -> None:
    """Walk through the phrases and tell.

    Args:
        ear: expects `phrases` already.
        phrases: what can be said.
        device: the microphone; the default one when None.
        recording: in place of a microphone.
        reading: of a sound level meter beside the microphone, dB(A).
        keep: where to keep what was learnt; None keeps nothing.
        as_json: one object in place of the text.
    """
    asked = prompts(phrases)
    if recording is not None:
        microphone: Microphone = FileMicrophone(recording)
        findings = walk(microphone.frames(), ear, asked)
    else:
        microphone = SoundDeviceMicrophone(device)
        click.echo(f"Microphone: {microphone.name}", err=as_json)
        click.echo("Let the usual noise run, and be silent until you are asked to speak.", err=as_json)
        try:
            findings = walk(
                microphone.frames(), ear, asked, lambda text: click.echo(f'Say: "{text}"', err=as_json)
            )
        finally:
            microphone.close()
    calibration = None
    if reading is not None and findings.ambient is not None:
        calibration = round(reading - findings.ambient.level, 1)
    learnt = fit(findings, microphone.name, datetime.now(UTC), calibration)
    if as_json:
        found = {**_plain(findings, learnt), "overflows": microphone.overflows}
        click.echo(json.dumps(found, ensure_ascii=False))
    else:
        if microphone.overflows:
            click.echo(f"Sound was lost {several(microphone.overflows, 'time')}: this machine is too busy.")
        _tell(findings, learnt, calibration)
    if keep is not None:
        learnt.write(keep)
        click.echo(f"Kept in {keep}", err=as_json)


def _tell(findings: Findings, learnt: Profile, calibration: float | None) -> None:
    for tried in findings.tried:
        click.echo(f"  {tried.asked:14} {as_heard(tried)}")
    click.echo(
        f"Noise: {findings.noise_db:.0f} dB of full scale, {findings.floor_db:.0f} in its quietest moments"
    )
    if findings.spoken:
        cut = max(t.clipped for t in findings.spoken)
        click.echo(
            f"Speech: {findings.speech_db:.0f} dB of full scale, {findings.over_noise:.0f} dB over the noise"
        )
        click.echo(
            f"Cut off at full scale: {'none' if cut <= CLIPPED_SHARE else f'{cut:.1%} of the samples'}"
        )
    for line in advice(findings) or ["All is well; change nothing."]:
        click.echo(f"> {line}")
    if findings.ambient is not None:
        for line in loudness_advice(findings.ambient.calibrated(calibration)):
            click.echo(f"> {line}")
    _compare(findings, learnt)


def _compare(findings: Findings, learnt: Profile) -> None:
    if not findings.spoken:
        return
    before, after = findings.understood(), findings.understood(learnt)
    if not learnt.ease:
        click.echo(f"Understood: {before} of {len(findings.tried)}; there is nothing to adapt.")
        return
    way = "less" if learnt.ease > 0 else "more"
    click.echo(
        f"Understood: {before} of {len(findings.tried)} as it is, {after} with {abs(learnt.ease):.2f} {way} "
        "confidence asked of commands that can be undone (on these same phrases; --adapt keeps it)."
    )


def as_heard(tried: Tried) -> str:
    """What became of one phrase, with its level."""
    judgement = tried.judgement
    if judgement is None:
        return "no speech came"
    if judgement.phrase is None:
        said = "not understood"
    else:
        doubt = {Verdict.ACCEPTED: "", Verdict.UNSURE: ", not sure", Verdict.REJECTED: ", not taken"}
        said = f'heard "{judgement.phrase.text}" {judgement.score:.2f}{doubt[judgement.verdict]}'
        if judgement.verdict is not Verdict.ACCEPTED and judgement.runner_up:
            said += f', or "{judgement.runner_up.text}"'
    return f"{said:36} {tried.speech_db:4.0f} dB"


def _plain(findings: Findings, learnt: Profile) -> dict[str, object]:
    return {
        "phrases": [
            {
                "asked": t.asked,
                "heard": t.judgement.phrase.text if t.judgement and t.judgement.phrase else None,
                "verdict": str(t.judgement.verdict) if t.judgement else None,
                "score": round(t.judgement.score, 3) if t.judgement else None,
                "level_db": round(t.speech_db, 1),
                "clipped": round(t.clipped, 5),
            }
            for t in findings.tried
        ],
        "noise_db": round(findings.noise_db, 1),
        "floor_db": round(findings.floor_db, 1),
        "speech_db": round(findings.speech_db, 1),
        "over_noise_db": round(findings.over_noise, 1),
        "unasked": findings.unasked,
        "advice": advice(findings),
        "understood_before": findings.understood(),
        "understood_after": findings.understood(learnt),
        "ease": learnt.ease,
        "calibration": learnt.calibration,
        **_exposure(findings.ambient, learnt.calibration),
    }


def _exposure(ambient: Ambient | None, calibration: float | None) -> dict[str, float | None]:
    """The level in the room and the doses of eight hours of it; None where nobody calibrated."""
    dba = ambient.calibrated(calibration).dba if ambient else None
    return {
        "dba": None if dba is None else round(dba, 1),
        "osha_dose_percent": None if dba is None else round(osha_dose(dba)),
        "niosh_dose_percent": None if dba is None else round(niosh_dose(dba)),
    }
