"""A small procedure without faults, which each test spoils in one way."""

from collections.abc import Callable
from pathlib import Path

import pytest

from companion.errors import ProcedureError
from companion.procedure.model import Procedure
from companion.procedure.read import read_procedure

SMALL = """\
title: Cover off and on
revision: "1"
applies_to: [an invented engine]
source_of_torques: invented
parts:
  new-ring: {name: ring, single_use: true}
consumables:
  paste: {name: paste, product_class: RTV, skin_over: 10 min, full_cure: 24 h}
energy:
  battery:
    name: the battery
    source: battery
    prove: {what: voltage, unit: V, at_most: 0.5}
items:
  cover: {name: cover, kind: joint}
  plug: {name: plug, kind: connector}
seals:
  ring: {name: ring, use: single, part: new-ring, joint: cover}
steps:
  - id: isolate
    act: isolate
    say: Battery off.
    book: 1 min
    isolates: battery
    state: battery disconnected
  - id: prove
    act: verify
    say: Measure.
    book: 1 min
    proves: battery
  - id: unplug
    act: disconnect
    say: Unplug.
    book: 1 min
    opens: [plug]
    needs_isolated: [battery]
  - id: cover-off
    act: remove
    say: Cover off.
    book: 4 min
    fasteners:
      - {what: cover bolts, thread: M8, hex: 13, count: 6}
    opens: [cover]
    disturbs: [ring]
    where: on top
  - id: look
    act: inspect
    say: Look inside.
    book: 2 min
    optional: "While it is off: look inside?"
  - id: wipe
    act: clean
    say: Wipe.
    book: 1 min
    only_if: look
  - id: spread
    act: apply
    say: Spread the paste.
    book: 2 min
    applies: {consumable: paste}
    renews: [ring]
  - id: cover-on
    act: fit
    say: Cover on.
    book: 2 min
    closes: [cover]
    assembles: spread
  - id: tighten
    act: tighten
    say: Tighten.
    book: 3 min
    fasteners:
      - {what: cover bolts, thread: M8, hex: 13, count: 6, torque: 22 N·m}
  - id: plug-in
    act: connect
    say: Plug in.
    book: 1 min
    closes: [plug]
    needs_isolated: [battery]
  - id: pump
    act: fill
    say: Pump six times.
    book: 2 min
    count: 6
    each: stroke
    waits_for: [cover-on]
  - id: rest
    act: wait
    say: Wait.
    book: 5 min
    wait: 5 min
  - id: restore
    act: restore
    say: Battery on.
    book: 1 min
    restores: battery
    state: battery connected
"""


def read_text(folder: Path, text: str) -> Procedure:
    path = folder / "small.yaml"
    path.write_text(text, encoding="utf-8")
    return read_procedure(path)


@pytest.fixture
def small() -> str:
    return SMALL


@pytest.fixture
def read(tmp_path: Path) -> Callable[[str], Procedure]:
    """Read a procedure from its text."""
    return lambda text: read_text(tmp_path, text)


@pytest.fixture
def faults_of(faults_in: Callable[[str], list[str]]) -> Callable[..., list[str]]:
    """The faults, without the name of the file, of the small procedure with parts of its text replaced."""

    def find(*changes: tuple[str, str]) -> list[str]:
        text = SMALL
        for old, new in changes:
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the small procedure"
            text = text.replace(old, new)
        return faults_in(text)

    return find


@pytest.fixture
def faults_in(tmp_path: Path) -> Callable[[str], list[str]]:
    """The faults, without the name of the file, of a procedure that has some."""

    def find(text: str) -> list[str]:
        with pytest.raises(ProcedureError) as caught:
            read_text(tmp_path, text)
        start = f"{tmp_path / 'small.yaml'}:"
        assert all(line.startswith(start) and "\n" not in line for line in caught.value.faults)
        assert str(caught.value).startswith(caught.value.faults[0])
        return [line.removeprefix(start) for line in caught.value.faults]

    return find
