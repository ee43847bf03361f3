"""MusicXML: whatever comes in, a phrase or a ReadError comes out, after work in proportion to it."""

import copy
import io
import tracemalloc
import xml.etree.ElementTree as ElementTree
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reedpath.errors import ReadError
from reedpath.errors.english import in_english
from reedpath.phrase import Phrase, performed
from reedpath.readers import Limits, read_phrase
from support.examples import examples
from support.spent_bytes import SpentBytes, many_from_bytes
from support.work import calls_of
from support.written_sources import FIRST, barline, measure, note, score

pytestmark = pytest.mark.slow

# calls that a source over its limits may take: for each of its bytes, and for what its limits let in
CALLS_PER_BYTE, CALLS_WITHIN_LIMITS = 6, 50_000
CONTAINER = (
    "<container><rootfiles><rootfile full-path='score.xml' "
    "media-type='application/vnd.recordare.musicxml+xml'/></rootfiles></container>"
)
NUMBERS = " ".join(map(str, range(20_000)))


def packed(files: dict[str, bytes | str], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w", method) as file:
        for name, content in files.items():
            file.writestr(name, content)
    return archive.getvalue()


def refusal(data: bytes, **options) -> ReadError:
    with pytest.raises(ReadError) as raised:
        read_phrase(data, format="musicxml", **options)
    return raised.value


SCORE = score(measure(note("C4", 16)))


def test_a_compressed_score_is_read():
    assert read_phrase(packed({"META-INF/container.xml": CONTAINER, "score.xml": SCORE})).events[0].midi == (60,)


def test_the_container_may_name_other_files_beside_the_score():
    container = (
        "<container><rootfiles><rootfile full-path='score.pdf' media-type='application/pdf'/>"
        "<rootfile full-path='in/score.xml'/></rootfiles></container>"
    )
    files = {"META-INF/container.xml": container, "in/score.xml": SCORE, "score.pdf": b"%PDF"}
    assert read_phrase(packed(files)).events


@pytest.mark.parametrize(
    ("files", "message"),
    [
        ({"score.xml": SCORE}, "holds no file 'META-INF/container.xml'"),
        ({"META-INF/container.xml": CONTAINER}, "holds no file 'score.xml'"),
        ({"META-INF/container.xml": "<container/>"}, "names no MusicXML score"),
        ({"META-INF/container.xml": "<container"}, "not well-formed"),
        ({"META-INF/container.xml": CONTAINER.replace("score.xml", "../../etc/passwd")}, "points outside itself"),
        ({"META-INF/container.xml": CONTAINER.replace("score.xml", "/etc/passwd")}, "points outside itself"),
        ({"META-INF/container.xml": CONTAINER, "score.xml": packed({"a": b"b"})}, "holds another archive"),
        ({"META-INF/container.xml": CONTAINER, "score.xml": b" " * 20_000_000}, "over the 200 times"),
        ({"META-INF/container.xml": f"<!--{NUMBERS}-->{CONTAINER}", "score.xml": SCORE}, "over 65,536 bytes"),
        ({f"{number}.xml": b"" for number in range(1001)}, "1,001 files in the archive; at most 1,000"),
    ],
    ids=["no container", "no score", "names nothing", "broken", "outside", "root", "nested", "death", "fat", "many"],
)
def test_archives_that_are_no_scores_are_refused(files, message):
    assert message in str(refusal(packed(files)))


def test_an_encrypted_archive_is_refused():
    data = bytearray(packed({"META-INF/container.xml": CONTAINER, "score.xml": SCORE}))
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = -1
        while (at := data.find(mark, at + 1)) >= 0:
            data[at + flags] |= 1
    assert "encrypted" in str(refusal(bytes(data)))


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_an_archive_packed_otherwise_is_refused(method):
    files = {"META-INF/container.xml": CONTAINER, "score.xml": SCORE}
    assert "method that MusicXML does not use" in str(refusal(packed(files, method)))


@pytest.mark.parametrize("cut", [10, 60, 200, -1, -30])
def test_a_cut_archive_is_refused(cut):
    refusal(packed({"META-INF/container.xml": CONTAINER, "score.xml": SCORE * 3})[:cut])


def test_a_lying_size_is_not_believed():
    files = {"META-INF/container.xml": CONTAINER, "score.xml": b" " * 5_000_000}
    data = bytearray(packed(files))
    at = data.rfind(b"PK\x01\x02")
    data[at + 24 : at + 28] = (1000).to_bytes(4, "little")
    refusal(bytes(data))


BOMB = "<!DOCTYPE score-partwise [" + "".join(
    f'<!ENTITY a{n} "{f"&a{n - 1};" * 10 if n else "ha"}">' for n in range(10)
)


@pytest.mark.parametrize(
    ("document", "message"),
    [
        (f"{BOMB}]><score-partwise>&a9;</score-partwise>", "declares an entity"),
        ('<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><score-partwise>&x;</score-partwise>', "declares"),
        ('<!DOCTYPE a [<!ENTITY % x SYSTEM "http://a.invalid/x.dtd">%x;]><score-partwise/>', "declares"),
        ("<score-partwise>" + "<a>" * 100_000, "65 levels; at most 64"),
        ("<score-partwise>&nothing;</score-partwise>", "not well-formed"),
        ("<score-partwise", "not well-formed"),
        ("<score-partwise></score-timewise>", "mismatched tag"),
        ("no angle bracket", "not well-formed"),
        ('<?xml version="1.0" encoding="no-such"?><score-partwise/>', "unknown encoding"),
        ('<?xml version="1.0" encoding="utf-16"?><score-partwise/>', "encoding specified in XML"),
        ("<score-partwise>\x00</score-partwise>", "not well-formed"),
    ],
)
def test_documents_that_are_not_safe_or_not_well_formed_are_refused_by_their_line(document, message):
    error = refusal(document.encode())
    assert message in error.message
    assert in_english(error.where).startswith("line 1")


def test_the_usual_document_type_is_let_in_and_not_fetched():
    kind = '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0//EN" "http://a.invalid/partwise.dtd">'
    document = SCORE.replace(b'<?xml version="1.0"?>', b'<?xml version="1.0"?>' + kind.encode())
    assert read_phrase(document).events


@pytest.mark.parametrize(
    ("element", "count", "message"),
    [
        (note("C4", 1), 750, "501 notes; at most 500"),
        (note("r", 1), 1_700, "501 rests and signs; at most 500"),
        ("<direction><sound tempo='100'/></direction>", 1_700, "501 rests and signs; at most 500"),
        ("<a/>", 12_001, "12,001 elements; at most 12,000"),
        (f"{note('C4', 100_000_000)}", 1, "too long: 25,000,000 beats"),
    ],
    ids=["notes", "rests", "directions", "elements", "long"],
)
def test_sources_over_the_limits_are_refused(element, count, message):
    document = score(measure(element * count))
    refused = []
    limits = Limits(events=500, elements=12_000)
    calls = calls_of(lambda: refused.append(refusal(document, limits=limits)))
    assert message in str(refused[0])
    assert calls <= CALLS_WITHIN_LIMITS + CALLS_PER_BYTE * len(document)


def test_the_usual_limits_are_those_that_are_documented():
    usual = Limits()
    assert (usual.events, usual.bars, usual.elements, usual.nesting) == (20_000, 5_000, 1_000_000, 64)


def test_too_many_bars_are_refused():
    assert "5,001 bars" in str(refusal(score(*[measure(number=n) for n in range(5_010)])))


def test_memory_stays_bounded_on_a_wide_document():
    document = b"<score-partwise>" + b"<a/>" * 15_000 + b"</score-partwise>"
    tracemalloc.start()
    read_phrase(document, format="musicxml")
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 6_000_000


SEED = ElementTree.fromstring(
    score(
        measure(
            barline(repeat="forward", location="left"),
            note("A4", 0, inside="<grace/>", notations='<slide type="start"/>'),
            note("C5", 4, notations='<slide type="stop"/><technical><string>3</string><fret>5</fret>'
                 "<bend><bend-alter>2</bend-alter></bend></technical>"),
            note("E5", 4, chord=True),
            note("D5", 8, tie="start", notations='<ornaments><wavy-line type="start"/></ornaments>'),
            "<backup><duration>12</duration></backup><forward><duration>4</duration></forward>",
            note("C3", 8, voice="2", tail="<staff>2</staff>"),
            "<direction><direction-type><rehearsal>A</rehearsal></direction-type><sound tempo='90'>"
            "<swing><first>2</first><second>1</second></swing></sound></direction>",
        ),
        measure(
            barline(ending="1", kind="start", location="left"), note("D5", 16, tie="stop"),
            barline(ending="1", kind="stop", repeat="backward"), number=2,
        ),
        measure('<note><rest measure="yes"/></note><sound dacapo="yes"/>', number=3),
        first=f"<key><fifths>1</fifths><mode>minor</mode></key>{FIRST}"
        "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>",
    )
)  # fmt: skip
VALUES = ("0", "-1", "1", "3", "7", "1000000", "99999999", "0.5", "-0.5", "1e3", "nan", "", "x", "٣", "1/2", "4+3",
          "C", "9" * 40, "start", "stop", "yes", "backward")  # fmt: skip
TAGS = (
    *("note", "rest", "chord", "grace", "cue", "unpitched", "pitch", "duration", "voice", "tie"),
    *("backup", "forward", "attributes", "time", "key", "transpose"),
    *("barline", "repeat", "ending", "direction", "sound"),
)
KINDS = ("text", "drop", "double", "add", "rename", "attribute")


def changed_elements(drawn: SpentBytes) -> bytes:
    """The seed with some of its elements changed, dropped, doubled, renamed or added."""
    root = copy.deepcopy(SEED)
    for _ in range(drawn.whole(1, 8)):
        kind, index, value, tag = drawn.pick(KINDS), drawn.whole(0, 10_000), drawn.pick(VALUES), drawn.pick(TAGS)
        parents = [(parent, child) for parent in root.iter() for child in parent]
        if not parents:
            break
        parent, child = parents[index % len(parents)]
        if kind == "text":
            child.text = value
        elif kind == "drop":
            parent.remove(child)
        elif kind == "double":
            parent.append(copy.deepcopy(child))
        elif kind == "add":
            ElementTree.SubElement(child, tag, type=value, number=value).text = value
        elif kind == "rename":
            child.tag = tag
        else:
            child.attrib = dict.fromkeys((*child.attrib, "direction", "type", "times"), value)
    return ElementTree.tostring(root)


def phrase_or_refusal(data: bytes) -> None:
    try:
        phrase = read_phrase(data, format="musicxml")
    except ReadError:
        return
    assert isinstance(phrase, Phrase)
    performed(phrase)


@examples(15)
@given(many_from_bytes(changed_elements, size=60))
def test_changed_elements_give_a_phrase_or_a_refusal(documents):
    for document in documents:
        phrase_or_refusal(document)


SEED_BYTES = ElementTree.tostring(SEED)


def changed_bytes(drawn: SpentBytes) -> bytes:
    data = SEED_BYTES
    for _ in range(drawn.whole(1, 4)):
        data = drawn.spliced(data, drawn.raw(3), dropped=40)
    return data or b"<"


@examples(15)
@given(many_from_bytes(changed_bytes, size=40))
def test_changed_bytes_give_a_phrase_or_a_refusal(documents):
    for document in documents:
        phrase_or_refusal(document)


ARCHIVE = packed({"META-INF/container.xml": CONTAINER, "score.xml": SEED_BYTES})


def changed_archive(drawn: SpentBytes) -> bytes:
    return drawn.spliced(ARCHIVE, drawn.raw(8), dropped=20)


@examples(15)
@given(many_from_bytes(changed_archive, size=16))
def test_changed_archives_give_a_phrase_or_a_refusal(archives):
    for archive in archives:
        phrase_or_refusal(archive)


@examples(100)
@given(st.binary(min_size=1, max_size=200), st.sampled_from((b"", b"<score-partwise>", b"PK\x03\x04", b"\xff\xfe")))
def test_random_bytes_give_a_refusal(data, start):
    phrase_or_refusal(start + data)
