-- What lies on the workbench. A draft is kept with every change, and undone by itself: the journal does not hold it.
-- step: the one that is shown, of those in draft_step; sound: the kept recording that it was heard in, empty for none;
-- away: 1 where it was put away. data: the draft as JSON.

CREATE TABLE draft (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    title TEXT NOT NULL,
    sound TEXT NOT NULL,
    step INTEGER NOT NULL,
    away INTEGER NOT NULL DEFAULT 0 CHECK (away IN (0, 1)),
    changed TEXT NOT NULL
) STRICT;

CREATE TABLE draft_step (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    draft INTEGER NOT NULL REFERENCES draft (number) ON DELETE CASCADE,
    data TEXT NOT NULL,
    sound TEXT NOT NULL
) STRICT;
CREATE INDEX draft_step_draft ON draft_step (draft);
