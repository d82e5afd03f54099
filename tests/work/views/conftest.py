"""The screen as it is seen now, and a terminal that can stall."""

from collections.abc import Callable, Iterator

import pytest

from tests.helpers.terminal import Emulator
from tests.work.views.looking import drawn


@pytest.fixture
def seen(bench) -> Callable[..., str]:
    """What stands on the screen now."""

    def look(width: int = 110, height: int = 34, **told: object) -> str:
        return "\n".join(drawn(bench.session.state, bench.clock.now().wall, width, height, **told))

    return look


@pytest.fixture
def terminal() -> Iterator[Emulator]:
    made = Emulator()
    yield made
    made.close()
