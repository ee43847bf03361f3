"""The order of playing: repeats, endings and jumps, in bars of one letter each."""

import pytest
from hypothesis import given

from reedpath.errors import ReadError
from reedpath.readers.bars import OrderSigns
from reedpath.readers.limits import Limits
from reedpath.readers.playing_order import playing_order
from support.examples import examples
from support.spent_bytes import SpentBytes, built_from_bytes

LIMITS = Limits(bars=500)


def ending(*numbers: int, times: int = 1, **signs: bool) -> OrderSigns:
    return OrderSigns(endings=frozenset(numbers), times=times, **signs)


def played(*signs: OrderSigns) -> str:
    return "".join("abcdefghij"[index] for index in playing_order(signs, limits=LIMITS))


PLAIN, START, END = OrderSigns(), OrderSigns(starts=True), OrderSigns(times=2)


@pytest.mark.parametrize(
    ("signs", "expected"),
    [
        ([PLAIN, PLAIN], "ab"),
        ([PLAIN, END], "abab"),
        ([PLAIN, START, END, PLAIN], "abcbcd"),
        ([PLAIN, END, PLAIN, END], "ababcdcd"),
        ([OrderSigns(starts=True, times=3)], "aaa"),
        ([START, PLAIN, ending(1, times=2), ending(2)], "abcabd"),
        ([START, ending(1, times=2), ending(2), PLAIN], "abacd"),
        ([START, ending(1, times=2), ending(2, times=2), PLAIN], "abacd"),
        ([START, ending(1), ending(1, times=2), ending(2), ending(2)], "abcade"),
        ([START, ending(1, 3, times=2), ending(2, times=2), PLAIN], "abacabd"),
        ([START, ending(1, 2, times=2), ending(3)], "ababac"),
        ([START, ending(1, times=2), PLAIN], "abac"),
        ([ending(1, times=2), ending(2), ending(1, times=2), ending(2)], "abcd"),
        ([PLAIN, OrderSigns(fine=True), OrderSigns(da_capo=True)], "abcab"),
        ([PLAIN, OrderSigns(segno=True), PLAIN, OrderSigns(dal_segno=True)], "abcdbcd"),
        ([PLAIN, OrderSigns(to_coda=True), OrderSigns(da_capo=True), OrderSigns(coda=True)], "abcabd"),
        ([START, END, OrderSigns(fine=True), OrderSigns(da_capo=True)], "ababcdabc"),
        ([START, ending(1, times=2), ending(2, fine=True), OrderSigns(da_capo=True)], "abacdac"),
        ([OrderSigns(dal_segno=True)], "aa"),
    ],
)
def test_bars_are_played_in_this_order(signs, expected):
    # common practice, no source, but for the restart of a repeat without a start: ABC 2.1, section 4.8
    assert played(*signs) == expected


def test_no_bars_are_no_order():
    assert playing_order([], limits=LIMITS) == []


def test_an_order_too_long_is_refused():
    with pytest.raises(ReadError, match="at most 500 allowed"):
        playing_order([OrderSigns(times=64)] * 20, limits=LIMITS)


ENDINGS = tuple(map(frozenset, ((), (), (1,), (2,), (1, 2), (3,))))


def order_signs(drawn: SpentBytes) -> OrderSigns:
    return OrderSigns(
        starts=drawn.yes(),
        times=drawn.pick((1, 1, 2, 3)),
        endings=drawn.pick(ENDINGS),
        segno=drawn.yes(),
        coda=drawn.yes(),
        da_capo=drawn.yes(),
        dal_segno=drawn.yes(),
        to_coda=drawn.yes(),
        fine=drawn.yes(),
    )


def bars_of_signs(drawn: SpentBytes) -> list[OrderSigns]:
    return [order_signs(drawn) for _ in range(drawn.whole(0, 12))]


@examples(200)
@given(built_from_bytes(bars_of_signs, size=109))
def test_any_signs_come_to_an_end_and_play_only_bars_there_are(bars):
    order = playing_order(bars, limits=Limits(bars=100_000))
    assert all(0 <= index < len(bars) for index in order)
    for index in order:
        assert not bars[index].endings or max(bars[index].endings) <= 3


def bars_of_repeats(drawn: SpentBytes) -> list[OrderSigns]:
    return [OrderSigns(starts=drawn.yes(), times=drawn.whole(1, 3)) for _ in range(drawn.whole(0, 12))]


@examples(100)
@given(built_from_bytes(bars_of_repeats, size=25))
def test_without_endings_and_jumps_every_bar_is_played(bars):
    assert set(playing_order(bars, limits=Limits(bars=100_000))) == set(range(len(bars)))
