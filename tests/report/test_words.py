"""Numbers as people on site read them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.report.parts import words


@pytest.mark.parametrize(
    ("shown", "wanted"),
    [
        (words.kilonewtons(4249.0), "4.2 kN"),
        (words.kilonewtons(None), "–"),
        (words.kilonewtons(float("nan")), "–"),
        (words.kilonewtons(-20.0), "−20 N"),
        (words.kilonewtons(96.0), "0.1 kN"),
        (words.kilonewtons(0.0), "0.0 kN"),
        (words.metres(0.00004), "below 0.1 mm"),
        (words.tenths(0.04), "40 mm"),
        (words.duration(0.4), "below 1 s"),
        (words.degrees(1.2), "1.2 degrees"),
        (words.degrees(4.94), "4.9 degrees"),
        (words.degrees(4.96), "5 degrees"),
        (words.degrees(0.04), "below 0.1 degrees"),
        (words.degrees(0.0), "0 degrees"),
        (words.degrees(3.4, "°"), "3.4°"),
        (words.degrees(0.2, "°"), "0.2°"),
        (words.percent(1.002), "above 100 %"),
        (words.metres(0.038), "38 mm"),
        (words.metres(0.0042), "4.2 mm"),
        (words.metres(0.0), "0 mm"),
        (words.metres(18.04), "18.0 m"),
        (words.metres(-3.6), "−3.6 m"),
        (words.metres(123.4), "123 m"),
        (words.duration(40.0), "40 s"),
        (words.duration(720.0), "12 min"),
        (words.duration(3900.0), "65 min"),
        (words.duration(7500.0), "2 h 05 min"),
        (words.clock(59.6), "1:00"),
        (words.clock(425.0), "7:05"),
        (words.percent(0.0), "0 %"),
        (words.percent(0.004), "below 1 %"),
        (words.percent(0.996), "above 99 %"),
        (words.percent(1.0), "100 %"),
        (words.chance(0.0, 256), "below 3/256"),
        (words.chance(1.0, 256), "all 256 trials"),
        (words.chance(0.5, 256), "50 %"),
        (words.chance(0.0, 4), "below 3/4"),
        (words.chance(0.0, 3), "none of 3"),
        (words.chance(0.0, 2), "none of 2"),
        (words.chance(None, 256), "–"),
        (words.significant(0.5555), "0.56"),
        (words.significant(1460.0), "1500"),
        (words.significant(0.0), "0"),
        (words.points(0.0123), "± 1.2 points"),
        (words.points(None), "not measured"),
        (words.points(0.0), "± 0 points"),
        (words.points(2.3e-8), "± less than 0.01 points"),
        (words.points(-0.00042), "± 0.04 points"),
        (words.points(0.0051), "± 0.51 points"),
        (words.points(0.31), "± 31 points"),
        (words.left(0.69999), "69 %"),
        (words.left(0.99999), "99 %"),
        (words.left(-0.351), "−36 %"),
        (words.left(1.0, touched=False), "100 %"),
        (words.left(-7.49), "worn through about 9 times"),
        (words.left_short(-7.49), "9x worn"),
        (words.left_short(-0.351), "−36 %"),
        (words.kilograms(100.0), "100 kg"),
        (words.tenths(0.49), "0.5 m"),
    ],
)
def test_numbers_read_as_on_site(shown: str, wanted: str) -> None:
    assert shown == wanted


@given(st.floats(1e-12, 1.0))
def test_an_error_is_told_no_finer_than_a_hundredth_of_a_point(share: float) -> None:
    said = words.points(share)
    told = said.removeprefix("± ").removesuffix(" points")
    assert len(told.removeprefix("less than ").partition(".")[2]) <= 2
    if told == "less than 0.01":
        assert share < 1e-4
    else:  # two digits of what it is, or hundredths: half a step off at most
        assert abs(float(told) - 100 * share) <= max(0.005, 0.05 * 100 * share) * (1 + 1e-9)


@given(st.floats(1e-3, 180.0))
def test_a_small_bend_is_told_to_a_tenth_of_a_degree(angle_deg: float) -> None:
    told = words.degrees(angle_deg).removesuffix(" degrees")
    if told == "below 0.1":
        assert angle_deg < 0.05 * (1 + 1e-9)
        return
    step = 0.1 if "." in told else 1.0
    assert abs(float(told) - angle_deg) <= 0.5 * step * (1 + 1e-9)
    assert angle_deg >= 4.95 * (1 - 1e-9) or step == 0.1


@given(st.floats(-1, 1))
def test_sheath_left_is_never_rounded_up_nor_whole(margin: float) -> None:
    shown = int(words.left(margin).removesuffix(" %").replace(words.MINUS, "-"))
    assert shown <= 99
    # 1e-7: margins are rounded down after 1e-9 was added
    assert shown <= margin * 100 + 1e-7


@given(st.floats(2.0001, 1e6))
def test_a_sheath_is_never_worn_through_fewer_times_than_computed(demand: float) -> None:
    """Nor once more: the least whole number that is no smaller, but for rounding at 1e-9."""
    short = int(words.left_short(1.0 - demand).removesuffix("x worn"))
    assert words.left(1.0 - demand) == f"worn through about {short} times"
    assert short - 1 < demand <= short + 2e-9


@given(st.floats(1e-6, 1e6), st.integers(1, 5))
def test_significant_digits_keep_the_value(value: float, digits: int) -> None:
    # half a unit of the last digit that is kept, at worst for a leading 1
    assert float(words.significant(value, digits)) == pytest.approx(
        value, rel=0.51 * 10 ** (1 - digits)
    )
