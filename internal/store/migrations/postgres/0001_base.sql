-- +goose Up

-- One row: the last cursor given out, how many entries there are, and the exclusive or of the first eight bytes of their
-- sums. Every writer takes this row first, so that cursors become visible in the order in which they were given.
CREATE TABLE ledger (
  id      bigint PRIMARY KEY CHECK (id = 1),
  cursor  bigint NOT NULL,
  entries bigint NOT NULL,
  fold    bigint NOT NULL
);
INSERT INTO ledger (id, cursor, entries, fold) VALUES (1, 0, 0, 0);

CREATE TABLE entries (
  cursor      bigint PRIMARY KEY,
  id          text COLLATE "C" NOT NULL,
  kind        text COLLATE "C" NOT NULL,
  subject     text COLLATE "C" NOT NULL,
  supersedes  text COLLATE "C" NOT NULL,
  removed     bigint NOT NULL CHECK (removed IN (0, 1)),
  why         text COLLATE "C" NOT NULL,
  made_at     bigint NOT NULL, -- milliseconds since 1970-01-01T00:00:00Z
  made_ns     bigint NOT NULL, -- nanoseconds beyond the millisecond
  made_off    bigint NOT NULL, -- seconds east of UTC, as the device wrote it
  origin      text COLLATE "C" NOT NULL,
  person      text COLLATE "C" NOT NULL,
  device      text COLLATE "C" NOT NULL,
  seq         bigint NOT NULL,
  app         text COLLATE "C" NOT NULL,
  body        text COLLATE "C" NOT NULL,
  received_at bigint NOT NULL, -- milliseconds
  skew_ms     bigint NOT NULL,
  sum         text COLLATE "C" NOT NULL,    -- of the entry as it was sent
  seal        bigint NOT NULL  -- first eight bytes of a SHA-256 over everything the sum leaves out
);
CREATE UNIQUE INDEX entries_id ON entries (id);
CREATE INDEX entries_subject ON entries (subject, cursor);
CREATE INDEX entries_kind ON entries (kind, cursor);

-- +goose StatementBegin
CREATE FUNCTION entries_keep() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'entries are never deleted'; END $$;
-- +goose StatementEnd
CREATE TRIGGER entries_keep BEFORE DELETE ON entries FOR EACH ROW EXECUTE FUNCTION entries_keep();
-- +goose StatementBegin
CREATE FUNCTION entries_same() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'entries are never changed'; END $$;
-- +goose StatementEnd
CREATE TRIGGER entries_same BEFORE UPDATE ON entries FOR EACH ROW EXECUTE FUNCTION entries_same();

CREATE TABLE subjects (
  subject  text COLLATE "C" PRIMARY KEY,
  kind     text COLLATE "C" NOT NULL,
  parent   text COLLATE "C" NOT NULL,
  head     bigint NOT NULL REFERENCES entries (cursor),
  removed  bigint NOT NULL CHECK (removed IN (0, 1)),
  conflict bigint NOT NULL CHECK (conflict IN (0, 1)),
  versions bigint NOT NULL
);
CREATE INDEX subjects_kind ON subjects (kind, subject);
CREATE INDEX subjects_parent ON subjects (parent, kind, subject) WHERE parent <> '';

CREATE TABLE encounters (
  subject    text COLLATE "C" PRIMARY KEY REFERENCES subjects (subject),
  at         bigint NOT NULL, -- milliseconds
  ended_at   bigint NOT NULL, -- at, where the end is not known
  day        bigint NOT NULL, -- days since 1970-01-01 by the clock on the wall there
  shift      text COLLATE "C" NOT NULL,
  launch     text COLLATE "C" NOT NULL,
  launch_own bigint NOT NULL CHECK (launch_own IN (0, 1)), -- 0: taken from the shift
  steward    text COLLATE "C" NOT NULL,
  class      text COLLATE "C" NOT NULL,
  last_water text COLLATE "C" NOT NULL,
  next_water text COLLATE "C" NOT NULL,
  computed   text COLLATE "C" NOT NULL,
  given      text COLLATE "C" NOT NULL,
  given_rank bigint NOT NULL,
  refused    bigint NOT NULL CHECK (refused IN (0, 1)),
  test       bigint NOT NULL CHECK (test IN (0, 1)),
  findings   bigint NOT NULL,
  seconds    double precision NOT NULL,
  mark       text COLLATE "C" NOT NULL,
  conflict   bigint NOT NULL CHECK (conflict IN (0, 1))
);
CREATE INDEX encounters_at ON encounters (at);
CREATE INDEX encounters_launch ON encounters (launch, at);
CREATE INDEX encounters_steward ON encounters (steward, at);
CREATE INDEX encounters_last_water ON encounters (last_water, at);
CREATE INDEX encounters_given ON encounters (given_rank, at);
CREATE INDEX encounters_shift ON encounters (shift);

