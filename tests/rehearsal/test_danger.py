"""Audio proof: a danger that falls due while a step is being read is in the air within 300 ms."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from companion.job import messages as msg
from companion.job.facts import events as ev
from companion.job.facts.commands import Command
from companion.job.facts.sayings import Tone
from companion.rehearsal.stage import Stage
from companion.speech.hearing.ear import Ear
from companion.speech.recognisers.scripted import ScriptedRecogniser
from companion.speech.saying.mouth import Mouth
from companion.speech.saying.pyttsx3_voice import Pyttsx3Voice
from companion.speech.saying.tones import tone
from companion.speech.sound.samples import RATE
from companion.work.edges.clock import StagedClock
from companion.work.edges.wake import StagedWaker
from companion.work.opening import Particulars, new_job
from companion.work.session import Edges, Session
from companion.work.sound.listening import Listener
from companion.work.views.plain_view import PlainLines

SHORT = Path(__file__).parent / "short-job.yaml"
LIMIT = timedelta(milliseconds=300)


@pytest.fixture
def stage(tmp_path):
    clock = StagedClock(datetime(2031, 3, 4, 8, tzinfo=UTC))
    job = new_job(SHORT, tmp_path, Particulars(), clock)
    mouth = Mouth(Pyttsx3Voice())
    made = Stage(mouth, clock, StagedWaker())
    made.session = Session(job.state, Edges(job.logbook, clock, mouth, made.waker, PlainLines()))
    made.listener = Listener(Ear(ScriptedRecogniser([])), mouth, job.logbook, job.state.procedure)
    made.post(msg.Opened(clock.boot(), job.particulars, timedelta(minutes=1)))
    yield made
    mouth.close()
    job.logbook.close()


def test_the_alarm_for_someone_who_does_not_answer_breaks_into_the_reading(stage):
    stage.post(msg.Heard(Command.YES))
    answered = stage.clock.now().mono
    due = answered + timedelta(seconds=60 + 2 * 30)
    while stage.clock.now().mono < due - timedelta(seconds=2):
        stage.frame()
    stage.listen(timedelta(seconds=1), quiet=timedelta(milliseconds=32))
    stage.mouth.say(
        "reading", "Take the cover off with its three screws, and keep them in the bag marked one."
    )
    before = len(stage.right)
    started = stage.clock.now().mono
    happened = []
    for _ in range(200):
        happened += stage.frame()
    assert any(isinstance(e, ev.CheckInEscalated) and e.stage == 3 for e in happened)
    heard = np.concatenate(stage.right[before:])
    due_sample = int((due - started).total_seconds() * RATE)
    # The step is in the air when the alarm falls due.
    assert np.abs(heard[due_sample - RATE // 2 : due_sample]).max() > 0.05
    alarm = tone(Tone.DANGER)[: RATE // 10]
    match = np.correlate(heard, alarm, "valid")
    begins = int(np.argmax(match))
    assert match[begins] > 0.8 * float(alarm @ alarm)
    assert timedelta() <= timedelta(seconds=(begins - due_sample) / RATE) <= LIMIT
