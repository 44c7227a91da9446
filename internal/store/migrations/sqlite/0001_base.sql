-- +goose Up

-- One row: the last cursor given out, how many entries there are, and the exclusive or of the first eight bytes of their
-- sums. Every writer takes this row first, so that cursors become visible in the order in which they were given.
CREATE TABLE ledger (
  id      INTEGER PRIMARY KEY CHECK (id = 1),
  cursor  INTEGER NOT NULL,
  entries INTEGER NOT NULL,
  fold    INTEGER NOT NULL
) STRICT;
INSERT INTO ledger (id, cursor, entries, fold) VALUES (1, 0, 0, 0);

CREATE TABLE entries (
  cursor      INTEGER PRIMARY KEY,
  id          TEXT NOT NULL,
  kind        TEXT NOT NULL,
  subject     TEXT NOT NULL,
  supersedes  TEXT NOT NULL,
  removed     INTEGER NOT NULL CHECK (removed IN (0, 1)),
  why         TEXT NOT NULL,
  made_at     INTEGER NOT NULL, -- milliseconds since 1970-01-01T00:00:00Z
  made_ns     INTEGER NOT NULL, -- nanoseconds beyond the millisecond
  made_off    INTEGER NOT NULL, -- seconds east of UTC, as the device wrote it
  origin      TEXT NOT NULL,
  person      TEXT NOT NULL,
  device      TEXT NOT NULL,
  seq         INTEGER NOT NULL,
  app         TEXT NOT NULL,
  body        TEXT NOT NULL,
  received_at INTEGER NOT NULL, -- milliseconds
  skew_ms     INTEGER NOT NULL,
  sum         TEXT NOT NULL,    -- of the entry as it was sent
  seal        INTEGER NOT NULL  -- first eight bytes of a SHA-256 over everything the sum leaves out
) STRICT;
CREATE UNIQUE INDEX entries_id ON entries (id);
CREATE INDEX entries_subject ON entries (subject, cursor);
CREATE INDEX entries_kind ON entries (kind, cursor);

-- +goose StatementBegin
CREATE TRIGGER entries_keep BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entries_same BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
-- +goose StatementEnd

