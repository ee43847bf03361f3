-- band: what was chosen of the band that plays along with a lesson, as JSON text, empty for nothing; band_sounds: the
-- kind of files in which play-alongs with it are made whenever the lesson is made, empty for none
ALTER TABLE lesson ADD COLUMN band TEXT NOT NULL DEFAULT '';
ALTER TABLE lesson ADD COLUMN band_sounds TEXT NOT NULL DEFAULT '';
