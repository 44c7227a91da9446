-- +goose Up

-- A list that is filtered by one thing and sorted by minutes is read off in its order, however many rows fit.
CREATE INDEX encounters_launch_seconds ON encounters (launch, seconds, at);
CREATE INDEX encounters_steward_seconds ON encounters (steward, seconds, at);
CREATE INDEX encounters_last_water_seconds ON encounters (last_water, seconds, at);
CREATE INDEX encounters_next_water_seconds ON encounters (next_water, seconds, at);
CREATE INDEX encounters_given_seconds ON encounters (given_rank, seconds, at);
CREATE INDEX encounters_class_seconds ON encounters (class, seconds, at);
-- Class and outcome are the filters that each leave most of a season; together, and sorted by the other, they have an index.
CREATE INDEX encounters_class_given ON encounters (class, given_rank, at);

-- Sums by day, week and month are read off in the order of days, like those by launch.
CREATE INDEX encounters_day ON encounters (day, at, test, given_rank, refused, findings);
-- Outcomes of a newer program: nearly always none.
CREATE INDEX encounters_given_unknown ON encounters (given_rank, given) WHERE given_rank = -1 AND given <> '';
DROP INDEX shifts_from;
DROP INDEX shifts_launch;
CREATE INDEX shifts_from ON shifts (from_at, to_at, people);
CREATE INDEX shifts_launch ON shifts (launch, from_at, to_at, people, subject);
