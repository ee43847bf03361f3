"""The registry: formats told by content, then by name; options and unknown names refused."""

import io
import subprocess
import sys
import zipfile

import pytest

from reedpath.errors import ReadError
from reedpath.phrase import Phrase
from reedpath.readers import Limits, Reader, find_reader, read_phrase, reader_names, reader_of
from support.written_sources import measure, midi_file, note, score, struck

ABC = b"X:1\nT:Own\nM:4/4\nL:1/4\nK:C\nCDEF|\n"
XML = score(measure(note("C4", 4)))
MIDI = midi_file([], struck(60, 0, 480))


@pytest.mark.parametrize(("data", "name"), [(ABC, "abc"), (XML, "musicxml"), (MIDI, "midi")])
def test_the_content_tells_the_format(data, name):
    assert find_reader(data).name == name
    assert read_phrase(data).events


@pytest.mark.parametrize("text", [ABC.decode(), f"%abc-2.1\n{ABC.decode()}", "%abc\n", "T:Own\nK:G\nGAB|\n"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_abc_is_told_in_every_encoding(text, encoding):
    assert find_reader(text.encode(encoding)).name == "abc"


@pytest.mark.parametrize("misleading", ["tune.mid", "tune.xml", "tune.abc", "tune", "dir.mxl/tune.txt"])
def test_the_name_does_not_overrule_the_content(misleading):
    assert find_reader(ABC, name=misleading).name == "abc"


def test_the_name_decides_where_the_content_says_nothing():
    assert find_reader(b"\x01\x02\x03", name="SONG.MID").name == "midi"
    with pytest.raises(ReadError, match="MThd"):
        read_phrase(b"\x01\x02\x03", name="song.mid")


def test_what_no_reader_knows_is_refused_with_the_formats():
    with pytest.raises(ReadError, match="none of the formats that can be read") as raised:
        find_reader(b"\x01\x02\x03\x04")
    assert all(title in raised.value.hint for title in ("MusicXML", "MIDI", "ABC"))


def test_an_archive_that_is_no_score_goes_to_the_reader_of_archives():
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as file:
        file.writestr("letter.txt", "no score")
    assert find_reader(archive.getvalue()).name == "musicxml"
    with pytest.raises(ReadError, match=r"META-INF/container\.xml"):
        read_phrase(archive.getvalue())


def test_an_empty_source_is_refused():
    for read in (read_phrase, find_reader):
        with pytest.raises(ReadError, match="empty"):
            read(b"")


def test_an_unknown_format_is_refused_with_the_names():
    with pytest.raises(ReadError, match="there is no reader named 'pdf'") as raised:
        read_phrase(ABC, format="pdf")
    assert "abc" in raised.value.hint


def test_an_option_of_another_reader_is_refused():
    with pytest.raises(ReadError, match="Standard MIDI has no option 'tune'") as raised:
        read_phrase(MIDI, options={"tune": 1})
    assert "channel" in raised.value.hint


def test_a_source_over_the_limit_is_refused_before_any_reader_sees_it():
    with pytest.raises(ReadError, match="too large: 32 bytes; at most 10 allowed"):
        read_phrase(ABC, limits=Limits(source_bytes=10))


def test_each_reader_says_what_it_is():
    for name in reader_names():
        reader = reader_of(name)
        assert isinstance(reader, Reader)
        assert reader.name == name
        assert reader.title
        assert all(suffix.startswith(".") and suffix == suffix.lower() for suffix in reader.suffixes)
        assert all(reader.options.values())


def test_no_sniffer_takes_another_readers_source():
    for data, name in ((ABC, "abc"), (XML, "musicxml"), (MIDI, "midi")):
        others = [reader_of(each) for each in reader_names() if each != name]
        assert all(reader.sniff(data) < reader_of(name).sniff(data) - 0.2 for reader in others)


def test_readers_and_sniffers_import_nothing_heavy():
    code = (
        "import sys\nfrom reedpath.readers import find_reader\n"
        f"find_reader({ABC!r}); find_reader({MIDI!r}); find_reader({XML!r})\n"
        "print([name for name in ('music21', 'symusic', 'numpy') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_phrase_without_notes_is_a_result():
    assert read_phrase(b"X:1\nT:Nothing yet\nK:C\n") == Phrase((), title="Nothing yet")
