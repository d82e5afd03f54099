"""Devices by the names that a real sound server gives them."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.errors import SoundError
from companion.speech.devices.device_microphone import SoundDeviceMicrophone
from companion.speech.devices.device_player import SoundDevicePlayer
from companion.speech.devices.server import devices, find
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.voice import SilentVoice
from tests.helpers.sound_server import SoundServer, why_not
from tests.helpers.waiting import until

pytestmark = pytest.mark.skipif(why_not() is not None, reason=str(why_not()))


@pytest.fixture
def server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundServer]:
    with SoundServer(tmp_path) as server:
        for name, value in server.env.items():
            monkeypatch.setenv(name, value)
        yield server


def test_each_is_found_by_number_name_and_words(server: SoundServer) -> None:
    server.load("module-null-sink sink_name=bt sink_properties=device.description='Red-Headset'")
    for device in devices("loudspeaker"):
        assert find("loudspeaker", str(device.number)) == device
        assert find("loudspeaker", device.name) == device
    assert find("loudspeaker", "red-head").name == "bt"
    assert [d.name for d in devices("loudspeaker") if d.is_default and d.through] == ["mouth"]
    microphones = [d.name for d in devices("microphone")]
    assert "mic" in microphones
    assert "mouth.monitor" not in microphones, "what a loudspeaker plays is no microphone"
    with pytest.raises(SoundError, match="no loudspeaker 'moon base'"):
        find("loudspeaker", "moon base")


def test_a_device_of_the_server_is_played_and_gone_back_to(server: SoundServer) -> None:
    headset = server.load("module-null-sink sink_name=headset norewinds=1")
    player = SoundDevicePlayer(Mouth(SilentVoice()), "headset")
    player.start()
    until(lambda: server.in_use() == {"headset"})
    server.unload(headset)
    until(lambda: server.in_use() == {"mouth"}, lambda: "the server moves it away")
    server.load("module-null-sink sink_name=headset norewinds=1")
    until(lambda: server.in_use() == {"headset"})
    player.close()
    until(lambda: not server.in_use())


def test_a_microphone_knows_the_rate_of_its_device(server: SoundServer) -> None:
    """So a headset is told by its 16 kHz."""
    server.load("module-null-sink sink_name=hfp rate=16000 channels=1")
    server.load("module-remap-source master=hfp.monitor source_name=hfp_mic")
    microphone = SoundDeviceMicrophone("hfp_mic")
    assert microphone.rate == 16_000
    microphone.close()
