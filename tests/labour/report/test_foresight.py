"""Whether ranges hold what they promise, told with what chance alone allows."""

import numpy as np

from companion.labour.report.foresight import summed


def test_right_ranges_hold_and_ranges_that_are_too_narrow_are_found_out() -> None:
    random = np.random.default_rng(4)
    right = summed(random.uniform(size=20) for _ in range(60))
    for one in right:
        assert one.low <= one.level <= one.high
        assert (one.steps, one.jobs) == (1200, 60)
    too_narrow = summed(np.clip(0.5 + 1.6 * (random.uniform(size=20) - 0.5), 0, 1) for _ in range(60))
    assert too_narrow[0].high < 0.5 or too_narrow[1].high < 0.8
    assert summed([]) == ()


def test_steps_of_one_job_that_go_together_widen_what_chance_allows() -> None:
    random = np.random.default_rng(4)
    alone = summed(random.uniform(size=20) for _ in range(30))[0]
    together = summed(np.full(20, random.uniform()) for _ in range(30))[0]
    assert together.high - together.low > 2 * (alone.high - alone.low)
