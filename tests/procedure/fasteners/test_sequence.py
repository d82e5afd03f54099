"""The order round a joint, from where its bolts sit. Common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.procedure.fasteners.sequence import Layout, tightening_order


@pytest.mark.parametrize(
    ("layout", "words"),
    [
        ("circle of 4", "twelve o'clock, six o'clock, three o'clock, nine o'clock"),
        ("circle of 5", "twelve o'clock, five o'clock, half past nine, half past two, seven o'clock"),
        ("circle of 6", "twelve o'clock, six o'clock, two o'clock, eight o'clock, four o'clock, ten o'clock"),
        ("grid 2 by 2", "front left, rear right, front right, rear left"),
        ("grid 1 by 5", "middle, second from the front, second from the rear, front, rear"),
    ],
)
def test_the_order_in_words_of_place(layout: str, words: str) -> None:
    assert Layout.parse(layout).sequence == words


def test_a_cylinder_head_is_tightened_from_the_middle_to_the_ends() -> None:
    order = [place.words for place in Layout.parse("grid 2 by 5").order]
    assert order[:2] == ["middle left", "middle right"]
    assert set(order[-4:]) == {"front left", "front right", "rear left", "rear right"}
    for one, next_to_it in zip(order[::2], order[1::2], strict=True):
        assert ("left" in one) != ("left" in next_to_it), "crosswise"


@given(st.integers(2, 30).map(lambda half: 2 * half))
def test_round_an_even_circle_each_second_bolt_is_opposite(number: int) -> None:
    circle = Layout.parse(f"circle of {number}")
    order = tightening_order([(place.across, place.along) for place in circle.places])
    assert sorted(order) == list(range(number))
    assert all(
        (other - one) % number == number // 2 for one, other in zip(order[::2], order[1::2], strict=True)
    )


@given(st.integers(1, 6), st.integers(3, 10))
def test_over_a_grid_nothing_is_nearer_the_middle_than_what_is_tight(across: int, along: int) -> None:
    grid = Layout.parse(f"grid {across} by {along}")
    middle = ((across - 1) / 2, (along - 1) / 2)
    apart = [round((p.across - middle[0]) ** 2 + (p.along - middle[1]) ** 2, 6) for p in grid.order]
    assert apart == sorted(apart)
    assert len({place.words for place in grid.places}) == across * along, "each place has its own words"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("circle of 2", "is of 2 bolts; a layout is of 3 to 60"),
        ("grid 99 by 99", "is of 9801 bolts"),
        ("circle of " + "9" * 5000, "a layout is of 3 to 60"),
        ("square of 4", "write it like 'circle of 5' or 'grid 2 by 5'"),
    ],
)
def test_what_is_no_layout_is_refused(text: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        Layout.parse(text)
