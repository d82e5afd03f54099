"""Without sound nothing is said, and each saying is told to have failed."""

from companion.job.facts.sayings import Priority, Tone
from companion.speech.devices.player import ScreenOnlyPlayer
from companion.speech.saying.happenings import Failed
from companion.speech.saying.sayer import Sayer, SilentMouth


def test_every_saying_is_reported_once_with_the_reason_and_nothing_waits() -> None:
    mouth: Sayer = SilentMouth()
    player = ScreenOnlyPlayer(mouth, "no loudspeaker")
    player.start()
    mouth.say("a", "One.")
    mouth.say("d", "Stop.", Priority.DANGER, Tone.DANGER)
    mouth.sound(Tone.HEARD)
    mouth.louder()
    mouth.stop()
    assert mouth.events() == [Failed("a", "no loudspeaker"), Failed("d", "no loudspeaker")]
    assert mouth.events() == []
    assert mouth.idle
    assert mouth.speaking is None
