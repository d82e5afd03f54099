"""What the check of the microphone advises: what to change, and how long ears may bear the place."""

from datetime import timedelta

from companion.procedure.nouns import several
from companion.speech.hearing.microphone_check import Findings
from companion.speech.sound.first_look import CLIPPED_SHARE
from companion.speech.sound.level import SILENCE, Ambient
from companion.speech.sound.loudness import (
    niosh,
    niosh_dose,
    osha,
    osha_dose,
    signal_level,
    whole_minutes,
)

# CHOSEN, in dB. Recognition is measured, and good, at 10 dB over the noise; at 5 dB it begins to suffer.
TOO_QUIET, TOO_LOUD, AIM = -42.0, -8.0, -24.0
POOR, GOOD = 5.0, 12.0


def advice(findings: Findings) -> list[str]:
    """What to change, the most telling first; nothing when all is well."""
    if not findings.spoken:
        return [_why_nothing(findings)]
    said: list[str] = []
    if any(t.clipped > CLIPPED_SHARE for t in findings.spoken) or findings.speech_db > TOO_LOUD:
        said.append(
            "Too loud, the sound is cut off: lower the recording level of the microphone by about "
            f"{max(6, round(findings.speech_db - AIM))} dB, or move it to the side of the mouth."
        )
    elif findings.speech_db < TOO_QUIET:
        said.append(
            f"Too quiet: raise the recording level by about {round(AIM - findings.speech_db)} dB, "
            "or bring the microphone nearer to the mouth."
        )
    if findings.over_noise < POOR:
        said.append(
            f"The noise is only {findings.over_noise:.0f} dB below the voice: some commands will be missed. "
            "Wear the microphone at the mouth (headset or clip-on), turn its back to the noise, or speak up."
        )
    elif findings.over_noise < GOOD:
        said.append(
            f"The noise is {findings.over_noise:.0f} dB below the voice: it works, but "
            "nearer to the mouth is better."
        )
    missing = len(findings.tried) - len(findings.spoken)
    if missing:
        said.append(
            f"{missing} of {len(findings.tried)} phrases were not noticed as speech: say them louder."
        )
    if findings.unasked:
        said.append(
            f"{several(findings.unasked, 'command')} heard that nobody was asked to say: turn the radio "
            "down, or choose a word of your own with companion work --attention WORD."
        )
    wrong = [t.asked for t in findings.spoken if not t.understood]
    if wrong and not said:
        said.append(
            f"Not understood: {', '.join(wrong)}. Say each in one breath, then be silent for half a second."
        )
    return said


def _why_nothing(findings: Findings) -> str:
    if findings.noise_db <= SILENCE + 1:
        return "Not a sound came: the microphone is muted, or it is the wrong one (hear --devices)."
    return (
        f"No speech was noticed; the sound lies at {findings.noise_db:.0f} dB of full scale. Is it the right "
        "microphone (hear --devices), is it near the mouth, and is its recording level up?"
    )


def loudness_advice(ambient: Ambient) -> list[str]:
    """How loud the place is, what that asks of a tone, and how long ears may bear it; see `loudness.py`."""
    if ambient.dba is None:
        return [
            "How loud it is here in dB(A), and how long ears may bear it, cannot be told: the microphone is "
            "not calibrated. Give the reading of a sound level meter held beside it: --meter READING."
        ]
    signal = signal_level(ambient.dba)
    said = [
        f"Here it is {ambient.dba:.0f} dB(A); a tone stands out from {signal.level:.0f} dB(A) on (ISO 7731)."
    ]
    if not signal.enough:
        said.append(
            "No tone that is allowed stands out over this: do not rely on hearing the companion here."
        )
    elif signal.seen_too:
        said.append("So loud a place needs a sign to see as well: keep the screen in sight.")
    return said + _exposure(ambient.dba, ambient.lasted)


def _exposure(dba: float, lasted: timedelta) -> list[str]:
    limit = osha(dba)
    by_osha = "no limit" if limit is None else whole_minutes(limit)
    return [
        f"A day's exposure at this level: OSHA {by_osha} (29 CFR 1910.95), NIOSH {whole_minutes(niosh(dba))} "
        "(its recommended limit, from memory).",
        f"Noise dose of eight hours of it: {osha_dose(dba):.0f} % by OSHA, {niosh_dose(dba):.0f} % by NIOSH; "
        "100 % is the limit.",
        f"This is an estimate from {lasted.total_seconds():.0f} s of one microphone, set by your meter. It "
        "is no dosimeter worn for a shift: when in doubt, wear ear protection.",
    ]
