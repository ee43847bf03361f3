"""What other programs make of our pages.

Sources: verovio's time map (an engraver's own count of beats) against the route; pypdf as the independent
reader of the hand-out; tunes of Ryan's Mammoth Collection from music21's corpus, read from the installed
package.
"""

from __future__ import annotations

from fractions import Fraction as F
from io import BytesIO

import pytest
import verovio
from music21 import corpus
from pypdf import PdfReader

from reedpath.arrange import Route
from reedpath.lesson import make_lesson, steps_of
from reedpath.page import encode_handout, encode_musicxml
from reedpath.page.score.sheet import sheet_of
from reedpath.phrase import Metre
from reedpath.readers import read_phrase
from reedpath.wording import load_catalogue
from support.routes import fitting_route, phrase_of, route_of

pytestmark = pytest.mark.outside

# beats; the engraver counts in floating point
COUNTED = 1e-4


def tune(name: str) -> Route:
    path = next(path for path in corpus.getPaths() if path.name == name)
    found = fitting_route(read_phrase(path.read_bytes(), format="abc"))
    assert found is not None
    return found


def counted_by_the_engraver(musicxml: bytes) -> dict[str, tuple[float, float]]:
    """Onset and end of each note by its id, beats, in verovio's time map."""
    engraver = verovio.toolkit()
    engraver.setInputFrom("musicxml")
    assert engraver.loadData(musicxml.decode())
    starts, times = {}, {}
    for moment in engraver.renderToTimemap({"includeMeasures": False, "includeRests": False}):
        starts |= dict.fromkeys(moment.get("on", ()), float(moment["qstamp"]))
        times |= {note: (starts[note], float(moment["qstamp"])) for note in moment.get("off", ())}
    return times


def assert_counted_alike(route: Route) -> None:
    """Every written note begins and ends where the engraver's time map has it."""
    times = counted_by_the_engraver(encode_musicxml(route))
    for note in sheet_of(route).notes:
        pieces = [times[name] for name in times if name == f"e{note.index}" or name.startswith(f"e{note.index}t")]
        assert min(start for start, _ in pieces) == pytest.approx(float(note.onset), abs=COUNTED)
        assert max(end for _, end in pieces) == pytest.approx(float(note.end), abs=COUNTED)


@pytest.mark.parametrize(
    "name", ["EssenceOfSugarCane.abc", "LookBeforeYouStrathspey.abc", "SirGeorgeClargsStrathspey.abc"]
)
def test_the_engraver_counts_tunes_as_we_do(name: str) -> None:
    assert_counted_alike(tune(name))


def test_the_engraver_counts_tuplets_ties_and_metres_as_we_do() -> None:
    phrase = phrase_of(
        "C5:1/3 D5:1/3 E5:1/3 F5:2/3 G5:2/3 A5:2/3 r:1 C5:1/5 D5:4/5 E5:1/7 F5:6/7 G5:3/2 A5:3/2 G5:1/6 F5:5/6 E5:5",
        metres=(Metre(F(0), 4, 4), Metre(F(8), 6, 8), Metre(F(11), 3, 4)),
    )
    assert_counted_alike(route_of(phrase))


def test_a_reader_of_pdf_finds_title_steps_and_cautions() -> None:
    made = make_lesson(tune("EssenceOfSugarCane.abc"), title="Essence of Sugar Cane")
    pdf = PdfReader(BytesIO(encode_handout(made)))
    text = " ".join(" ".join(page.extract_text() for page in pdf.pages).split()).replace("- ", "-")
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Essence of Sugar Cane"
    assert text.startswith("Essence of Sugar Cane")
    english = load_catalogue("en")
    moves = [step.text for block in steps_of(made, english) for step in block.steps if step.kind == "move"]
    assert all(move.replace("- ", "-") in text for move in moves)
    assert english.say("caution.dizzy") in text
