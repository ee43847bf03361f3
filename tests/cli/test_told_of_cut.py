"""What the command line says of a cut of raw footage: which films go together, and whose sound is heard."""

from __future__ import annotations

from reedpath.cli.footage import told_of_cut, told_of_harps
from reedpath.data import replace
from reedpath.film import CutKind, CutPiece, CutWhy, FilmClock, FilmCut
from reedpath.jobs import CutProposal
from reedpath.listen import HarpHeard
from reedpath.wording import load_catalogue
from support.pieces import porch
from support.routes import lesson_of, phrase_of, route_of

LESSON = lesson_of(route_of(phrase_of("C4 D4 E4 F4")))


def told(*clocks: FilmClock, heard: tuple[int, ...] = (0,)) -> list[str]:
    pieces = tuple(
        CutPiece(film, 1.0 * film, 1.0 * film + 1.0, CutKind.TALK, keep=True, why=CutWhy.TALK) for film in heard
    )
    cut = FilmCut(("front.mp4", "side.mp4", "room.wav"), (60.0, 60.0, 60.0), pieces, clocks)
    return list(told_of_cut(cut, LESSON, load_catalogue("en")))


def of_harps(*names: str) -> list[str]:
    """What is said of parts that are played on harps, by their names, "" for the lesson's."""
    pieces = tuple(
        CutPiece(
            0, 10.0 * place, 10.0 * place + 5.0, CutKind.PLAY, keep=True, why=CutWhy.ONLY, first=0, last=3,
            tempo_factor=1.0, right=1.0, part="AB"[place], tempo="full", harp=name,
        )
        for place, name in enumerate(names)
    )  # fmt: skip
    heard = tuple(HarpHeard(name, -3, 0, 0, 0.9, 0.1) for name in dict.fromkeys(names) if name)
    found = CutProposal(FilmCut(("raw.mp4",), (60.0,), pieces), ((),), ((),), heard)
    return list(told_of_harps(found, LESSON, load_catalogue("en")))


def test_on_which_other_harp_it_is_played_is_said_and_what_to_do() -> None:
    assert of_harps("", "") == []
    heard, remedy = of_harps("A", "A")
    assert heard.startswith("You play the A harp; the lesson is for the C harp.")
    assert remedy.startswith("The holes that the film shows are right, but its title and texts name the C harp:")
    assert of_harps("", "A") == [heard, "Part B, full tempo: not on the C harp.", remedy]


def test_of_a_part_of_which_a_few_notes_are_played_it_is_said_how_many() -> None:
    def said(last: int) -> list[str]:
        piece = CutPiece(
            0, 0.0, 5.0, CutKind.PLAY, keep=True, why=CutWhy.ONLY, first=0, last=last, tempo_factor=1.0, right=1.0,
            part="A", tempo="full",
        )  # fmt: skip
        return list(told_of_cut(FilmCut(("raw.mp4",), (60.0,), (piece,)), LESSON, load_catalogue("en")))

    assert said(3)[0] == "0:00 Part A, full tempo: played once, 100% right."
    assert said(1)[1] == "Part A, full tempo: only 2 notes of 4 were played."
    assert not any("only" in line for line in said(3))


def test_what_is_played_is_told_with_when_it_is_seen() -> None:
    """After ten seconds of talk that stays and ten that go, and a minute of the first part."""
    talk = CutPiece(0, 0.0, 10.0, CutKind.TALK, keep=True, why=CutWhy.TALK)
    play = CutPiece(
        0, 20.0, 80.0, CutKind.PLAY, keep=True, why=CutWhy.ONLY, first=0, last=3, tempo_factor=1.0, right=1.0,
        part="A", tempo="full",
    )  # fmt: skip
    gone = replace(talk, start_seconds=10.0, end_seconds=20.0, keep=False)
    again = replace(play, start_seconds=80.0, end_seconds=140.0, tempo="slow")
    cut = FilmCut(("raw.mp4",), (140.0,), (talk, gone, play, again))
    lines = list(told_of_cut(cut, LESSON, load_catalogue("en")))
    assert [line.split(" ")[0] for line in lines[:2]] == ["0:10", "1:10"]


def test_the_notes_that_are_not_right_in_what_stays_are_named() -> None:
    def said(*wrong: int, name: str = "en") -> list[str]:
        piece = CutPiece(
            0, 0.0, 5.0, CutKind.PLAY, keep=True, why=CutWhy.ONLY, first=0, last=14, tempo_factor=1.0, right=0.5,
            wrong=wrong, part="A B", tempo="full",
        )  # fmt: skip
        cut = FilmCut(("raw.mp4",), (60.0,), (piece, replace(piece, start_seconds=5.0, end_seconds=9.0, keep=False)))
        return [line for line in told_of_cut(cut, porch(), load_catalogue(name)) if "(" in line]

    assert said() == []
    assert said(1) == ["Not right in it: -3' (bar 1)."]
    assert said(0, 1, 5) == ["Not right in it: -2 (bar 1), -3' (bar 1) and +4 (bar 2)."]
    assert said(*range(6))[0].endswith("+4 (bar 1), -4 (bar 1) and 2 more.")
    assert said(1, name="fr") == ["À reprendre\u202f: -3' (mesure 1)."]
    assert said(99) == []  # of a list that was corrected by hand


def test_parts_that_are_played_in_one_go_are_named_one_by_one() -> None:
    lesson = lesson_of(LESSON.route, parts=[("A", 0, 1, None), ("B", 2, 3, None)])
    piece = CutPiece(
        0, 0.0, 5.0, CutKind.PLAY, keep=True, why=CutWhy.ONLY, first=0, last=3, tempo_factor=1.0, right=1.0,
        part="A B", tempo="full",
    )  # fmt: skip
    cut = FilmCut(("raw.mp4",), (60.0,), (piece,))
    english, french = (next(told_of_cut(cut, lesson, load_catalogue(name))) for name in ("en", "fr"))
    assert english == "0:00 Parts A and B, full tempo: played once, 100% right."
    assert french.startswith("0:00 Parties A et B, au tempo\u202f: une seule prise")


def test_of_films_taken_together_it_is_said_which_and_whose_sound_is_heard() -> None:
    said = told(FilmClock(1, 0, 2.0), FilmClock(2, 0, 1.0, 1.00003), heard=(2, 2))
    assert said[:3] == [
        "side.mp4 was filmed together with front.mp4.",
        "room.wav was filmed together with front.mp4; their clocks move apart by 0.1 s in an hour, "
        "which is made up for.",
        "The sound is that of room.wav.",
    ]


def test_which_film_is_raised_or_lowered_is_said() -> None:
    piece = CutPiece(0, 0.0, 5.0, CutKind.TALK, keep=True, why=CutWhy.TALK)
    cut = FilmCut(("a.mp4", "b.mp4", "c.mp4"), (60.0,) * 3, (piece,), gains_db=(0.0, 6.5, -3.0))
    assert list(told_of_cut(cut, LESSON, load_catalogue("en")))[:2] == [
        "The sound of b.mp4 is raised by 6.5 dB, so that all is as loud.",
        "The sound of c.mp4 is lowered by 3 dB, so that all is as loud.",
    ]


def test_of_one_film_no_sound_is_told_apart() -> None:
    assert not any("sound" in line or "together" in line for line in told())
