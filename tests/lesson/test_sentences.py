"""What the teacher says of each way from one event to the next, word for word."""

from __future__ import annotations

from fractions import Fraction

import pytest
from msgspec.structs import replace

from reedpath.arrange import Change, ChangeKind, Choice, Route, RouteEvent
from reedpath.harp import Alteration, Breath, Move
from reedpath.lesson import Step, StepKind
from reedpath.lesson.event_steps import SpokenRoute, event_steps
from reedpath.lesson.repeats import tokens_of
from reedpath.lesson.sentences import Speaker
from reedpath.phrase import Metre, Ornaments
from reedpath.pitch import Key
from reedpath.wording import load_catalogue
from support.built_routes import built_route


def told(route: Route, language: str = "en") -> list[Step]:
    speaker = Speaker(load_catalogue(language))
    spoken = SpokenRoute(route, tokens_of(route.events), speaker)
    return list(event_steps(spoken, 0, len(route.events) - 1))


def texts(route: Route | str, language: str = "en") -> list[str]:
    return [step.text for step in told(built_route(route) if isinstance(route, str) else route, language)]


def moves(text: str, language: str = "en") -> list[str]:
    """What is said of each move, without what several holes give and what an overblow asks."""
    return [step.text for step in told(built_route(text), language) if step.kind is StepKind.MOVE]


def changed(route: Route, index: int, event: RouteEvent) -> Route:
    events = (*route.events[:index], event, *route.events[index + 1 :])
    return replace(route, events=events, phrase=replace(route.phrase, events=tuple(one.event for one in events)))


def with_choice(text: str, index: int, **fields: object) -> Route:
    route = built_route(text)
    one = route.events[index]
    return changed(route, index, replace(one, choice=replace(one.choice, **fields)))


WAYS = [
    ("3d'", "Start on 3 draw, bend it a half step.", "On part du 3 aspiré, altéré d’un demi-ton."),
    ("3d 3d''", "Bend it a whole step.", "On altère d’un ton."),
    ("3d' 3d", "Let it go.", "On relâche."),
    (
        "3d' 3d'''",
        "Bend it further, to the step-and-a-half bend.",
        "On descend jusqu’à l’altération d’un ton et demi.",
    ),
    ("3d'' 3d'", "Let it come up to the half-step bend.", "On remonte jusqu’à l’altération d’un demi-ton."),
    ("4d 4b", "Same hole, blow.", "Même trou, soufflé."),
    ("4b 4d'", "Same hole, draw, bend it a half step.", "Même trou, aspiré, altéré d’un demi-ton."),
    ("4d 5d", "Up one hole, 5 draw.", "On monte d’un trou, sur le 5 aspiré."),
    ("4d 3d", "Down one hole, 3 draw.", "On descend d’un trou, sur le 3 aspiré."),
    ("4d 5b", "Up one hole, blow 5.", "On monte d’un trou et on souffle dans le 5."),
    ("4b 3d", "Down one hole, draw 3.", "On descend d’un trou et on aspire dans le 3."),
    ("2d 4d", "Up two holes, 4 draw.", "On monte de deux trous, sur le 4 aspiré."),
    ("4d 2d", "Down two holes, 2 draw.", "On descend de deux trous, sur le 2 aspiré."),
    (
        "2d 4b",
        "Up two holes, turning the breath, 4 blow.",
        "On monte de deux trous en inversant le souffle, sur le 4 soufflé.",
    ),
    ("2d 6d", "Jump up to 6 draw.", "On saute vers le haut, jusqu’au 6 aspiré."),
    ("6d 2d", "Jump down to 2 draw.", "On saute vers le bas, jusqu’au 2 aspiré."),
    (
        "2d 6b",
        "Jump up and turn the breath, 6 blow.",
        "On saute vers le haut en inversant le souffle, jusqu’au 6 soufflé.",
    ),
    ("6b 6bo", "Now make it overblow.", "Maintenant en overblow."),
    ("6bo 6b", "Drop back to 6 blow.", "On revient au 6 soufflé."),
    ("6d 6bo", "Same hole, overblow.", "Même trou, en overblow."),
    ("6b 7do", "Up one hole, overdraw 7.", "On monte d’un trou, sur le 7 overdraw."),
    ("2d (1 2 3)d", "1, 2 and 3 together, draw.", "Les trous 1, 2 et 3 ensemble, aspirés."),
    (
        "2d [1 4]b",
        "Tongue on 2 and 3, blow 1 and 4.",
        "La langue sur le 2 et le 3, on souffle dans les trous 1 et 4.",
    ),
    ("[1 4]b [1 4]d", "Same holes, draw.", "Mêmes trous, aspirés."),
    ("(4 5)d 4d", "Just 4 draw.", "Le 4 aspiré tout seul."),
    ("(1 2)d 4d", "Up two holes, 4 draw.", "On monte de deux trous, sur le 4 aspiré."),
    (
        "(4 5)d 1b",
        "Jump down and turn the breath, 1 blow.",
        "On saute vers le bas en inversant le souffle, jusqu’au 1 soufflé.",
    ),
    (
        "6b (1 2 3)d",
        "Jump down: 1, 2 and 3 together, draw.",
        "On saute vers le bas\u202f: les trous 1, 2 et 3 ensemble, aspirés.",
    ),
    (
        "2d [5 8]d",
        "Jump up: tongue on 6 and 7, draw 5 and 8.",
        "On saute vers le haut\u202f: la langue sur le 6 et le 7, on aspire dans les trous 5 et 8.",
    ),
    (
        "4b 4d^1",
        "Same hole, draw, start it bent a half step, then let it go.",
        "Même trou, aspiré, attaqué altéré d’un demi-ton puis relâché.",
    ),
    (
        "4b 3d'^1",
        "Down one hole, draw 3, start it bent a whole step, then let it come up to the half-step bend.",
        "On descend d’un trou et on aspire dans le 3, attaqué altéré d’un ton puis remonté jusqu’à l’altération "
        "d’un demi-ton.",
    ),
    (
        "4b 4d_1",
        "Same hole, draw, and bend it down a half step before it ends.",
        "Même trou, aspiré, et on le fait descendre d’un demi-ton à la fin.",
    ),
    ("4b 4d~", "Same hole, draw, with vibrato.", "Même trou, aspiré, avec du vibrato."),
    ("4b 4d!", "Same hole, draw, with an accent.", "Même trou, aspiré, bien accentué."),
    ("4b 4dg", "A quick 4 draw.", "Juste un petit 4 aspiré."),
    ("4d_1 4d", "Let it go.", "On relâche."),
]


