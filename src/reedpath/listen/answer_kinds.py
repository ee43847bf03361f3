"""The kinds of what an answer says: of verdicts, faults, notices, praise and next steps."""

from __future__ import annotations

from enum import StrEnum


class Verdict(StrEnum):
    """What became of an event."""

    PLAYED = "played"
    MISSED = "missed"
    ANOTHER = "another"  # another note was played in its place


class FaultKind(StrEnum):
    """What is not as asked."""

    MISSED = "missed"
    ANOTHER = "another"
    SWAPPED = "swapped"  # it and a note beside it are played each in the other's place
    FLAT = "flat"  # amount: cents under the target
    SHARP = "sharp"  # amount: cents over the target
    LATE = "late"  # amount: milliseconds
    EARLY = "early"  # amount: milliseconds
    GLIDE = "glide"  # an asked glide is not made; amount: semitones that it misses
    UNSTEADY = "unsteady"  # amount: cents of standard deviation
    SHORT = "short"  # amount: share of its length that is held
    EXTRA = "extra"  # something more sounds, the note again or another; amount: seconds of it
    BEGUN_BEFORE = "begun before"  # a note sounds right before the first one; amount: seconds of it
    HOLE_MISSING = "hole missing"  # of several holes one does not sound; amount: how many do not
    HOLE_WRONG = "hole wrong"  # of several holes one sounds in place of another; amount: how many do
    HOLE_TOO_MANY = "hole too many"  # a hole beside sounds along; amount: how many do
    RESTART = "restart"  # the player went back from here; amount: events that were played again
    PAUSE = "pause"  # the time was broken before it; amount: seconds
    # of the playing as a whole; of swing the amount is what the first half of a beat is of the second, as played
    NOT_SWUNG = "not swung"  # eighths that swing, or a long note and a short one, are played evenly
    SWINGS_LESS = "swings less"  # they swing less than is asked
    SWINGS_MORE = "swings more"  # they swing more than is asked
    SWUNG = "swung"  # even eighths or sixteenths are swung
    SHORT_FIRST = "short first"  # of even ones the first is the shorter one
    LONG_FIRST = "long first"  # where the first is to be the shorter one, it is not
    RUSHES = "rushes"  # the tempo grows; amount: per cent from start to end
    DRAGS = "drags"  # the tempo sinks; amount: per cent
    SWAYS = "sways"  # the tempo goes up and down; amount: per cent either way
    DETACHED = "detached"  # notes that could ring until the next are cut short; amount: per cent of that time
    AIR_FULL = "air full"  # much more is drawn than blown; amount: litres
    AIR_EMPTY = "air empty"  # much more is blown than drawn; amount: litres


class BeatDivision(StrEnum):
    """How beats, or their halves, are divided in two."""

    EIGHTHS = "eighths"  # two eighths to a quarter, as long as each other or swung
    SIXTEENTHS = "sixteenths"  # two sixteenths to an eighth
    LONG_SHORT = "long short"  # a quarter and an eighth: of a triplet, or to the beat of 6/8, 9/8 and 12/8
    DOTTED = "dotted"  # a dotted eighth and a sixteenth


class Notice(StrEnum):
    """Something to be said of a recording."""

    EMPTY = "empty"  # there is no sound in it at all
    SILENT = "silent"  # nothing but silence
    QUIET = "quiet"  # too soft
    CLIPPED = "clipped"  # too loud: cut off
    NARROW = "narrow"  # a rate that leaves out overtones
    LONG = "long"  # very long
    NO_PITCH = "no pitch"  # sound, but no tone: drums, noise
    COMPANY = "company"  # other instruments sound along
    RINGS = "rings"  # a telephone or a bell rings over it
    BROKEN_OFF = "broken off"  # it ends before the playing does
    TALK = "talk"  # somebody talks, and plays nothing
    OTHER_MUSIC = "other music"  # tones, but not the lesson's phrase
    NOTHING_ASKED = "nothing asked"  # the lesson has nothing to play


class PraiseKind(StrEnum):
    """What went well, as it was measured."""

    ALL = "all"  # every note that was tried is as asked
    BETTER = "better"  # from try to try more is as asked
    SWING = "swing"  # the eighths swing as asked
    LONG_SHORT = "long short"  # long and short notes in one beat are as long as asked
    BENDS = "bends"  # the bends are in tune
    ROW = "row"  # many notes in a row are as asked
    WENT_ON = "went on"  # a slip did not stop the playing
    TEMPO = "tempo"  # the tempo holds


class NextStepKind(StrEnum):
    """What comes next."""

    HARP = "harp"  # the harp of the lesson
    APART = "apart"  # a place by itself, slowly
    SLOWER = "slower"  # all of it, slower
    SWING = "swing"  # with the click, until what lies between the beats is as asked
    CLICK = "click"  # with the click, until the tempo holds
    FASTER = "faster"  # a step faster
    REST = "rest"  # what is not played yet, then all of it
    TOGETHER = "together"  # the parts one after the other, in one go
    AGAIN = "again"  # the same once more
    TOMORROW = "tomorrow"  # it is right at its tempo: once more on another day


class Trend(StrEnum):
    """What becomes of the playing from try to try."""

    BETTER = "better"
    SAME = "same"
    WORSE = "worse"
