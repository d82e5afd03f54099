"""The golden runs: whole jobs as they were rehearsed, which every later version must still read the same."""

import wave
from pathlib import Path

import numpy as np
import pytest

from companion.job.facts import events as ev
from companion.job.facts.folding import replay
from companion.logbook.procedures import kept_procedure
from companion.logbook.recover import read_log
from companion.procedure.read import read_kept_procedure

GOLDEN = Path(__file__).parents[2] / "logs" / "golden"
NAMES = ("sump-reseal", "coolant-pump", "front-brakes")


@pytest.fixture(params=NAMES)
def name(request: pytest.FixtureRequest) -> str:
    return request.param


@pytest.fixture
def records(name: str) -> list[ev.Record]:
    return read_log(GOLDEN / f"{name}.jsonl").records


def happened(records: list[ev.Record], kind: type[ev.Event]) -> list[ev.Record]:
    return [record for record in records if isinstance(record.event, kind)]


def test_it_still_folds_to_a_closed_job_with_nothing_open(records):
    procedure = read_kept_procedure(kept_procedure(GOLDEN, records[0].event.procedure_sha256))
    state = replay(procedure, records)
    assert state.closed
    assert not state.open_items
    assert not state.open_seals
    assert set(state.settled) == {step.id for step in procedure.steps}


def test_it_goes_through_isolation_and_a_proof_by_a_spoken_reading(records):
    proofs = happened(records, ev.EnergyProved)
    assert {p.event.energy for p in proofs}
    assert happened(records, ev.ReadingTaken)


def test_it_is_held_and_resumed_on_another_day_with_proof_asked_again(records):
    held = happened(records, ev.JobHeld)
    sessions = happened(records, ev.SessionStarted)
    assert held
    assert len(sessions) >= 2
    back = next(s for s in sessions if s.seq > held[0].seq)
    assert (back.at - held[0].at).total_seconds() > 12 * 3600
    lost = [r for r in happened(records, ev.ProofLost) if r.seq > back.seq]
    for record in lost:
        again = [r for r in happened(records, ev.EnergyProved) if r.event.energy == record.event.energy]
        assert again[-1].seq > record.seq


def test_waits_run_their_full_time_and_other_work_goes_on_meanwhile(name, records):
    waits = [
        r
        for r in happened(records, ev.DeadlineSet)
        if r.event.kind in ("cure", "step wait", "isolation wait")
    ]
    assert waits
    done = happened(records, ev.StepDone)
    for said in happened(records, ev.DeadlineAnnounced):
        sets = [r for r in happened(records, ev.DeadlineSet) if r.event.deadline == said.event.deadline]
        running = [r for r in sets if r.seq < said.seq][-1]
        assert said.at >= running.event.due
    if name == "sump-reseal":
        cure = next(w for w in waits if w.event.kind == "cure")
        meanwhile = [d for d in done if cure.at < d.at < cure.event.due]
        assert meanwhile


def test_the_recording_holds_both_voices(name):
    with wave.open(str(GOLDEN / f"{name}.wav")) as file:
        assert file.getnchannels() == 2
        sound = np.frombuffer(file.readframes(file.getnframes()), np.uint8).reshape(-1, 2).astype(int) - 128
    loud = (np.abs(sound) > 8).mean(axis=0)
    assert loud[0] > 0.005
    assert loud[1] > 0.1