CREATE TABLE subjects (
  subject  TEXT PRIMARY KEY,
  kind     TEXT NOT NULL,
  parent   TEXT NOT NULL,
  head     INTEGER NOT NULL REFERENCES entries (cursor),
  removed  INTEGER NOT NULL CHECK (removed IN (0, 1)),
  conflict INTEGER NOT NULL CHECK (conflict IN (0, 1)),
  versions INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX subjects_kind ON subjects (kind, subject);
CREATE INDEX subjects_parent ON subjects (parent, kind, subject) WHERE parent <> '';

CREATE TABLE encounters (
  subject    TEXT PRIMARY KEY REFERENCES subjects (subject),
  at         INTEGER NOT NULL, -- milliseconds
  ended_at   INTEGER NOT NULL, -- at, where the end is not known
  day        INTEGER NOT NULL, -- days since 1970-01-01 by the clock on the wall there
  shift      TEXT NOT NULL,
  launch     TEXT NOT NULL,
  launch_own INTEGER NOT NULL CHECK (launch_own IN (0, 1)), -- 0: taken from the shift
  steward    TEXT NOT NULL,
  class      TEXT NOT NULL,
  last_water TEXT NOT NULL,
  next_water TEXT NOT NULL,
  computed   TEXT NOT NULL,
  given      TEXT NOT NULL,
  given_rank INTEGER NOT NULL,
  refused    INTEGER NOT NULL CHECK (refused IN (0, 1)),
  test       INTEGER NOT NULL CHECK (test IN (0, 1)),
  findings   INTEGER NOT NULL,
  seconds    REAL NOT NULL,
  mark       TEXT NOT NULL,
  conflict   INTEGER NOT NULL CHECK (conflict IN (0, 1))
) STRICT;
CREATE INDEX encounters_at ON encounters (at);
CREATE INDEX encounters_launch ON encounters (launch, at);
CREATE INDEX encounters_steward ON encounters (steward, at);
CREATE INDEX encounters_last_water ON encounters (last_water, at);
CREATE INDEX encounters_given ON encounters (given_rank, at);
CREATE INDEX encounters_shift ON encounters (shift);

CREATE TABLE shifts (
  subject TEXT PRIMARY KEY REFERENCES subjects (subject),
  launch  TEXT NOT NULL,
  from_at INTEGER NOT NULL,
  to_at   INTEGER,
  day     INTEGER NOT NULL,
  people  INTEGER NOT NULL
) STRICT;
CREATE INDEX shifts_from ON shifts (from_at);
CREATE INDEX shifts_launch ON shifts (launch, from_at);

CREATE TABLE tallies (
  subject     TEXT PRIMARY KEY REFERENCES subjects (subject),
  shift       TEXT NOT NULL,
  at          INTEGER NOT NULL,
  day         INTEGER NOT NULL,
  passed_by   INTEGER NOT NULL,
  refused     INTEGER NOT NULL,
  turned_away INTEGER NOT NULL
) STRICT;
CREATE INDEX tallies_at ON tallies (at);

CREATE TABLE refusals (
  id          TEXT PRIMARY KEY,
  raw         BLOB NOT NULL,
  raw_sum     TEXT NOT NULL UNIQUE, -- SHA-256 of the device and the raw text
  errors      TEXT NOT NULL,
  device      TEXT NOT NULL,
  person      TEXT NOT NULL,
  received_at INTEGER NOT NULL,
  settled_at  INTEGER,
  settled_by  TEXT NOT NULL,
  how         TEXT NOT NULL
) STRICT;
CREATE INDEX refusals_open ON refusals (received_at, id) WHERE settled_at IS NULL;
CREATE INDEX refusals_settled ON refusals (received_at, id) WHERE settled_at IS NOT NULL;

CREATE TABLE accounts (
  id            TEXT PRIMARY KEY,
  person        TEXT NOT NULL,
  login         TEXT NOT NULL,
  login_key     TEXT NOT NULL UNIQUE, -- the login in lower case
  password_hash TEXT NOT NULL,
  role          TEXT NOT NULL,
  created_at    INTEGER NOT NULL,
  revoked_at    INTEGER,
  failed_since  INTEGER NOT NULL,
  locked_until  INTEGER
) STRICT;

CREATE TABLE devices (
  id           TEXT PRIMARY KEY,
  person       TEXT NOT NULL,
  role         TEXT NOT NULL,
  name         TEXT NOT NULL,
  public_key   BLOB NOT NULL,
  enrolled_at  INTEGER NOT NULL,
  last_seen_at INTEGER,
  lease_until  INTEGER NOT NULL,
  revoked_at   INTEGER
) STRICT;

CREATE TABLE invites (
  id         TEXT PRIMARY KEY,
  code_hash  BLOB NOT NULL UNIQUE,
  person     TEXT NOT NULL,
  role       TEXT NOT NULL,
  created_by TEXT NOT NULL,
  created_at INTEGER NOT NULL,
  expires_at INTEGER NOT NULL,
  used_at    INTEGER,
  used_by    TEXT NOT NULL
) STRICT;

CREATE TABLE audit (
  id     TEXT PRIMARY KEY,
  at     INTEGER NOT NULL,
  who    TEXT NOT NULL,
  what   TEXT NOT NULL,
  about  TEXT NOT NULL,
  detail TEXT NOT NULL,
  seal   INTEGER NOT NULL -- first eight bytes of a SHA-256 over the line
) STRICT;
CREATE INDEX audit_at ON audit (at, id);

-- +goose StatementBegin
CREATE TRIGGER audit_keep BEFORE DELETE ON audit
BEGIN SELECT RAISE(ABORT, 'the audit trail is never deleted'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER audit_same BEFORE UPDATE ON audit
BEGIN SELECT RAISE(ABORT, 'the audit trail is never changed'); END;
-- +goose StatementEnd
