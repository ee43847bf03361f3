"""Plans of lessons: what a TOML file says of pieces, and one sentence for what it cannot say."""

from __future__ import annotations

import pytest
from click.core import Option
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import fields

from reedpath.cli.commands import app
from reedpath.errors import ReedpathError, SettingsError
from reedpath.jobs import PlannedPiece, plan_from
from reedpath.lesson import VariantKind
from reedpath.wording import error_hint, error_words, load_catalogue
from support.examples import examples

PIECE = '[[piece]]\nsource = "one.txt"\n'


def refused(text):
    with pytest.raises(SettingsError) as caught:
        plan_from(text, file="plan.toml")
    return caught.value


def test_a_plan_says_of_each_piece_what_differs():
    plan = plan_from(
        'title = "An evening"\nnote = ["Listen.", "fr:On écoute."]\nin-a-row = false\n\n'
        + PIECE
        + 'harp = "A"\ntempo = 96\npin = "3=3"\nlevel = ["easy", "strong"]\nany-key = true\n',
        file="plan.toml",
    )
    assert (plan.title, plan.note, plan.in_a_row) == ("An evening", ("Listen.", "fr:On écoute."), False)
    (piece,) = plan.piece
    assert (piece.source, piece.harp, piece.tempo, piece.pin) == ("one.txt", "A", 96, "3=3")
    assert (piece.level, piece.any_key, bool(piece.bars)) == (("easy", "strong"), True, False)


def test_the_keys_of_a_piece_are_the_options_of_the_command():
    options = {name for one in app.commands["lesson"].params if isinstance(one, Option) for name in one.opts}
    of_the_whole = {"author", "date", "languages", "notation", "paper", "out", "replace", "json", "help"}
    keys = {one.encode_name for one in fields(PlannedPiece)}
    assert keys - {"source", "filler-of", "variant-of"} == {name.lstrip("-") for name in options} - of_the_whole


@pytest.mark.parametrize("named", ["1", '"one.txt"', '"First"'])
def test_a_filler_names_its_piece_by_number_source_or_title(named):
    first = PIECE + 'title = "First"\n'
    plan = plan_from(first + PIECE.replace("one", "two") + f"filler-of = {named}\n", file="plan.toml")
    assert plan.variants == (None, (0, VariantKind.FILLER))
    plan = plan_from(first + PIECE.replace("one", "two") + f"variant-of = {named}\n", file="plan.toml")
    assert plan.variants == (None, (0, VariantKind.LEVEL))


@pytest.mark.parametrize(
    ("text", "says", "hint", "french"),
    [
        ("", "plan.toml: this plan lists no piece", "[[piece]]", "ne contient aucun morceau"),
        ('[piece]\nsource = "a"\n', "this plan lists no piece", "[[piece]]", "ne contient aucun morceau"),
        ('piece = "one.txt"\n', "this plan lists no piece", "[[piece]]", "ne contient aucun morceau"),
        (
            PIECE + "tempoo = 9\n",
            "plan.toml, '[[piece]] 1, tempoo': a plan has no key",
            "there is tempo",
            "« tempoo »",
        ),
        ('titel = "x"\n' + PIECE, "plan.toml, 'titel': a plan has no key", "there is title", "« titel »"),
        (PIECE + PIECE + 'harps = "A"\n', "'[[piece]] 2, harps'", "harp", "il y a"),
        (PIECE + 'paper = "a4"\n', "said of the whole lesson, not of a piece", "above the first", "toute la leçon"),
        ('harp = "A"\n' + PIECE, "said of a piece, not of the whole lesson", "--harp", "d’un morceau"),
        (PIECE + 'tempo = "fast"\n', """'[[piece]] 1, tempo': "fast" is not a number""", "", "n’est pas un nombre"),
        ("[[piece]]\n", "'[[piece]] 1, source': this is missing", "", "ceci manque"),
        (PIECE + "filler-of = 1\n", "piece 1 belongs to '1', but no piece before", "earlier piece", "« 1 »"),
        (PIECE + PIECE + "filler-of = 3\n", "piece 2 belongs to '3'", "earlier piece", "« 3 »"),
        (PIECE + PIECE + 'variant-of = "x"\n', "piece 2 belongs to 'x'", "earlier piece", "« x »"),
        (
            PIECE + PIECE + "filler-of = 1\n" + PIECE + "filler-of = 2\n",
            "piece 3 belongs to '2'",
            "not itself a variant",
            "« 2 »",
        ),
        (PIECE + PIECE + "filler-of = 1\nvariant-of = 1\n", "both a filler and a variant", "not both", "à la fois"),
        ("in-a-row = [1, 2]\n" + PIECE, "plan.toml, 'in-a-row': there is no piece 2", "from 1 to 1", "de 1 à 1"),
        ("nonsense\n", "plan.toml: not TOML", "", ""),
    ],
)
def test_what_a_plan_cannot_say_is_told_in_one_sentence_with_its_place(text, says, hint, french):
    error = refused(text)
    english = load_catalogue("en")
    assert says in error_words(error, english)
    assert hint in (error_hint(error, english) or "")
    words = load_catalogue("fr")
    told = error_words(error, words) + (error_hint(error, words) or "")
    assert french in told.replace("\u202f", " ").replace("\u00a0", " ")


NAMES = st.sampled_from(
    ["piece", "source", "title", "level", "filler-of", "variant-of", "note", "pin", "x", "in-a-row"]
)
VALUES = st.sampled_from(['"one.txt"', "1", "0", "-1", "true", "[]", '["a"]', "{}", "1.5", "nan", "1979-05-27", '""'])
LINES = st.one_of(
    st.sampled_from(["[[piece]]", "[piece]", "[[piece.source]]", "[x]", ""]),
    st.builds("{} = {}".format, NAMES, VALUES),
)


@given(st.lists(LINES, max_size=12))
@examples(300)
def test_whatever_a_plan_holds_it_is_read_or_refused(lines):
    refusal, plan = None, None
    try:
        plan = plan_from("\n".join(lines), file="plan.toml")
    except ReedpathError as error:
        refusal = error
    assert (plan and len(plan.variants) == len(plan.piece) > 0) or error_words(refusal, load_catalogue("en"))
