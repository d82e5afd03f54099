"""The program works offline: no command asks for a name or opens a connection."""

import socket
from pathlib import Path

import pytest

from tests.helpers.sounds import Talker, write_wav

ROOT = Path(__file__).parents[2]
BRAKES = ROOT / "procedures" / "front-brakes.yaml"
DEMO = ROOT / "logs" / "demo"


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Whatever would have gone out."""
    found: list[str] = []

    def refuse(*arguments: object, **_: object) -> None:
        found.append(repr(arguments))
        raise OSError("no network here")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket.socket, "connect_ex", refuse)
    monkeypatch.setattr(socket.socket, "sendto", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    return found


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", BRAKES),
        ("work", BRAKES, "--keys", "--quiet"),
        ("phrases",),
        ("models",),
        ("due", "--logs", DEMO),
        ("jobs", "--logs", DEMO),
        ("times", "--logs", DEMO),
        ("quote", BRAKES, "--logs", DEMO),
        ("plan", BRAKES, "--start", "2031-06-02T08:00"),
        ("report", "--logs", DEMO, "--out", "report.html"),
    ],
    ids=lambda arguments: arguments[0],
)
def test_no_command_goes_out(companion, asked, arguments):
    done = companion(*arguments, typed="yes\nyes\nyes\nyes\nhelp\n")
    assert done.returncode == 0, done.stderr
    assert asked == []


def test_a_recording_is_heard_without_a_network(companion, asked, tmp_path):
    recording = write_wav(tmp_path / "done.wav", Talker().stream(0.5, "done", 1.0))
    done = companion("hear", recording, "--json")
    assert done.returncode == 0, done.stderr
    assert asked == []
