-- +goose Up

-- Craft by the water they go to next: whoever warns a water asks for these.
CREATE INDEX encounters_next_water ON encounters (next_water, at);
