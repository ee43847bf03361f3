-- What the shelf keeps. A record has a number, by which its owner calls it, and a name (uid) that no other record has on
-- any shelf, by which it is known again in what was exported. Lists and shapes are JSON; a phrase, a lesson and an answer
-- are the files that the program writes elsewhere, whole.

CREATE TABLE phrase (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    title TEXT NOT NULL,
    key TEXT NOT NULL,
    tags TEXT NOT NULL,
    techniques TEXT NOT NULL,
    difficulty REAL CHECK (difficulty >= 0),
    melody TEXT NOT NULL,
    data TEXT NOT NULL,
    digest TEXT NOT NULL,
    source TEXT NOT NULL,
    added TEXT NOT NULL
) STRICT;
CREATE INDEX phrase_digest ON phrase (digest);

CREATE TABLE student (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    level TEXT NOT NULL,
    techniques TEXT NOT NULL,
    note TEXT NOT NULL,
    added TEXT NOT NULL
) STRICT;

-- a harp without a student is the teacher's
CREATE TABLE harp (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    student INTEGER REFERENCES student (number) ON DELETE CASCADE,
    key TEXT NOT NULL,
    tuning TEXT NOT NULL,
    note TEXT NOT NULL
) STRICT;
CREATE INDEX harp_student ON harp (student);

CREATE TABLE lesson (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    title TEXT NOT NULL,
    tags TEXT NOT NULL
) STRICT;

-- data: of a lesson of several pieces each piece's file too, by its folder; files: what else lay in the folder, by name
CREATE TABLE lesson_version (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    lesson INTEGER NOT NULL REFERENCES lesson (number) ON DELETE CASCADE,
    version INTEGER NOT NULL CHECK (version >= 1),
    data TEXT NOT NULL,
    pieces TEXT NOT NULL,
    files TEXT NOT NULL,
    note TEXT NOT NULL,
    added TEXT NOT NULL,
    UNIQUE (lesson, version)
) STRICT;

CREATE TABLE taught (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    version INTEGER NOT NULL REFERENCES lesson_version (number) ON DELETE CASCADE,
    phrase INTEGER NOT NULL REFERENCES phrase (number) ON DELETE CASCADE
) STRICT;
CREATE INDEX taught_version ON taught (version);
CREATE INDEX taught_phrase ON taught (phrase);

-- sound: name of the file that is kept beside the database, empty for none
CREATE TABLE take (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    student INTEGER NOT NULL REFERENCES student (number) ON DELETE CASCADE,
    version INTEGER REFERENCES lesson_version (number) ON DELETE SET NULL,
    name TEXT NOT NULL,
    sound TEXT NOT NULL,
    note TEXT NOT NULL,
    added TEXT NOT NULL
) STRICT;
CREATE INDEX take_student ON take (student);
CREATE INDEX take_version ON take (version);

CREATE TABLE answer (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    take INTEGER NOT NULL REFERENCES take (number) ON DELETE CASCADE,
    data TEXT NOT NULL,
    added TEXT NOT NULL
) STRICT;
CREATE INDEX answer_take ON answer (take);

-- The journal: each step, and for each record that it changed what the record was before (NULL: it was not there). Undone,
-- a step holds what is to be had again.
CREATE TABLE step (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    what TEXT NOT NULL,
    at TEXT NOT NULL,
    undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1))
) STRICT;

CREATE TABLE journal (
    number INTEGER PRIMARY KEY,
    step INTEGER NOT NULL REFERENCES step (number) ON DELETE CASCADE,
    kind TEXT NOT NULL,
    record INTEGER NOT NULL,
    before TEXT
) STRICT;
CREATE INDEX journal_step ON journal (step);

-- what phrases are searched by: small letters without accents; each tag and technique on a line of its own
CREATE VIRTUAL TABLE phrase_words USING fts5 (words, tags UNINDEXED, techniques UNINDEXED, tokenize = 'trigram');
