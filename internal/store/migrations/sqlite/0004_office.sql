-- +goose Up

-- Long computations: what was asked, how far they are, what came of them.
CREATE TABLE jobs (
  id         TEXT PRIMARY KEY,
  kind       TEXT NOT NULL,
  state      TEXT NOT NULL,
  account    TEXT NOT NULL,
  person     TEXT NOT NULL,
  input      TEXT NOT NULL,
  result     TEXT NOT NULL,
  error      TEXT NOT NULL,
  errors     TEXT NOT NULL, -- JSON
  fraction   REAL NOT NULL,
  words      TEXT NOT NULL,
  runner     TEXT NOT NULL,
  beat_at    INTEGER NOT NULL, -- milliseconds; when the runner last spoke for it
  cancel     INTEGER NOT NULL CHECK (cancel IN (0, 1)),
  created_at INTEGER NOT NULL,
  started_at INTEGER,
  ended_at   INTEGER
) STRICT;
CREATE INDEX jobs_open ON jobs (kind, created_at, id) WHERE state IN ('queued', 'running');

-- A person's word on whether two encounters were one craft.
CREATE TABLE pairs (
  subject TEXT PRIMARY KEY REFERENCES subjects (subject),
  a       TEXT NOT NULL,
  b       TEXT NOT NULL,
  same    INTEGER NOT NULL CHECK (same IN (0, 1))
) STRICT;
CREATE INDEX pairs_a ON pairs (a);
CREATE INDEX pairs_b ON pairs (b);

-- Pictures, under the SHA-256 of their bytes.
CREATE TABLE pictures (
  sha256      TEXT PRIMARY KEY,
  type        TEXT NOT NULL,
  bytes       INTEGER NOT NULL,
  data        BLOB NOT NULL,
  sent_by     TEXT NOT NULL, -- device or account
  received_at INTEGER NOT NULL
) STRICT;
