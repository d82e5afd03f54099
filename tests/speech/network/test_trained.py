"""What was trained on top of the model: that it is the measured one, that it fits, that it spells."""

import itertools

import numpy as np
import pytest

from companion.errors import ModelError
from companion.job.facts.commands import Command
from companion.speech.language.phrases import phrases_for
from companion.speech.network import adapter, verifier
from companion.speech.network.adapter import LETTERS, adapted, freely, spelt
from companion.speech.network.installed import find_weights
from companion.speech.network.weight_file import variables
from companion.speech.network.whisper import Whisper
from companion.speech.recognisers.scorer import Scorer, noises, stored_priors
from companion.speech.sound.samples import RATE


@pytest.mark.parametrize("user", [adapter, verifier], ids=["ear", "verifier"])
def test_a_file_that_was_altered_is_refused(tmp_path, monkeypatch, user) -> None:
    altered = tmp_path / "altered.npz"
    altered.write_bytes(user.FILE.read_bytes()[:-1] + b"x")
    monkeypatch.setattr(user, "FILE", altered)
    user.trained.cache_clear()
    with pytest.raises(ModelError, match="not the file this program was measured with"):
        user.trained()
    monkeypatch.setattr(user, "FILE", tmp_path / "none")
    with pytest.raises(ModelError, match="cannot be read"):
        user.trained()
    user.trained.cache_clear()


def test_only_weights_of_the_encoder_are_changed_and_nothing_moves() -> None:
    before = (find_weights() / "model.bin").read_bytes()
    after = adapted(before)
    assert len(after) == len(before)
    changed = {n for n, v in variables(before).items() if not np.array_equal(v.read(before), v.read(after))}
    assert changed == {name.split("|")[0] for name in adapter.trained() if "|" in name}
    assert all(name.startswith("encoder/") for name in changed)


@pytest.mark.parametrize("data", [b"", b"\x06\0\0\0", b"\x05\0\0\0" + bytes(100), b"\x06\0\0\0\xff\xff"])
def test_what_is_no_model_file_is_refused(data: bytes) -> None:
    with pytest.raises(ModelError):
        variables(data)


def test_spelling_sums_over_every_way_to_spell() -> None:
    """Against the definition: all paths of 4 frames that collapse to the text, added up one by one."""
    rng = np.random.default_rng(3)
    chances = rng.random((4, 1 + len(LETTERS)))
    chances[:, 4:] = 0.0  # only nothing, space, a and b
    letters = np.log(np.maximum(chances / chances.sum(1, keepdims=True), 1e-300)).astype(np.float32)
    for text in ("a", "ab", "aa", "ba"):
        total = 0.0
        for path in itertools.product(range(4), repeat=4):
            kept = [b for b, before in zip(path, (0, *path[:-1]), strict=True) if b not in (0, before)]
            if "".join(LETTERS[b - 1] for b in kept) == text:
                total += float(np.exp(letters[np.arange(4), path].sum()))
        assert spelt(letters, [text, "abab"])[0] == pytest.approx(np.log(total), abs=1e-4)


def test_free_reading_takes_repeats_and_gaps_out() -> None:
    path = [3, 3, 0, 3, 1, 2, 2]
    letters = np.full((len(path), 1 + len(LETTERS)), -10.0, dtype=np.float32)
    letters[np.arange(len(path)), path] = -0.1
    text, score = freely(letters)
    assert text == "bb a"
    assert score == pytest.approx(-0.7, abs=1e-5)


def test_stored_priors_are_those_that_would_be_worked_out() -> None:
    some = phrases_for((Command.DONE, Command.WHAT_TORQUE))
    for name, adapt in (("plain", False), ("hardened", True)):
        fresh = Scorer(Whisper(adapt=adapt)).priors(some)
        stored = stored_priors()[name]
        assert all(fresh[text] == pytest.approx(stored[text], abs=0.5) for text in fresh)


def test_every_fixed_phrase_has_its_prior_stored() -> None:
    fixed = {p.text for p in phrases_for(list(Command), durations=True)}
    assert fixed <= set(stored_priors()["plain"]) & set(stored_priors()["hardened"])


def test_noises_hold_nothing_said() -> None:
    assert all(len(clip) == round(1.2 * RATE) for clip in noises())
