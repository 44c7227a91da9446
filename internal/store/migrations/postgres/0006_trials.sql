-- +goose Up

-- A purge of trials and drills also takes away who made the entry and with which phone: it is one of those tested.
DROP TRIGGER entries_same ON entries;
CREATE TRIGGER entries_same BEFORE UPDATE ON entries FOR EACH ROW
WHEN (NEW.kept_sum = '' OR NEW.cursor <> OLD.cursor OR NEW.id <> OLD.id OR NEW.kind <> OLD.kind OR NEW.subject <> OLD.subject
  OR NEW.supersedes <> OLD.supersedes OR NEW.removed <> OLD.removed OR NEW.why <> OLD.why OR NEW.made_at <> OLD.made_at
  OR NEW.made_ns <> OLD.made_ns OR NEW.made_off <> OLD.made_off OR NEW.origin <> OLD.origin OR NEW.app <> OLD.app
  OR NEW.received_at <> OLD.received_at OR NEW.skew_ms <> OLD.skew_ms OR NEW.sum <> OLD.sum
  OR (NEW.person <> OLD.person OR NEW.device <> OLD.device OR NEW.seq <> OLD.seq)
    AND NOT (OLD.kind IN ('trial', 'drill') AND NEW.person = '' AND NEW.device = '' AND NEW.seq = 0))
EXECUTE FUNCTION entries_same();
