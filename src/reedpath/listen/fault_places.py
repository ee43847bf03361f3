"""Where in a recording one hears what is worth practising."""

from __future__ import annotations

from msgspec import Struct

from reedpath.listen.advice import OF_THE_WHOLE
from reedpath.listen.answer import Answer, PlayAnswer, Practise
from reedpath.listen.answer_text import practise_words
from reedpath.wording import Catalogue

# seconds that are heard before and after a place, so that it comes out of the note before and goes on into the next:
# about a note each, common practice
AROUND_SECONDS = 0.6
# times that one thing is heard; the rest are alike
MOST_TIMES = 6


class PlaceToHear(Struct, frozen=True):
    """One thing worth practising, in words, and when it is heard: (from, until) in seconds of the recording."""

    words: str
    seconds: tuple[tuple[float, float], ...]


def _heard(thing: Practise, play: PlayAnswer) -> tuple[tuple[float, float], ...]:
    placed = [one for one in play.events if one.event in thing.events]
    return tuple(
        (round(max(0.0, one.start_seconds - AROUND_SECONDS), 2), round(one.end_seconds + AROUND_SECONDS, 2))
        for one in placed[:MOST_TIMES]
    )


def _of_piece(what: str, piece: str, words: Catalogue) -> str:
    return words.say("listen.pieces.place", piece=piece, line=what) if piece else what


def places_to_hear(answer: Answer, words: Catalogue, *, piece: str = "") -> tuple[PlaceToHear, ...]:
    """What is worth practising in the best play-through, each with the places where it is heard.

    What is of the whole (a tempo that does not hold, swing) has no place.

    piece : what the piece is called that was played, of a take of several.
    """
    play = answer.best_play
    if play is None:
        return ()
    places = [
        PlaceToHear(_of_piece(practise_words(thing, play, answer.route, words), piece, words), _heard(thing, play))
        for thing in play.practise
        if thing.kind not in OF_THE_WHOLE
    ]
    return tuple(place for place in places if place.seconds)