CREATE TABLE shifts (
  subject text COLLATE "C" PRIMARY KEY REFERENCES subjects (subject),
  launch  text COLLATE "C" NOT NULL,
  from_at bigint NOT NULL,
  to_at   bigint,
  day     bigint NOT NULL,
  people  bigint NOT NULL
);
CREATE INDEX shifts_from ON shifts (from_at);
CREATE INDEX shifts_launch ON shifts (launch, from_at);

CREATE TABLE tallies (
  subject     text COLLATE "C" PRIMARY KEY REFERENCES subjects (subject),
  shift       text COLLATE "C" NOT NULL,
  at          bigint NOT NULL,
  day         bigint NOT NULL,
  passed_by   bigint NOT NULL,
  refused     bigint NOT NULL,
  turned_away bigint NOT NULL
);
CREATE INDEX tallies_at ON tallies (at);

CREATE TABLE refusals (
  id          text COLLATE "C" PRIMARY KEY,
  raw         bytea NOT NULL,
  raw_sum     text COLLATE "C" NOT NULL UNIQUE, -- SHA-256 of the device and the raw text
  errors      text COLLATE "C" NOT NULL,
  device      text COLLATE "C" NOT NULL,
  person      text COLLATE "C" NOT NULL,
  received_at bigint NOT NULL,
  settled_at  bigint,
  settled_by  text COLLATE "C" NOT NULL,
  how         text COLLATE "C" NOT NULL
);
CREATE INDEX refusals_open ON refusals (received_at, id) WHERE settled_at IS NULL;
CREATE INDEX refusals_settled ON refusals (received_at, id) WHERE settled_at IS NOT NULL;

CREATE TABLE accounts (
  id            text COLLATE "C" PRIMARY KEY,
  person        text COLLATE "C" NOT NULL,
  login         text COLLATE "C" NOT NULL,
  login_key     text COLLATE "C" NOT NULL UNIQUE, -- the login in lower case
  password_hash text COLLATE "C" NOT NULL,
  role          text COLLATE "C" NOT NULL,
  created_at    bigint NOT NULL,
  revoked_at    bigint,
  failed_since  bigint NOT NULL,
  locked_until  bigint
);

CREATE TABLE devices (
  id           text COLLATE "C" PRIMARY KEY,
  person       text COLLATE "C" NOT NULL,
  role         text COLLATE "C" NOT NULL,
  name         text COLLATE "C" NOT NULL,
  public_key   bytea NOT NULL,
  enrolled_at  bigint NOT NULL,
  last_seen_at bigint,
  lease_until  bigint NOT NULL,
  revoked_at   bigint
);

CREATE TABLE invites (
  id         text COLLATE "C" PRIMARY KEY,
  code_hash  bytea NOT NULL UNIQUE,
  person     text COLLATE "C" NOT NULL,
  role       text COLLATE "C" NOT NULL,
  created_by text COLLATE "C" NOT NULL,
  created_at bigint NOT NULL,
  expires_at bigint NOT NULL,
  used_at    bigint,
  used_by    text COLLATE "C" NOT NULL
);

CREATE TABLE audit (
  id     text COLLATE "C" PRIMARY KEY,
  at     bigint NOT NULL,
  who    text COLLATE "C" NOT NULL,
  what   text COLLATE "C" NOT NULL,
  about  text COLLATE "C" NOT NULL,
  detail text COLLATE "C" NOT NULL,
  seal   bigint NOT NULL -- first eight bytes of a SHA-256 over the line
);
CREATE INDEX audit_at ON audit (at, id);

-- +goose StatementBegin
CREATE FUNCTION audit_keep() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the audit trail is never deleted'; END $$;
-- +goose StatementEnd
CREATE TRIGGER audit_keep BEFORE DELETE ON audit FOR EACH ROW EXECUTE FUNCTION audit_keep();
-- +goose StatementBegin
CREATE FUNCTION audit_same() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the audit trail is never changed'; END $$;
-- +goose StatementEnd
CREATE TRIGGER audit_same BEFORE UPDATE ON audit FOR EACH ROW EXECUTE FUNCTION audit_same();
