"""What was heard in a recording, on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reedpath.arrange import route_as_data
from reedpath.cli.printing import (
    catalogue_for,
    print_data,
    print_left_out,
    print_line,
    print_table,
    print_written,
    progress_display,
)
from reedpath.data import as_plain
from reedpath.errors import Place, SettingsError
from reedpath.harp import format_move, load_notation
from reedpath.hear.lead import DOUBTFUL_UNDER
from reedpath.jobs import (
    HearingChoice,
    TranscribedRecording,
    Written,
    answer_in_words,
    answer_recording,
    answered_as_data,
    line_up_pieces,
    read_taught,
    write_answer,
    write_down_recording,
    write_phrase,
)
from reedpath.lesson import Lesson, Taught, phrases_taught, piece_heading
from reedpath.listen import LinedUp, PieceLinedUp, PlayThrough, play_throughs_as_data
from reedpath.page import format_tab
from reedpath.phrase import metre_at, timing_of
from reedpath.wording import Catalogue, key_words, tempo_words

# share of what was heard as a lead that is doubtful or was too unclear to be written, from which the record may have
# none; of six invented records without one, from four banks, three had more, and in two nothing was heard; of six
# with one, alone or over a band, none had more than a third
NO_LEAD_SHARE = 0.8


def _as_data(heard: TranscribedRecording) -> dict[str, object]:
    key = heard.transcription.key
    return {
        "phrase": as_plain(heard.phrase),
        "key_confidence": round(key.confidence, 4),
        "stray_beats": round(heard.transcription.stray_beats, 4),
        "notes": [
            {
                "start_seconds": round(note.start_seconds, 4),
                "end_seconds": round(note.end_seconds, 4),
                "midi": note.midi,
                "cents": round(note.cents, 2),
                "confidence": round(note.confidence, 4),
                "attacked": note.attacked,
                "contour_midi": [round(float(midi), 3) for midi in note.contour_midi],
            }
            | ({"doubtful": note.confidence < DOUBTFUL_UNDER} if heard.record else {})
            for note in heard.transcription.notes
        ],
        "route": None if heard.route is None else route_as_data(heard.route),
    } | _lead_as_data(heard)


def _lead_as_data(heard: TranscribedRecording) -> dict[str, object]:
    if heard.record is None:
        return {}
    where = heard.record.where
    return {
        "lead": {
            "lowest_midi": round(where.low, 1),
            "highest_midi": round(where.high, 1),
            "place": round(where.place, 2),
        }
    }


def _note_rows(heard: TranscribedRecording, from_seconds: float, catalogue: Catalogue) -> list[list[str]]:
    doubtful = any(event.doubtful for event in heard.phrase.events)
    names = ("beat", "start", "length", "note", "cents", *(("doubt",) if doubtful else ()))
    rows = [[catalogue.say(f"hear.{name}") for name in names]]
    tonic = _tonic(heard)
    for event in heard.phrase.events:
        cents = " ".join(f"{one:+.0f}" for one in event.cents)
        notes = " ".join(catalogue.note_with_octave(midi, tonic=tonic) for midi in event.midi)
        start = timing_of(heard.phrase).seconds_at(event.onset)
        if heard.record is not None and event.place.seconds is not None:
            start = event.place.seconds + from_seconds  # where she finds it in the recording
        doubt = ["?" if event.doubtful else ""] if doubtful else []
        rows.append(
            [str(event.onset), catalogue.number(start, decimals=2), str(event.duration), notes, cents, *doubt]
        )
    return rows


def _tonic(heard: TranscribedRecording) -> int | None:
    return heard.phrase.key.tonic if heard.phrase.key else None


def _compass(heard: TranscribedRecording) -> tuple[int, int]:
    """Lowest and highest MIDI number of the phrase."""
    pitches = [midi for event in heard.phrase.events for midi in event.midi]
    return min(pitches), max(pitches)


def _say_what_next(heard: TranscribedRecording, recording: Path, out: Path | None, catalogue: Catalogue) -> None:
    """What a teacher does with a lead that was taken off a record."""
    doubtful = sum(event.doubtful for event in heard.phrase.events)
    print_line()
    print_line(catalogue.say("hear.lead_doubtful", count=doubtful) if doubtful else catalogue.say("hear.lead_sure"))
    faint = sum(one.count for one in heard.phrase.left_out if one.kind == "faint-notes")
    if doubtful + faint >= NO_LEAD_SHARE * (len(heard.phrase.events) + faint):
        print_line(catalogue.say("hear.lead_none"))
    print_line(catalogue.say("hear.lead_correct", file=recording.name))
    if out is None:
        print_line(catalogue.say("hear.lead_keep"))
    else:
        print_line(catalogue.say("hear.lead_next", file=str(out)))


def show_transcription(
    recording: Path, choice: HearingChoice, *, out: Path | None, replace: bool, notation: str, language: str | None,
    json: bool,
) -> None:  # fmt: skip
    """Write a recording down; print it or keep it."""
    load_notation(notation)  # a name that means nothing is told, needed or not
    if out is not None and out.suffix.lower() != ".json":
        raise SettingsError("cli.phrase_file", where=Place(file=str(out)), name=out.with_suffix(".json").name)
    catalogue = catalogue_for(language)
    with progress_display(catalogue) as progress:
        heard = write_down_recording(recording, choice, progress=progress)
    if out is not None and heard.phrase.events:
        write_phrase(heard.phrase, out, replace=replace)
    if json:
        print_data(_as_data(heard))
        return
    if not heard.phrase.events:
        print_line(catalogue.say("hear.nothing"))
        print_left_out([one for one in heard.phrase.left_out if one.kind != "nothing-heard"], catalogue)
        return
    bpm, metre = timing_of(heard.phrase).tempos[0].bpm, metre_at(heard.phrase, heard.phrase.pickup)
    print_line(f"{tempo_words(bpm, metre, catalogue, decimals=0)}, {key_words(heard.phrase.key, catalogue)}")
    if heard.record is not None:
        low, high = (catalogue.note_with_octave(round(one), tonic=_tonic(heard)) for one in _compass(heard))
        print_line(catalogue.say("hear.lead_range", low=low, high=high))
    print_line()
    if heard.route is not None:
        print_line(format_tab(heard.route, notation=notation, catalogue=catalogue))
    else:
        print_table(_note_rows(heard, choice.from_seconds, catalogue), right=(0, 1, 2, 4))
    left_out = [one for one in heard.phrase.left_out if one.kind != "doubtful-notes"]  # the table marks them
    print_left_out(left_out, catalogue)
    if any(one.kind == "doubtful-octaves" for one in left_out):
        print_line()
        print_line(catalogue.say("hear.octaves_correct" if choice.octaves else "hear.octaves_played"))
    if out is not None:
        print_line()
        print_line(str(out))
    if heard.record is not None:
        _say_what_next(heard, recording, out, catalogue)


def _play_rows(play: PlayThrough, moves: list[str], catalogue: Catalogue) -> list[list[str]]:
    rows = [[catalogue.say(f"hear.{name}") for name in ("event", "move", "start", "end", "sure")]]
    for one in play.events:
        rows.append([
            str(one.event + 1),
            moves[one.event],
            catalogue.number(one.start_seconds, decimals=3) if one.played else "–",
            catalogue.number(one.end_seconds, decimals=3) if one.played else "–",
            catalogue.number(one.confidence, decimals=2),
        ])  # fmt: skip
    return rows


def _print_plays(lined_up: LinedUp, notation: str, catalogue: Catalogue) -> None:
    choices = [one.choice.move for one in lined_up.route.events]
    moves = ["–" if move is None else format_move(move, notation) for move in choices]
    for number, play in enumerate(lined_up.play_throughs, start=1):
        speed = round(100 * play.tempo_factor)
        print_line(catalogue.say("hear.play_through", number=number, percent=speed))
        print_table(_play_rows(play, moves, catalogue), right=(0, 2, 3, 4))
        print_line()


def show_lined_up(recording: Path, lesson: Path, *, broken_off: bool, language: str | None, json: bool) -> None:
    """Line a take up with its lesson and print every play-through, of several pieces those of each."""
    taught = read_taught(lesson)
    catalogue = catalogue_for(language)
    with progress_display(catalogue) as progress:
        found = line_up_pieces(recording, taught, broken_off=broken_off, progress=progress)
    if json:
        print_data(_lined_up_as_data(taught, found))
        return
    if not any(one.lined_up.play_throughs for one in found):
        print_line(catalogue.say("hear.not_played"))
        return
    for piece, lined_up in found:
        if not isinstance(taught, Lesson):
            print_line(piece_heading(taught, piece, catalogue))
        _print_plays(lined_up, phrases_taught(taught)[piece].notation, catalogue)


def _lined_up_as_data(taught: Taught, found: Sequence[PieceLinedUp]) -> dict[str, object]:
    if isinstance(taught, Lesson):
        return play_throughs_as_data(found[0].lined_up.play_throughs)
    return {
        "pieces": [
            {"piece": taught.pieces[piece].folder} | play_throughs_as_data(lined_up.play_throughs)
            for piece, lined_up in found
        ]
    }


def show_answer(
    take: Path, folder: Path, *, out: Path | None, everything: bool, broken_off: bool, replace: bool,
    language: str | None, json: bool,
) -> None:  # fmt: skip
    """Answer a take; print the answer, and write its files where they are wanted."""
    lesson = read_taught(folder)
    catalogue = catalogue_for(language)
    written = Written(())
    with progress_display(catalogue) as progress:
        answered = answer_recording(take, lesson, broken_off=broken_off, progress=progress)
        if out is not None:
            written = write_answer(
                answered, out, catalogue, everything=everything, replace=replace, progress=progress
            )
    if json:
        print_data(answered_as_data(answered))
        return
    print_line(answer_in_words(answered, catalogue, everything=everything).rstrip())
    if out is not None:
        print_line()
        print_written(out, written, catalogue)
