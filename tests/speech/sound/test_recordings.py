"""WAV files of every kind, good and bad, and the microphones."""

import struct
import wave
from pathlib import Path

import numpy as np
import pytest
import soxr

from companion.errors import SoundError
from companion.job.facts.commands import Command
from companion.speech.devices import microphone as mic
from companion.speech.hearing.ear import Ear
from companion.speech.hearing.recorded import hear_files
from companion.speech.language.phrases import phrases_for
from companion.speech.recognisers.embedded import EmbeddedRecogniser
from companion.speech.recognisers.recogniser import Verdict
from companion.speech.sound.recordings import read_clip
from companion.speech.sound.samples import FRAME, RATE


def write(path: Path, samples: np.ndarray, rate: int = RATE, width: int = 2, channels: int = 1) -> Path:
    peak = 2 ** (8 * width - 1) - 1
    whole = np.round(np.repeat(samples, channels) * peak).astype(np.int64)
    raw = b"".join(int(v).to_bytes(4, "little", signed=True)[:width] for v in whole)
    if width == 1:
        raw = (whole + 128).astype(np.uint8).tobytes()
    with wave.open(str(path), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(rate)
        file.writeframes(raw)
    return path


def tone(rate: int, seconds: float = 0.5) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * 440 * np.arange(round(rate * seconds)) / rate)


@pytest.mark.parametrize("rate", [8_000, 16_000, 22_050, 44_100, 48_000])
@pytest.mark.parametrize("channels", [1, 2])
def test_any_rate_mono_or_stereo(tmp_path: Path, rate: int, channels: int) -> None:
    clip = read_clip(write(tmp_path / "a.wav", tone(rate), rate, channels=channels))
    assert len(clip.samples) == pytest.approx(RATE / 2, abs=2)
    spectrum = np.abs(np.fft.rfft(clip.samples))
    assert np.argmax(spectrum) * 2 == pytest.approx(440, abs=2)
    assert np.abs(clip.samples).max() == pytest.approx(0.5, abs=0.03)


@pytest.mark.parametrize("width", [1, 2, 3, 4])
def test_any_width_of_sample(tmp_path: Path, width: int) -> None:
    clip = read_clip(write(tmp_path / "a.wav", tone(RATE), width=width))
    np.testing.assert_allclose(clip.samples, tone(RATE), atol=2 / 2 ** (8 * width - 1) + 1e-6)


def test_bad_files_are_told_in_one_line(tmp_path: Path) -> None:
    good = write(tmp_path / "good.wav", tone(RATE)).read_bytes()
    floating = bytearray(good)
    floating[20:22] = struct.pack("<H", 3)
    cases = {
        "empty.wav": (b"", "not a WAV"),
        "text.wav": (b"this is not sound at all, sorry", "not a WAV"),
        "head.wav": (good[:30], "not a WAV"),
        "cut.wav": (good[: len(good) // 2], r"cut short, \d+ of 8000"),
        "silent.wav": (write(tmp_path / "none.wav", np.zeros(0)).read_bytes(), "empty"),
        "float.wav": (bytes(floating), "PCM"),
        "slow.wav": (write(tmp_path / "s.wav", tone(RATE), rate=1000).read_bytes(), "1000 samples a second"),
    }
    for name, (content, message) in cases.items():
        path = tmp_path / name
        path.write_bytes(content)
        with pytest.raises(SoundError, match=message) as caught:
            read_clip(path)
        assert str(caught.value).startswith(str(path))
        assert "\n" not in str(caught.value)
    with pytest.raises(SoundError, match="no such file"):
        read_clip(tmp_path / "nowhere.wav")
    with pytest.raises(SoundError, match="cannot be read"):
        read_clip(tmp_path)


def test_a_file_is_a_microphone(tmp_path: Path) -> None:
    source = mic.FileMicrophone(write(tmp_path / "a.wav", tone(RATE, 0.1)))
    frames = list(source.frames())
    assert {len(frame) for frame in frames} == {FRAME}
    assert len(frames) == 4
    source.close()
    assert list(source.frames()) == []


@pytest.mark.parametrize("rate", [8_000, 16_000, 44_100])
def test_blocks_of_a_device_become_frames(rate: int) -> None:
    blocks = np.array_split(tone(rate, 1.0).astype(np.float32), 37)
    frames = list(mic.in_frames(iter(blocks), rate))
    assert {len(frame) for frame in frames} == {FRAME}
    assert len(frames) == pytest.approx(RATE / FRAME, abs=3)  # the filter holds some back
    sound = np.concatenate(frames)
    assert np.argmax(np.abs(np.fft.rfft(sound))) * RATE / len(sound) == pytest.approx(440, abs=2)


def test_without_a_sound_device_the_way_out_is_told() -> None:
    try:
        found = mic.microphones()
    except SoundError as error:
        assert "libportaudio2" in str(error)  # noqa: PT017
        assert "--keys" in str(error)  # noqa: PT017
        return
    if not found:
        with pytest.raises(SoundError, match="--keys"):
            mic.SoundDeviceMicrophone()
    with pytest.raises(SoundError, match="no microphone 'moon base'"):
        mic.SoundDeviceMicrophone("moon base")


def test_what_a_bluetooth_headset_gives_is_understood(embedded: EmbeddedRecogniser, talker) -> None:
    """Eight thousand samples a second: nothing above 4 kHz, no hiss of an s."""
    said = soxr.resample(talker.stream(0.6, "go back", 0.9, "what size", 0.9), RATE, 8_000)
    ear = Ear(embedded)
    ear.expect(phrases_for((Command.DONE, Command.GO_BACK, Command.REPEAT, Command.WHAT_SIZE)))
    frames = mic.in_frames(iter(np.array_split(said.astype(np.float32), 40)), 8_000)
    heard = [hearing for frame in frames for hearing in ear.feed(frame)] + ear.flush()
    assert [h.judgement.phrase.text for h in heard if h.judgement.verdict is Verdict.ACCEPTED] == [
        "go back",
        "what size",
    ]


def test_many_files_in_one_run(tmp_path: Path, embedded: EmbeddedRecogniser, talker) -> None:
    one = write(tmp_path / "one.wav", talker.stream(0.6, "go back", 0.8, "repeat", 0.6))
    two = write(tmp_path / "two.wav", talker.stream(0.6, "done", 0.6), channels=2)
    ear = Ear(embedded)
    ear.expect(phrases_for((Command.DONE, Command.GO_BACK, Command.REPEAT)))
    lines = list(hear_files([one, two], ear))
    assert [(Path(x["file"]).name, x["command"]) for x in lines] == [
        ("one.wav", "go back"),
        ("one.wav", "repeat"),
        ("two.wav", "done"),
    ]
    assert set(lines[0]) == {"file", "start", "end", "phrase", "command", "arguments", "score", "latency_ms"}
    assert 0 < lines[0]["start"] < lines[0]["end"] < lines[1]["start"]
