"""ABC: whatever comes in, a phrase or a ReadError comes out, after work in proportion to it."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fuzzing.seeds import ABC
from reedpath.errors import ReadError
from reedpath.phrase import Phrase, performed
from reedpath.readers import Limits, read_phrase
from support.examples import examples
from support.spent_bytes import SpentBytes, many_from_bytes
from support.work import calls_of

pytestmark = pytest.mark.slow

# calls that any source below may take: for each of its bytes, and for what its limits let in
CALLS_PER_BYTE, CALLS_WITHIN_LIMITS = 60, 250_000
# the usual ones, but for notes, so that a source over them need not be long
LIMITS = Limits(events=1_000)

SEED = ABC.decode()
HEADER = "X:1\nM:4/4\nL:1/8\nK:C\n"


def phrase_or_refusal(data: bytes, **options) -> ReadError | None:
    try:
        phrase = read_phrase(data, format="abc", **options)
    except ReadError as error:
        return error
    assert isinstance(phrase, Phrase)
    performed(phrase)
    return None


def test_the_seed_itself_is_read():
    assert phrase_or_refusal(SEED.encode()) is None


SIGNS = [
    *("|", "||", "|:", ":|", "::", "[|]", "|1", "[2", "[1-3,5", "&", "-", ">", "<<", "(3", "(9:99:99"),
    *("{", "}", "[", "]", "!", '"', "!D.C.!", "!segno!", "!coda!", "!dacoda!", "!fine!", "+", "\\", "%", "`"),
    *("C", "^c'", "__B,,", "z", "Z", "Z99", "x2", "y", "C/", "C3/2", "C//", "[CEG]", "{g}", "~", "H", "W", " "),
    *("\nP:A\n", "\nV:2\n", "\nM:3/4\n", "\nL:1/16\n", "\nK:G\n", "\nQ:1/4=100\n", "\nw:la\n", "\n\nX:2\nK:C\n"),
    *("[K:Am]", "[M:none]", "[P:B]", "[V:1]", "[r:x]", "[I:decoration +]", "%%propagate-accidentals not\n"),
]


def any_signs(drawn: SpentBytes) -> str:
    return drawn.pick(["", "%abc-2.1\n"]) + HEADER + "".join(drawn.picks(SIGNS, most=40))


@examples(30)
@given(many_from_bytes(any_signs, size=42))
@example([f"{HEADER}C\nP:A\n-", f"{HEADER}C\nP:A\n>C"])
def test_any_signs_give_a_phrase_or_a_refusal(tunes):
    for tune in tunes:
        phrase_or_refusal(tune.encode())


def changed_tune(drawn: SpentBytes) -> str:
    text = SEED
    for _ in range(drawn.whole(1, 4)):
        text = drawn.spliced(text, drawn.text(3), dropped=30)
    return text or " "


@examples(20)
@given(many_from_bytes(changed_tune, size=60))
def test_a_changed_tune_gives_a_phrase_or_a_refusal(tunes):
    for tune in tunes:
        phrase_or_refusal(tune.encode(errors="surrogatepass"))


def any_field(drawn: SpentBytes) -> str:
    letter, text = drawn.pick("XTMLQPKVUmIwr+"), drawn.text(30)
    return f"X:1\n{letter}:{text}\nK:C\nC\n{letter}:{text}\nD[{letter}:{text}]E\n"


@examples(10)
@given(many_from_bytes(any_field, size=100))
def test_any_field_gives_a_phrase_or_a_refusal(tunes):
    for tune in tunes:
        phrase_or_refusal(tune.encode(errors="replace"))


@examples(100)
@given(st.binary(min_size=1, max_size=300))
def test_random_bytes_give_a_phrase_or_a_refusal(data):
    phrase_or_refusal(data)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (HEADER + ("CDEF GABc|" * 130 + "\n"), "1,001 notes"),
        (HEADER + "(" * 4_000 + "\n", None),
        (HEADER + ("+" + "A111" * 12 + "x") * 60, "too long"),
        (HEADER + '"' * 19_000, None),
        (HEADER + "Z999|" * 100, "5,001 bars"),
        (HEADER + "Z99999|", "5,001 bars of rest"),
        (HEADER + "|:" + "C8|" * 200 + "".join(f"[{n} D8:|" for n in range(1, 60)), "bars with their repeats"),
        ("X:1\nL:1/8\nP:" + "(" * 50 + "A" + "9)" * 50 + "\nK:C\nP:A\nC8|\n", "an order of over 1,000 parts"),
        ("X:1\nM:4" + " " * 19_000 + "x\nK:C\nC", "not a metre"),
        ("X:1\nQ:A" + " " * 19_000 + "x\nK:C\nC", "not a tempo"),
        (
            "X:1\n" + "".join(f"m:a{n}=bb\n" for n in range(500)) + "K:C\n" + ("a1" * 1_100 + "\n"),
            "1,001 notes",
        ),
        ("X:1\nm:A=" + "A" * 200 + "\nK:C\n" + "A" * 1000, "characters with its macros"),
        ("X:1\nN:" + "\n".join("+:" + "x" * 150 for _ in range(5_000)) + "\nK:C\nC", None),
        (HEADER + "".join(f"V:{n}\nC|\n" for n in range(200)), "over 100 voices"),
        (HEADER + "C" * 25_000, "25,000 characters"),
        ("\n" * 100_001, "100,002 lines"),
        (HEADER + "C/509 C/503 C/499 C/491 C/487|", "no common division"),
    ],
)
def test_sources_made_to_be_slow_are_not(data, message):
    errors = []
    calls = calls_of(lambda: errors.append(phrase_or_refusal(data.encode(), limits=LIMITS)))
    assert calls <= CALLS_WITHIN_LIMITS + CALLS_PER_BYTE * len(data)
    assert errors[0] is None if message is None else message in str(errors[0])


def test_limits_are_the_callers():
    assert "at most 3 allowed" in str(phrase_or_refusal(f"{HEADER}CDEF|".encode(), limits=Limits(events=3)))
