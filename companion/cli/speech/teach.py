"""`companion hear --teach`: a word for a command, said three times, and how well it is told from the rest."""

import json
from pathlib import Path

import click

from companion.cli.speech.microphone_check import as_heard
from companion.job.facts.commands import Command
from companion.speech.devices.device_microphone import SoundDeviceMicrophone
from companion.speech.devices.microphone import FileMicrophone, Microphone
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.microphone_check import Findings, walk
from companion.speech.language.confusion import likeness
from companion.speech.language.own_phrases import OwnPhrases, every_phrase
from companion.speech.language.phrases import Language, Phrase

TIMES = 3


def run(
    ear: Ear,
    word: Phrase,
    spoken: Language,
    own: OwnPhrases,
    device: str | None,
    recording: Path | None,
    as_json: bool,
) -> None:
    """Ask for the word three times and tell.

    Args:
        ear: expects the phrases of a step already, and the word.
        word: the word, for its command.
        spoken: the language.
        own: the other words of one's own.
        device: the microphone; the default one when None.
        recording: in place of a microphone, with the word three times.
        as_json: one object in place of the text.
    """
    asked = [word] * TIMES
    if recording is not None:
        findings = walk(FileMicrophone(recording).frames(), ear, asked)
    else:
        microphone: Microphone = SoundDeviceMicrophone(device)
        click.echo(f"Microphone: {microphone.name}", err=as_json)
        try:
            findings = walk(
                microphone.frames(), ear, asked, lambda text: click.echo(f'Say: "{text}"', err=as_json)
            )
        finally:
            microphone.close()
    others = [p for p in every_phrase(spoken, own) if p.command != word.command]
    texts = [*spoken.commands[Command(word.command)], word.text]
    ranked = sorted({text: _nearest(text, others) for text in texts}.items(), key=lambda one: one[1][1])
    if as_json:
        click.echo(json.dumps(_plain(findings, word, ranked), ensure_ascii=False))
        return
    for tried in findings.tried:
        click.echo(f"  {tried.asked:14} {as_heard(tried)}")
    click.echo(f'"{word.text}" would be obeyed {findings.understood()} of {TIMES} times.')
    for text, (other, alike) in ranked:
        click.echo(f'  by its sound "{text}" is nearest to "{other}" ({alike:.2f})')
    better = [text for text, (_, alike) in ranked if alike < _nearest(word.text, others)[1]]
    if findings.understood() < TIMES and better:
        click.echo(f'> "{better[0]}" should be told better: try --teach "{better[0]}" --as "{word.command}".')
    elif findings.understood() < TIMES:
        click.echo("> Try a longer word, of two syllables and more, or bring the microphone nearer.")
    else:
        click.echo(f"> To use it, write into the file of --phrases: {word.command}: [{word.text}]")


def _nearest(text: str, others: list[Phrase]) -> tuple[str, float]:
    """The phrase of another command that it sounds most like, and how much."""
    alike = {p.text: likeness(text, p.text) for p in others}
    worst = max(alike, key=lambda other: alike[other])
    return worst, alike[worst]


def _plain(
    findings: Findings, word: Phrase, ranked: list[tuple[str, tuple[str, float]]]
) -> dict[str, object]:
    return {
        "word": word.text,
        "command": str(word.command),
        "heard": [
            {
                "phrase": t.judgement.phrase.text if t.judgement and t.judgement.phrase else None,
                "verdict": str(t.judgement.verdict) if t.judgement else None,
                "score": round(t.judgement.score, 3) if t.judgement else None,
            }
            for t in findings.tried
        ],
        "understood": findings.understood(),
        "nearest": [{"word": w, "other": o, "likeness": round(a, 2)} for w, (o, a) in ranked],
    }
