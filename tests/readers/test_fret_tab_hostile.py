"""Fret tab: whatever comes in, a phrase or a ReadError comes out, soon."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from reedpath.errors import ReadError
from reedpath.phrase import Phrase, performed
from reedpath.readers import Limits, read_phrase
from reedpath.readers.fret_tab import sniff_fret_tab
from support.examples import examples
from support.spent_bytes import SpentBytes, many_from_bytes
from support.work import grows_evenly

pytestmark = pytest.mark.slow


def systems(body: str, count: int = 1) -> bytes:
    return ("\n".join(f"{name}|{body}|" for name in "eBGDAE") + "\n\n").encode() * count


def on_one_string(body: str) -> bytes:
    rest = "-" * len(body)
    return "\n".join(f"{name}|{body if name == 'e' else rest}|" for name in "eBGDAE").encode()


def outcome(data: bytes) -> Phrase | None:
    """The phrase, or None for a refusal; anything else gets out and fails the test."""
    try:
        return read_phrase(data, format="fret-tab")
    except ReadError:
        return None


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"e|--5--|\n" * 1_000_000, "too large: 1,000,001 lines"),
        (b"e|" + b"-" * 3_000_000, "line 1: too large: 3,000,002 characters"),
        (b"x" * 17_000_000, "too large: 17,000,000 bytes"),
        (on_one_string("5" * 18_000), "line 1, column 3: fret 5"),
        (bytes(range(256)) * 100, "line 1, column 1: not a text"),
        (b"\0" * 1_000, "not a text"),
    ],
)
def test_too_much_is_refused(data, message):
    with pytest.raises(ReadError, match=message):
        read_phrase(data, format="fret-tab")


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (systems("-" * 50, 600), "too large: 501 bars; at most 500 allowed"),
        (systems("5-" * 500), "too large: 2,500 notes; at most 2,000 allowed"),
        (systems("7" + "b9r7" * 400), "too large: 2,400 notes; at most 2,000 allowed"),
    ],
)
def test_more_than_the_limits_allow_is_refused(data, message):
    with pytest.raises(ReadError, match=message):
        read_phrase(data, format="fret-tab", limits=Limits(bars=500, events=2_000))


@pytest.mark.parametrize(
    "source",
    [
        lambda size: on_one_string("5-" * size),
        lambda size: on_one_string("5/7/" * size),
        lambda size: b"   " + b"q " * size + b"\n" + on_one_string("-" + "5-" * size),
        lambda size: b"   " + b"1 & 2 & 3 & 4 & " * size + b"\n" + on_one_string("-" + "5-" * 8 * size),
        lambda size: b"1." * size + b"X\n" + systems("-5-"),
        lambda size: b"[a]\n\n" * 8 * size + systems("-5-", size),
        lambda size: b"a = bend\n" * size + systems("-5-"),
        lambda size: (b"a = " * 4_000 + b"\n") * size + systems("-5-"),
        lambda size: (b" A" * 400 + b"\n") * size + systems("-5-"),
    ],
)
def test_odd_but_legal_sources_take_as_much_work_as_they_are_long(source):
    assert grows_evenly(lambda size: outcome(source(size)), 20)


@pytest.mark.parametrize(
    "data",
    [
        on_one_string("5-" * 9_000),
        b"1." * 9_000 + b"X\n" + systems("-5-"),
        b" A" * 9_000 + b"\n" + systems("-5-"),
        b"a = " * 4_900 + b"\n" + systems("-5-"),
    ],
)
def test_the_longest_lines_are_read_or_refused(data):
    outcome(data)


SIGNS = "-----------0123456789|hpbr/\\sx~v=()<>[]*tg ^½¼.\t:o"
LABELS = ["e|", "B|", "G|", "D|", "A|", "E|", "", "|", "C# ", "e "]
MARKS = ["   q e e", "   1 & 2 & 3 & 4 &", "[a]   [b]", "P.M.---", "E7  A7", "title: x", "x = vibrato"]


def any_line(drawn: SpentBytes) -> str:
    kind = drawn.whole(0, 3)
    if kind < 2:
        return drawn.pick(LABELS) + "".join(drawn.picks(SIGNS, most=40))
    return drawn.pick(MARKS) if kind == 2 else drawn.text(40)


def any_lines(drawn: SpentBytes) -> str:
    return "\n".join(any_line(drawn) for _ in range(drawn.whole(0, 14)))


def check(data: bytes) -> None:
    assert 0.0 <= sniff_fret_tab(data) <= 1.0
    phrase = outcome(data)
    if phrase is not None:
        performed(phrase)
        assert all(event.place for event in phrase.events)


@examples(16)
@given(many_from_bytes(any_lines, size=350, count=5))
@example(["e|-(7)-|\nB|-----|\nG|-----|\nD|-----|"])
def test_any_lines(texts):
    for text in texts:
        check(text.encode(errors="ignore"))


def square_system(drawn: SpentBytes) -> str:
    rows = ("".join(drawn.picks(SIGNS, least=12, most=12)) for _ in range(drawn.whole(4, 8)))
    return "\n".join(f"|-{row}-|" for row in rows)


@examples(8)
@given(many_from_bytes(square_system, size=110))
def test_any_signs_on_square_systems(texts):
    for text in texts:
        check(text.encode())


TOKENS = [
    *("-", "--", "---", "5", "7", "12", "7b9", "7b9r7", "h", "p", "/", "\\", "~", "=", "x", "(5)", "<12>"),
    *("g5", "5h7", "7p5", "5/7", "t12", "*", "v", "r", "b", "pb", "tr7"),
]
HEADS = (
    "",
    "   q e q e q e q e\n",
    "   1 & 2 & 3 & 4 &\n",
    "[a]    [b]\n",
    "    1.____ 2.____\n",
    "metre: 3/4\n\n",
    "pickup: 1\n\n",
)


def mostly_sensible(drawn: SpentBytes) -> str:
    head, bar_columns, times = drawn.pick(HEADS), drawn.some(range(3, 21), most=2), drawn.whole(1, 2)
    lines = []
    for label in "eBGDAEBF"[: drawn.whole(4, 8)]:
        signs = list("".join(drawn.picks(TOKENS, most=14)).ljust(24, "-")[:24])
        for column in bar_columns:
            signs[column] = "|"
        lines.append(f"{label}|{''.join(signs)}|")
    return (head + "\n".join(lines) + "\n\n") * times


@examples(12)
@given(many_from_bytes(mostly_sensible, size=130))
def test_mostly_sensible_tabs(texts):
    for text in texts:
        check(text.encode())


@examples(100)
@given(st.binary(max_size=300))
def test_any_bytes(data):
    check(data)
