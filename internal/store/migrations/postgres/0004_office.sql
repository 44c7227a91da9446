-- +goose Up

-- Long computations: what was asked, how far they are, what came of them.
CREATE TABLE jobs (
  id         text COLLATE "C" PRIMARY KEY,
  kind       text COLLATE "C" NOT NULL,
  state      text COLLATE "C" NOT NULL,
  account    text COLLATE "C" NOT NULL,
  person     text COLLATE "C" NOT NULL,
  input      text COLLATE "C" NOT NULL,
  result     text COLLATE "C" NOT NULL,
  error      text COLLATE "C" NOT NULL,
  errors     text COLLATE "C" NOT NULL, -- JSON
  fraction   double precision NOT NULL,
  words      text COLLATE "C" NOT NULL,
  runner     text COLLATE "C" NOT NULL,
  beat_at    bigint NOT NULL, -- milliseconds; when the runner last spoke for it
  cancel     bigint NOT NULL CHECK (cancel IN (0, 1)),
  created_at bigint NOT NULL,
  started_at bigint,
  ended_at   bigint
);
CREATE INDEX jobs_open ON jobs (kind, created_at, id) WHERE state IN ('queued', 'running');

-- A person's word on whether two encounters were one craft.
CREATE TABLE pairs (
  subject text COLLATE "C" PRIMARY KEY REFERENCES subjects (subject),
  a       text COLLATE "C" NOT NULL,
  b       text COLLATE "C" NOT NULL,
  same    bigint NOT NULL CHECK (same IN (0, 1))
);
CREATE INDEX pairs_a ON pairs (a);
CREATE INDEX pairs_b ON pairs (b);

-- Pictures, under the SHA-256 of their bytes.
CREATE TABLE pictures (
  sha256      text COLLATE "C" PRIMARY KEY,
  type        text COLLATE "C" NOT NULL,
  bytes       bigint NOT NULL,
  data        bytea NOT NULL,
  sent_by     text COLLATE "C" NOT NULL, -- device or account
  received_at bigint NOT NULL
);
