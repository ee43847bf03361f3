-- Takes that came in and are not a student's yet: still to be heard, or somebody has to say whose they are and what they
-- play. found: what was found of a take that was heard, as JSON; empty before. The journal does not hold them.

CREATE TABLE waiting_take (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL,
    sound TEXT NOT NULL,
    student INTEGER REFERENCES student (number) ON DELETE SET NULL,
    version INTEGER REFERENCES lesson_version (number) ON DELETE SET NULL,
    found TEXT NOT NULL DEFAULT '',
    added TEXT NOT NULL
) STRICT;
CREATE INDEX waiting_take_student ON waiting_take (student);
CREATE INDEX waiting_take_version ON waiting_take (version);
