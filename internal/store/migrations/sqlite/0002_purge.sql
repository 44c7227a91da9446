-- +goose Up

-- The sum of an entry whose personal fields were purged, beside the sum of what was sent: a purge can be told from damage.
ALTER TABLE entries ADD COLUMN kept_sum TEXT NOT NULL DEFAULT '';

DROP TRIGGER entries_same;
-- +goose StatementBegin
CREATE TRIGGER entries_same BEFORE UPDATE ON entries
WHEN NEW.kept_sum = '' OR NEW.cursor <> OLD.cursor OR NEW.id <> OLD.id OR NEW.kind <> OLD.kind OR NEW.subject <> OLD.subject
  OR NEW.supersedes <> OLD.supersedes OR NEW.removed <> OLD.removed OR NEW.why <> OLD.why OR NEW.made_at <> OLD.made_at
  OR NEW.made_ns <> OLD.made_ns OR NEW.made_off <> OLD.made_off OR NEW.origin <> OLD.origin OR NEW.person <> OLD.person
  OR NEW.device <> OLD.device OR NEW.seq <> OLD.seq OR NEW.app <> OLD.app OR NEW.received_at <> OLD.received_at
  OR NEW.skew_ms <> OLD.skew_ms OR NEW.sum <> OLD.sum
BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
-- +goose StatementEnd

CREATE TABLE purges (
  id     INTEGER PRIMARY KEY,
  at     INTEGER NOT NULL,
  who    TEXT NOT NULL,
  report TEXT NOT NULL -- JSON
) STRICT;

CREATE INDEX encounters_class ON encounters (class, at);
CREATE INDEX encounters_seconds ON encounters (seconds, at);
CREATE INDEX encounters_mark ON encounters (mark, at) WHERE mark <> '';
CREATE INDEX encounters_flagged ON encounters (at) WHERE conflict = 1;