@pytest.mark.parametrize(("text", "english", "french"), WAYS, ids=[way[0] for way in WAYS])
def test_each_way_is_said(text: str, english: str, french: str) -> None:
    assert moves(text)[-1] == english
    assert moves(text, "fr")[-1] == french


def test_repeated_notes_are_counted() -> None:
    assert texts("4d 4d 4d") == ["Start on 4 draw, three times."]
    assert texts("4d 4d", "fr") == ["On part du 4 aspiré, deux fois de suite."]


def test_a_repeated_note_that_is_held_is_said_apart() -> None:
    assert texts("4d 4d 4d:2") == ["Start on 4 draw, twice.", "4 draw again.", "Hold it for two beats."]


def test_a_figure_is_said_once_and_then_again() -> None:
    steps = told(built_route("2d 3d 4b 2d 3d 4b 2d 3d 4b 5d"))
    assert [step.text for step in steps][3:] == ["Those three notes twice more.", "Up one hole, draw 5."]
    assert (steps[3].kind, steps[3].first, steps[3].last) == (StepKind.FIGURE, 3, 8)
    assert texts("2d 3d 2d 3d", "fr")[2:] == ["Encore ces deux notes."]


def test_rests_and_lengths_are_counted_in_beats_of_the_metre() -> None:
    assert texts("4b r:1 4d:2") == [
        "Start on 4 blow.",
        "Rest for one beat.",
        "Same hole, draw.",
        "Hold it for two beats.",
    ]
    compound = built_route("4b r:3/2 4d:3", metres=[Metre(Fraction(0), 6, 8)])
    assert texts(compound) == ["Start on 4 blow.", "Rest for one beat.", "Same hole, draw.", "Hold it for two beats."]
    assert "Rest for a beat and a half." in texts("4b r:3/2 4d")
    assert "A short rest." in texts("4b r:1/2 4d")
    assert len(texts("4b r:1/8 4d")) == 2


def test_after_a_rest_the_hole_is_named_anew() -> None:
    assert texts("4d' r:1 4d")[-1] == "4 draw again."
    assert texts("4d' 4d")[-1] == "Let it go."


@pytest.mark.parametrize(
    ("text", "air_before", "air", "said"),
    [
        ("4b 4d", 2.0, 1.0, "Breathe out here."),
        ("4d 4b", 1.0, 2.0, "Breathe in here."),
        ("4b 4d", 1.0, 1.5, "Breathe here."),
    ],
)
def test_a_breath_says_which_way_as_far_as_the_air_tells(text: str, air_before: float, air: float, said: str) -> None:
    route = built_route(text)
    route = changed(route, 0, replace(route.events[0], air_litres=air_before))
    route = changed(route, 1, replace(route.events[1], air_litres=air, breathe_before=True))
    assert texts(route)[1] == said


