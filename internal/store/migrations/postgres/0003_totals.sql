-- +goose Up

-- The columns after the time are what totals count: sums are read off these indexes alone, without touching the rows.
DROP INDEX encounters_at;
DROP INDEX encounters_launch;
DROP INDEX encounters_steward;
DROP INDEX encounters_last_water;
DROP INDEX encounters_given;
DROP INDEX encounters_class;
DROP INDEX encounters_shift;
CREATE INDEX encounters_at ON encounters (at, day, test, given_rank, refused, findings);
CREATE INDEX encounters_launch ON encounters (launch, at, test, given_rank, refused, findings);
CREATE INDEX encounters_steward ON encounters (steward, at, test, given_rank, refused, findings);
CREATE INDEX encounters_last_water ON encounters (last_water, at, test, given_rank, refused, findings);
CREATE INDEX encounters_given ON encounters (given_rank, at, test, refused, findings);
CREATE INDEX encounters_class ON encounters (class, at, test, given_rank, refused, findings);
CREATE INDEX encounters_shift ON encounters (shift, at, ended_at);
