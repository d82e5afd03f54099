"""What the charts work out, and how lengths and ratios are written."""

from datetime import datetime, timedelta

from companion.labour.answers.written import clock, ratio_words
from companion.labour.report.charts import running_median
from companion.labour.report.report_data import JobPoint


def test_words_for_times_and_ratios() -> None:
    times = [clock(timedelta(minutes=m)).replace("\u00a0", " ") for m in (0.5, 9.94, 9.96, 59, 99.6)]
    assert times == ["0.5 min", "9.9 min", "10 min", "59 min", "1.7 h"]
    ratios = [ratio_words(r).replace("\u00a0", " ") for r in (1.3, 0.88, 1.001)]
    assert ratios == ["+30 %", "−12 %", "±0 %"]


def test_the_running_median_is_not_moved_by_one_rusty_car() -> None:
    points = [JobPoint(datetime(2031, 9, 1), ratio) for ratio in (1, 1, 1, 9, 1, 1, 1)]
    assert running_median(points) == [1.0] * 7