def test_a_breath_in_a_rest_is_one_sentence() -> None:
    route = built_route("4b r:2 4d")
    route = changed(route, 1, replace(route.events[1], breathe_before=True))
    steps = told(route)
    assert steps[1] == Step("Rest for two beats, and breathe.", StepKind.BREATH, 1, 1)


CHANGES = [
    (Change(ChangeKind.OCTAVE, (86,), (74,), 0.3), "The original has this an octave higher; play it down here."),
    (Change(ChangeKind.OCTAVE, (50,), (74,), 0.3), "The original has this two octaves lower; play it up here."),
    (Change(ChangeKind.HARMONY, (75,), (74,), 0.5), "The original has E♭ here; play D instead."),
    (Change(ChangeKind.MISSING, (70, 74), (74,), 0.5), "The original chord has B♭ as well; leave it out."),
    (
        Change(ChangeKind.MISSING, (67, 70, 74), (74,), 0.5),
        "The original chord has G and B♭ as well; leave them out.",
    ),
]


@pytest.mark.parametrize(("change", "said"), CHANGES)
def test_changes_against_the_source_are_said_plainly(change: Change, said: str) -> None:
    assert texts(with_choice("4b 4d", 1, changes=(change,)))[-1] == said


def test_notes_of_the_source_are_spelt_in_its_key() -> None:
    change = Change(ChangeKind.HARMONY, (68,), (67,), 0.5)
    route = built_route("4b 2d", music_key=Key(9, "minor"))
    one = route.events[1]
    route = changed(route, 1, replace(one, choice=replace(one.choice, changes=(change,))))
    assert texts(route)[-1] == "The original has G♯ here; play G instead."
    assert texts(route, "fr")[-1] == "L’original a un sol♯ ici\u202f; on joue un sol à la place."


@pytest.mark.parametrize(
    ("asked", "given", "said"),
    [
        ((69, 74), (74,), "L’accord de l’original contient aussi un la\u202f; on ne le joue pas."),
        ((67, 69, 74), (74,), "L’accord de l’original contient aussi un sol et un la\u202f; on ne les joue pas."),
    ],
)
def test_notes_have_their_article_in_french(asked: tuple[int, ...], given: tuple[int, ...], said: str) -> None:
    change = Change(ChangeKind.MISSING, asked, given, 0.5)
    assert texts(with_choice("4b 4d", 1, changes=(change,)), "fr")[-1] == said


STRAIGHT = Change(ChangeKind.STRAIGHT, (74,), (74,), 0.2)


@pytest.mark.parametrize(
    ("ornaments", "said"),
    [
        (Ornaments(bend_in=Fraction(2)), "The original bends here; play it straight."),
        (Ornaments(release=Fraction(1)), "The original releases a bend here; play it straight."),
        (Ornaments(slide_from=70), "The original slides here; play it straight."),
        (Ornaments(), "The original does more here; play it straight."),
    ],
)
def test_a_straight_note_says_what_the_source_does(ornaments: Ornaments, said: str) -> None:
    route = with_choice("4b 4d", 1, changes=(STRAIGHT,))
    event = replace(route.events[1].event, ornaments=ornaments)
    assert texts(changed(route, 1, replace(route.events[1], event=event)))[-1] == said


def test_the_same_change_on_the_next_note_is_not_said_again_at_length() -> None:
    octave = Change(ChangeKind.OCTAVE, (84,), (72,), 0.3)
    route = with_choice("4b 4d", 0, changes=(octave,))
    one = route.events[1]
    route = changed(
        route,
        1,
        replace(one, choice=replace(one.choice, changes=(replace(octave, asked_midi=(86,), given_midi=(74,)),))),
    )
    assert texts(route)[-1] == "Here too."


def test_a_note_without_a_stand_in_is_left_out_aloud() -> None:
    silent = Choice(None, changes=(Change(ChangeKind.SILENT, (75,), (), 1.0),))
    route = built_route("4b 4d 5d")
    route = changed(route, 1, replace(route.events[1], choice=silent))
    assert texts(route)[1:] == ["Leave the next note out: this harp has nothing for it.", "Up one hole, draw 5."]


def left_out(text: str, *indexes: int) -> Route:
    """The route of the tokens, with nothing that stands in for these events."""
    route = built_route(text)
    for index in indexes:
        event = route.events[index]
        silent = Choice(None, changes=(Change(ChangeKind.SILENT, event.event.midi, (), 1.0),))
        route = changed(route, index, replace(event, choice=silent))
    return route


