-- Notes that were held in tune, by a student or, where there is none, by the teacher. move: as tab ("-3''"); seconds: without
-- a break; cents: the middle of the pitch less the target.

CREATE TABLE held_note (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    student INTEGER REFERENCES student (number) ON DELETE CASCADE,
    key TEXT NOT NULL,
    tuning TEXT NOT NULL,
    move TEXT NOT NULL,
    seconds REAL NOT NULL CHECK (seconds >= 0),
    cents REAL NOT NULL,
    unsteady_cents REAL NOT NULL CHECK (unsteady_cents >= 0),
    tolerance_cents REAL NOT NULL CHECK (tolerance_cents > 0),
    added TEXT NOT NULL
) STRICT;
CREATE INDEX held_note_student ON held_note (student);
