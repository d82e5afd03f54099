"""The look at a microphone: real speech through the ear, at levels and in noises made to be told apart."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from companion.cli.speech.at_step import expecting_at
from companion.errors import LogbookError, ModelError
from companion.job.facts.commands import Command
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.microphone_check import Findings, Tried, fit, prompts, walk
from companion.speech.hearing.profile import MOST, Profile, read_profile
from companion.speech.hearing.remedies import advice, loudness_advice
from companion.speech.language.phrases import Phrase, language
from companion.speech.recognisers import settings
from companion.speech.recognisers.recogniser import Judgement, Verdict
from companion.speech.recognisers.scripted import ScriptedRecogniser
from companion.speech.sound.level import Ambient

NOW = datetime(2031, 3, 4, 8, tzinfo=UTC)
TEXTS = ["repeat", "what size", "go back", "stop talking", "done"]


def listening(*lines: str) -> tuple[Ear, list[Phrase]]:
    """An ear that takes each utterance for the next line: what is tested is the measuring."""
    ear = Ear(ScriptedRecogniser(lines))
    can = expecting_at(None, None)
    phrases = language().that_answer(can)
    ear.expect(phrases)
    return ear, prompts(phrases)


def recording(talker, gain: float = 1.0, noise: float = 0.0, texts=TEXTS) -> np.ndarray:
    parts = [2.0, *(part for text in texts for part in (text, 1.5))]
    sound = gain * talker.stream(*parts)
    return np.clip(sound + noise * np.random.default_rng(5).standard_normal(len(sound)), -1, 1).astype("f4")


def looked_at(talker, gain: float = 1.0, noise: float = 0.0, said=TEXTS, heard=TEXTS) -> Findings:
    ear, asked = listening(*heard)
    return walk(cut_in_frames(recording(talker, gain, noise, said)), ear, asked)


def told(findings: Findings) -> str:
    return " ".join(advice(findings))


class TestRecording:
    def test_a_good_one_needs_no_change(self, talker):
        findings = looked_at(talker)
        assert [t.asked for t in findings.tried] == TEXTS
        assert findings.understood() == 5
        assert findings.over_noise > 20
        assert advice(findings) == []

    def test_levels_are_those_of_the_sound(self, talker):
        loud, soft = looked_at(talker), looked_at(talker, gain=0.25)
        assert soft.speech_db - loud.speech_db == pytest.approx(-12.04, abs=0.2)
        assert soft.noise_db - loud.noise_db == pytest.approx(-12.04, abs=0.2)

    def test_the_noise_is_measured_beside_the_speech_and_not_in_it(self, talker):
        findings = looked_at(talker, noise=0.003)
        assert findings.noise_db == pytest.approx(20 * np.log10(0.003), abs=1)

    def test_too_quiet(self, talker):
        assert "Too quiet: raise the recording level" in told(looked_at(talker, gain=0.03))

    def test_too_loud(self, talker):
        findings = looked_at(talker, gain=20)
        assert max(t.clipped for t in findings.tried) > 0.05
        assert told(findings).startswith("Too loud")

    def test_too_much_noise(self, talker):
        # The voice lies at about -24 dB: noise 4 dB below it.
        findings = looked_at(talker, noise=10 ** (-28 / 20))
        assert findings.over_noise < 5
        assert "some commands will be missed" in told(findings)

    def test_a_muted_microphone(self):
        ear, asked = listening()
        findings = walk(cut_in_frames(np.zeros(80_000, np.float32)), ear, asked)
        assert "muted" in told(findings)

    def test_noise_without_a_word(self):
        ear, asked = listening()
        hiss = (0.01 * np.random.default_rng(2).standard_normal(80_000)).astype(np.float32)
        assert "No speech was noticed" in told(walk(cut_in_frames(hiss), ear, asked))

    def test_phrases_that_were_not_said_are_missed(self, talker):
        findings = looked_at(talker, said=TEXTS[:3], heard=TEXTS[:3])
        assert len(findings.spoken) == 3
        assert "2 of 5 phrases were not noticed" in told(findings)


class TestLive:
    def test_each_phrase_is_asked_for_when_the_one_before_has_come(self, talker):
        ear, asked = listening(*TEXTS)
        at: list[tuple[str, float]] = []
        played = 0

        def frames():
            nonlocal played
            sound = recording(talker)
            for frame in cut_in_frames(sound):
                played += 1
                yield frame
            raise AssertionError("the check should have ended before the sound did")

        findings = walk(
            frames(), ear, asked, lambda text: at.append((text, played * 0.032)), timedelta(seconds=1)
        )
        assert [text for text, _ in at] == TEXTS
        assert at[0][1] == pytest.approx(1, abs=0.1)
        assert findings.understood() == 5

    def test_a_phrase_that_does_not_come_is_given_up(self, talker):
        ear, asked = listening()
        quiet = cut_in_frames(talker.stream(20.0))
        findings = walk(
            quiet, ear, asked, lambda _: None, timedelta(seconds=1), patience=timedelta(seconds=2)
        )
        assert [t.judgement for t in findings.tried] == [None] * 5

    def test_a_command_that_nobody_was_asked_for_is_counted(self, talker):
        ear, asked = listening("repeat", *TEXTS)
        sound = np.concatenate([talker.stream(0.5, "repeat", 1.0), recording(talker)])
        findings = walk(cut_in_frames(sound), ear, asked, lambda _: None, timedelta(seconds=3))
        assert findings.unasked == 1
        assert "--attention" in told(findings)


def tried(score: float, command: Command = Command.DONE, heard: str = "done") -> Tried:
    verdict = Verdict.ACCEPTED if score >= settings.ACCEPT else Verdict.UNSURE
    return Tried("done", Judgement(verdict, Phrase(heard, command), score), -24.0)


def found(*all_tried: Tried, unasked: int = 0) -> Findings:
    return Findings(all_tried, -60.0, -62.0, None, unasked)


class TestFitting:
    def test_a_voice_heard_right_but_unsurely_is_taken_more_easily_and_no_more_than_needed(self):
        findings = found(tried(0.99), tried(settings.ACCEPT - 0.06))
        profile = fit(findings, "headset", NOW)
        assert profile.ease == pytest.approx(0.07)
        assert (findings.understood(), findings.understood(profile)) == (1, 2)

    def test_never_by_more_than_the_bound(self):
        findings = found(tried(0.99), tried(settings.ACCEPT - MOST - 0.05))
        assert fit(findings, "headset", NOW).ease == 0
        assert findings.understood(fit(findings, "headset", NOW)) == 1

    def test_what_was_heard_wrong_eases_nothing(self):
        assert fit(found(tried(settings.ACCEPT - 0.05, Command.UNDO, "undo")), "headset", NOW).ease == 0

    def test_a_place_that_gives_commands_by_itself_asks_for_more(self):
        profile = fit(found(tried(settings.ACCEPT - 0.05), unasked=1), "headset", NOW)
        assert profile.ease == -MOST
        doubtful = Judgement(Verdict.ACCEPTED, Phrase("done", Command.DONE), settings.ACCEPT + 0.1)
        assert profile.apply(doubtful).verdict is Verdict.UNSURE

    @pytest.mark.parametrize("command", settings.FINAL_COMMANDS)
    def test_what_cannot_be_undone_is_never_taken_more_easily(self, command):
        profile = Profile(MOST, "headset", "", -24, -60)
        unsure = Judgement(Verdict.UNSURE, Phrase("words", command), settings.ACCEPT_FINAL - 0.001)
        assert profile.apply(unsure) is unsure

    def test_what_was_rejected_stays_rejected(self):
        rejected = Judgement(Verdict.REJECTED, Phrase("done", Command.DONE), settings.ACCEPT - 0.01)
        assert Profile(MOST, "headset", "", -24, -60).apply(rejected) is rejected

    def test_it_is_kept_and_read_again(self, tmp_path):
        profile = replace(fit(found(tried(settings.ACCEPT - 0.06)), "headset", NOW), calibration=122.5)
        profile.write(tmp_path / "logs" / "hearing.json")
        assert read_profile(tmp_path / "logs" / "hearing.json") == profile

    @pytest.mark.parametrize("data", ["", "{}", "[1]", '{"ease": "much"}', "\x00"])
    def test_what_is_no_profile_is_told(self, tmp_path, data):
        (tmp_path / "p.json").write_text(data)
        with pytest.raises(ModelError, match=r"p\.json: not a hearing profile"):
            read_profile(tmp_path / "p.json")

    @pytest.mark.parametrize("ease", ["0.4", "-1", "NaN"])
    def test_a_profile_beyond_the_bounds_is_refused(self, tmp_path, ease):
        profile = Profile(0.0, "m", "", -24, -60)
        profile.write(tmp_path / "p.json")
        kept = (tmp_path / "p.json").read_text().replace('"ease": 0.0', f'"ease": {ease}')
        (tmp_path / "p.json").write_text(kept)
        with pytest.raises(ModelError, match="not within"):
            read_profile(tmp_path / "p.json")

    def test_a_profile_that_is_not_there(self, tmp_path):
        with pytest.raises(LogbookError, match="no such file"):
            read_profile(tmp_path / "p.json")


class TestLoudness:
    @staticmethod
    def at(dba: float | None) -> str:
        return " ".join(loudness_advice(Ambient(-30.0, -32.0, timedelta(seconds=10), dba)))

    def test_without_a_calibration_it_says_that_nothing_can_be_said(self):
        assert "not calibrated" in self.at(None)
        assert "ISO" not in self.at(None)

    def test_at_92_the_tone_is_15_above_and_the_two_limits_stand_side_by_side(self):
        # 29 CFR 1910.95 table G-16: 6 h at 92 dBA. NIOSH: 8 h / 2^(7/3) = 95.2 min.
        assert "107 dB(A)" in self.at(92)
        assert "OSHA 6 h" in self.at(92)
        assert "NIOSH 1 h 35 min" in self.at(92)

    def test_eight_hours_are_told_as_a_dose_with_its_source_and_its_limits(self):
        # 1910.95 appendix A, table A-1: 132 % at 92 dBA for eight hours. NIOSH: 100 * 2^(7/3) = 504 %.
        said = self.at(92)
        assert "132 % by OSHA, 504 % by NIOSH" in said
        assert "29 CFR 1910.95" in said
        assert "estimate from 10 s of one microphone" in said
        assert "dose" not in self.at(None)

    def test_over_100_there_must_be_something_to_see(self):
        assert "sign to see" in self.at(101)
        assert "do not rely" in self.at(110)
