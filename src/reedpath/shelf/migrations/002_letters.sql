-- Letters to students. proposed: as the program wrote it; text: as the teacher has it. What else is known of students
-- (skill, what is due when) follows from their takes' answers, and is not kept.

CREATE TABLE letter (
    number INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE,
    student INTEGER NOT NULL REFERENCES student (number) ON DELETE CASCADE,
    language TEXT NOT NULL,
    proposed TEXT NOT NULL,
    text TEXT NOT NULL,
    added TEXT NOT NULL
) STRICT;
CREATE INDEX letter_student ON letter (student);
