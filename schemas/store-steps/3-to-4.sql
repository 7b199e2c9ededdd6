-- From schema 3 to schema 4: how finely the times of a recording were read off a picture.

ALTER TABLE recording ADD COLUMN precision_ms INTEGER NOT NULL DEFAULT 0 CHECK (precision_ms >= 0);