@pytest.mark.parametrize(
    ("text", "indexes", "english", "french"),
    [
        ("4b 4d 4b", (1,), "4 blow again.", "Encore le 4 soufflé."),
        ("4d' 4d 4d", (1,), "4 draw again.", "Encore le 4 aspiré."),
        ("4d 4b 7d", (1,), "Jump up to 7 draw.", "On saute vers le haut, jusqu’au 7 aspiré."),
        ("4d 4b 5b 3d", (1, 2), "Down one hole, 3 draw.", "On descend d’un trou, sur le 3 aspiré."),
        ("4d 4b 5d", (0, 1), "5 draw.", "Le 5 aspiré."),
    ],
)
def test_after_a_note_left_out_the_way_is_told_from_the_last_one_played(
    text: str, indexes: tuple[int, ...], english: str, french: str
) -> None:
    assert texts(left_out(text, *indexes))[-1] == english
    assert texts(left_out(text, *indexes), "fr")[-1] == french


def test_a_part_that_goes_on_from_one_that_is_known_is_told_from_its_last_note_played() -> None:
    route = left_out("4b 6b 5b", 1)
    spoken = SpokenRoute(route, tokens_of(route.events), Speaker(load_catalogue("en")))
    assert [one.text for one in event_steps(spoken, 2, 2, goes_on=True)] == ["Up one hole, 5 blow."]
    assert [one.text for one in event_steps(spoken, 2, 2)] == ["Start on 5 blow."]


def test_runs_between_holes() -> None:
    four, five = Move((4,), Breath.DRAW), Move((5,), Breath.DRAW)
    assert texts(with_choice("4b 6d", 1, lead_in=(four, five)))[-1] == "Run through 4 draw and 5 draw into 6 draw."
    assert texts(with_choice("4b 6d", 1, lead_in=(five,)))[-1] == "From 5 draw straight into 6 draw."
    assert texts(with_choice("4b 6d", 1, lead_out=(five, four)))[-1].endswith(
        "then run off through 5 draw and 4 draw."
    )
    in_french = with_choice("4b 6d", 1, lead_in=(four, five))
    assert texts(in_french, "fr")[-1] == "On passe par le 4 aspiré et le 5 aspiré pour arriver au 6 aspiré."
    in_french = with_choice("4b 6d", 1, lead_out=(five,))
    assert texts(in_french, "fr")[-1].endswith(", et aussitôt le 5 aspiré.")
    bent = Move((4,), Breath.DRAW, Alteration.BEND, -1)
    # the next sentence starts from where the run ends
    assert texts(with_choice("5d 4d", 0, lead_out=(bent,)))[-1] == "Let it go."


def test_dips() -> None:
    dip = Move((5,), Breath.DRAW, Alteration.BEND, 0)
    assert texts(with_choice("4b 5d", 1, move=dip))[-1] == "Up one hole, draw 5, dip it a little."
    assert texts(with_choice("5d 5d", 1, move=dip))[-1] == "Dip it a little."
    assert texts(with_choice("4b 5d", 1, attack_semitones=-0.5))[-1].endswith("scoop it from a little below.")
    assert texts(with_choice("4b 5d", 1, fall_semitones=-0.5))[-1].endswith("let it sag a little at the end.")


def test_notes_pressed_into_a_bend_and_let_up_from_one() -> None:
    assert texts(with_choice("4b 3d''", 1, attack_semitones=2.0))[-1].endswith(
        "start it higher and bend it down to the whole-step bend."
    )
    assert texts(with_choice("4b 3d''", 1, fall_semitones=2.0))[-1].endswith("and let it go at the end.")
    assert texts(with_choice("4b 3d''", 1, fall_semitones=1.0))[-1].endswith(
        "and let it come up to the half-step bend at the end."
    )


def test_lips_and_tongue_are_named_where_they_change() -> None:
    assert texts("3d [4]d [5]d 6d") == [
        "Start on 3 draw.",
        "Up one hole, 4 draw, tongue-blocked.",
        "Next hole up, 5 draw.",
        "Up to 6 draw, with the lips again.",
    ]


def test_variants_take_turns_and_are_always_the_same() -> None:
    route = built_route("4d 4b 5d 5b 6d 6b:1")
    assert texts(route) == texts(route)
    assert texts(route) == [
        "Start on 4 draw.",
        "Same hole, blow.",
        "Up one hole, draw 5.",
        "Stay on 5, blow.",
        "Turn the breath and go up to 6 draw.",
        "Same hole, blow.",
    ]
