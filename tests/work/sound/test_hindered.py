"""A job among people who talk on: within ten seconds it says that it cannot hear, and what helps."""

from datetime import timedelta

import numpy as np

from companion.job import messages as msg
from companion.speech.devices.microphone import cut_in_frames
from companion.speech.hearing.ear import Ear
from companion.speech.recognisers.scripted import ScriptedRecogniser
from companion.speech.sound.samples import FRAME_TIME, RATE
from companion.work.sound.listening import Listener
from tests.helpers.sounds import Talker

CROWD = (
    "the council met again on tuesday to talk about the bridge and nobody would say what it is going to cost",
    "because the money was meant for the school and the trains are as late as they were in the last winter",
)


def test_the_job_says_that_it_cannot_hear_through_the_talk_and_what_helps(bench):
    bench.begin()
    talker = Talker()
    paces = zip(CROWD * 2, (140, 150, 160, 170), strict=True)
    voices = [np.resize(talker.say(text, pace), 12 * RATE) for text, pace in paces]
    talker.close()
    crowd = np.float32(0.5) * sum(np.roll(voice, 3_000 * n) for n, voice in enumerate(voices))
    listener = Listener(Ear(ScriptedRecogniser()), bench.mouth, bench.job.logbook, bench.job.state.procedure)
    listener.expect(bench.session.expecting())
    took, told = timedelta(), []
    for frame in cut_in_frames(crowd):
        took += FRAME_TIME
        told += [m for m in listener.listen(frame) if isinstance(m, msg.Hindered)]
        if told:
            break
    assert took < timedelta(seconds=10.2)
    bench.session.handle(told[0])
    said = [e["text"] for e in bench.logged() if e["event"] == "said"]
    assert said[-1] == (
        "I cannot hear you through the talk here. Bring the microphone to your mouth, take a headset, "
        "or use the keys."
    )
