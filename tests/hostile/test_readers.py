"""Bad input for whatever reads what others wrote: only the typed errors come out, and soon.

A short form of `tests.benchmarks.fuzz`, always with the same inputs.
"""

import json
from contextlib import suppress
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.hostile import seeds
from tests.hostile.targets import ALLOWED, TARGETS, lines, log, sound, typed, values

WHOLE = ("procedure", "log", "table", "typed", "values", "sound", "kept files", "options")


@pytest.mark.parametrize("name", TARGETS)
def test_only_the_typed_errors_come_out(name, tmp_path):
    target, rng = TARGETS[name], Random(name)
    for _ in range(target.in_short):
        data = target.spoilt(rng)
        try:
            target.runs(data, tmp_path)
        except ALLOWED:
            continue
        except Exception as error:
            error.add_note(f"the input was {data!r}")
            raise


@pytest.mark.parametrize("name", WHOLE)
def test_good_input_goes_all_the_way(name, tmp_path):
    """Otherwise nothing behind the first check would ever be tried."""
    target = TARGETS[name]
    for data in target.seeds():
        with suppress(*(ALLOWED if name == "kept files" else ())):  # a profile is no script
            target.runs(data, tmp_path)


@given(st.integers(0, 255), st.text())
def test_whatever_is_typed_at_whatever_moment(moment, text):
    typed(bytes([moment]) + text.encode("utf-8", "replace"), Path())


@given(st.integers(0, 255), st.text(st.sampled_from("0123456789.,/-x× °th½²٣e+ mVN·m\u2212"), max_size=60))
def test_whatever_looks_like_a_number(moment, text):
    values(bytes([moment]) + text.encode(), Path())


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.datetimes().map(str),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=5,
)


@given(st.data())
def test_whatever_stands_in_one_field_of_an_event(data):
    fields = json.loads(data.draw(st.sampled_from(seeds.of_lines())))
    fields[data.draw(st.sampled_from(sorted(fields)))] = data.draw(ANYTHING)
    with suppress(*ALLOWED):
        lines(json.dumps(fields).encode(), Path())


@given(st.binary(max_size=60), st.integers(0, 80))
def test_whatever_a_wav_header_says(tmp_path_factory, noise, at):
    whole = seeds.of_sounds()[0]
    with suppress(*ALLOWED):
        sound(whole[:at] + noise + whole[at + len(noise) :], tmp_path_factory.getbasetemp())


FOUND = {
    "a number for which there are no words": (values, b"\0" + b"9" * 350 + b"th"),
    "one over another": (values, b"\0" + b"1/" + b"9" * 350),
    "a thread": (values, b"\0M" + b"9" * 320 + b".5"),
    "an exponent": (values, b"\x001e400"),
    "a value as heard": (values, b"\0" + b"9" * 700 + b" " + b"9" * 700),
    "hours of nothing": (values, b"\0,"),
    "not a number in a log": (
        lines,
        b'{"schema": 1, "seq": 1, "at": "2031-01-01T00:00:00Z", "mono": 0.0, "event": "deadline_announced", '
        b'"deadline": "a", "late_s": NaN}',
    ),
    "beyond all numbers in a log": (
        lines,
        b'{"schema": 1, "seq": 1, "at": "2031-01-01T00:00:00Z", "mono": 0.0, "event": "deadline_announced", '
        b'"deadline": "a", "late_s": 1e999}',
    ),
    "an event whose name is no word": (
        log,
        seeds.of_logs()[0].replace(b'"event": "job_opened"', b'"event": {}'),
    ),
    "the last day there is, in a log": (
        log,
        seeds.of_logs()[0].replace(b"2026-11-28T09", b"9999-12-31T23").replace(b"+00:00", b"-14:00"),
    ),
}


@pytest.mark.parametrize("what", FOUND)
def test_what_was_found_once_is_not_found_again(what, tmp_path):
    runs, data = FOUND[what]
    with suppress(*ALLOWED):
        runs(data, tmp_path)
