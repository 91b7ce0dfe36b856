-- Version 7: what a garden does beside bag and pollen: own pollen kept out, pollen
-- stored, plants multiplied without seed, seed weighed, given away and planted out, crops
-- of the grower's own, and when the last frost is.

-- Pollen of one plant, collected to be used later.
CREATE TABLE pollen (
  id           INTEGER PRIMARY KEY,
  name         TEXT NOT NULL CHECK (name <> ''),       -- such as L26-002K
  key          TEXT NOT NULL UNIQUE,
  plant_id     INTEGER NOT NULL REFERENCES plant (id),
  season_id    INTEGER NOT NULL REFERENCES season (id),
  collected_on TEXT NOT NULL,
  dried_on     TEXT,                                   -- NULL: not dry yet, or not said
  good_until   TEXT,                                   -- NULL: as the crop says
  used_up_on   TEXT,                                   -- or thrown away
  place        TEXT NOT NULL DEFAULT '',
  note         TEXT NOT NULL DEFAULT '',
  added_at     TEXT NOT NULL
) STRICT;
CREATE INDEX pollen_plant ON pollen (plant_id);
CREATE INDEX pollen_season ON pollen (season_id);

ALTER TABLE "cross" ADD COLUMN pollen_id INTEGER REFERENCES pollen (id); -- stored pollen that was used; NULL: fresh, or not said
CREATE INDEX cross_stored_pollen ON "cross" (pollen_id) WHERE pollen_id IS NOT NULL;
ALTER TABLE head ADD COLUMN emasculated_on TEXT;                         -- its anthers or disc florets taken out; NULL: not said
ALTER TABLE plant ADD COLUMN clone_of_id INTEGER REFERENCES plant (id);  -- whose genes it has: a tuber, cutting or division of it; NULL: of seed
ALTER TABLE plant ADD COLUMN cloned_by TEXT NOT NULL DEFAULT '' CHECK (cloned_by IN ('', 'tuber', 'cutting', 'division'));
ALTER TABLE plant ADD COLUMN place TEXT NOT NULL DEFAULT '';             -- in the bed
CREATE INDEX plant_clone ON plant (clone_of_id) WHERE clone_of_id IS NOT NULL;
ALTER TABLE packet ADD COLUMN grams REAL CHECK (grams > 0);              -- NULL: not weighed
ALTER TABLE packet ADD COLUMN seeds_by_weight INTEGER NOT NULL DEFAULT 0 CHECK (seeds_by_weight IN (0, 1)); -- 1: seeds is an estimate
ALTER TABLE sowing ADD COLUMN grams REAL CHECK (grams > 0);              -- NULL: not weighed
ALTER TABLE sowing ADD COLUMN planted_out_on TEXT;                       -- NULL: not yet, or sown where it flowers

-- Seed that left a packet otherwise than by sowing or a test.
CREATE TABLE seed_out (
  id        INTEGER PRIMARY KEY,
  packet_id INTEGER NOT NULL REFERENCES packet (id) ON DELETE CASCADE,
  day       TEXT NOT NULL,
  how       TEXT NOT NULL CHECK (how IN ('given', 'sold', 'lost')),
  seeds     INTEGER NOT NULL CHECK (seeds > 0),
  grams     REAL CHECK (grams > 0),                    -- NULL: not weighed
  to_whom   TEXT NOT NULL DEFAULT '',
  note      TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX seed_out_packet ON seed_out (packet_id);

-- A crop of the grower's own. Its values that differ from those of its base are in crop_value.
CREATE TABLE crop (
  id       INTEGER PRIMARY KEY,
  name     TEXT NOT NULL CHECK (name <> ''),           -- in one word
  key      TEXT NOT NULL UNIQUE,
  title    TEXT NOT NULL CHECK (title <> ''),
  base     TEXT NOT NULL CHECK (base <> ''),           -- the built-in crop whose values it takes
  added_at TEXT NOT NULL
) STRICT;

-- What holds for the whole garden: 'last-frost' is the month and day of the usual last
-- frost, '05-15'.
CREATE TABLE setting (
  id    INTEGER PRIMARY KEY,
  name  TEXT NOT NULL UNIQUE CHECK (name <> ''),
  value TEXT NOT NULL
) STRICT;

-- Changes of them are noted, too; and those of the tables that have got columns with
-- these in.

DROP TRIGGER plant_changed;
DROP TRIGGER plant_removed;
CREATE TRIGGER plant_changed AFTER UPDATE ON plant WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'plant', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'status', old.status, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'founder_group', old.founder_group, 'founder_inbreeding', old.founder_inbreeding, 'note', old.note, 'added_at', old.added_at, 'sowing_id', old.sowing_id, 'clone_of_id', old.clone_of_id, 'cloned_by', old.cloned_by, 'place', old.place));
END;
CREATE TRIGGER plant_removed AFTER DELETE ON plant WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'plant', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'status', old.status, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'founder_group', old.founder_group, 'founder_inbreeding', old.founder_inbreeding, 'note', old.note, 'added_at', old.added_at, 'sowing_id', old.sowing_id, 'clone_of_id', old.clone_of_id, 'cloned_by', old.cloned_by, 'place', old.place));
END;

DROP TRIGGER cross_changed;
DROP TRIGGER cross_removed;
CREATE TRIGGER cross_changed AFTER UPDATE ON "cross" WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'cross', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'kind', old.kind, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'made_on', old.made_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at, 'pollen_id', old.pollen_id));
END;
CREATE TRIGGER cross_removed AFTER DELETE ON "cross" WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'cross', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'kind', old.kind, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'made_on', old.made_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at, 'pollen_id', old.pollen_id));
END;

DROP TRIGGER head_changed;
DROP TRIGGER head_removed;
CREATE TRIGGER head_changed AFTER UPDATE ON head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'head', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'plant_id', old.plant_id, 'number', old.number, 'season_id', old.season_id, 'cross_id', old.cross_id, 'bagged_on', old.bagged_on, 'stigmas_dry_on', old.stigmas_dry_on, 'harvested_on', old.harvested_on, 'seeds', old.seeds, 'lost_on', old.lost_on, 'note', old.note, 'added_at', old.added_at, 'emasculated_on', old.emasculated_on));
END;
CREATE TRIGGER head_removed AFTER DELETE ON head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'head', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'plant_id', old.plant_id, 'number', old.number, 'season_id', old.season_id, 'cross_id', old.cross_id, 'bagged_on', old.bagged_on, 'stigmas_dry_on', old.stigmas_dry_on, 'harvested_on', old.harvested_on, 'seeds', old.seeds, 'lost_on', old.lost_on, 'note', old.note, 'added_at', old.added_at, 'emasculated_on', old.emasculated_on));
END;

DROP TRIGGER packet_changed;
DROP TRIGGER packet_removed;
CREATE TRIGGER packet_changed AFTER UPDATE ON packet WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'cross_id', old.cross_id, 'founder_group', old.founder_group, 'seeds', old.seeds, 'made_on', old.made_on, 'dried_on', old.dried_on, 'place', old.place, 'paper', old.paper, 'note', old.note, 'added_at', old.added_at, 'grams', old.grams, 'seeds_by_weight', old.seeds_by_weight));
END;
CREATE TRIGGER packet_removed AFTER DELETE ON packet WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'cross_id', old.cross_id, 'founder_group', old.founder_group, 'seeds', old.seeds, 'made_on', old.made_on, 'dried_on', old.dried_on, 'place', old.place, 'paper', old.paper, 'note', old.note, 'added_at', old.added_at, 'grams', old.grams, 'seeds_by_weight', old.seeds_by_weight));
END;

DROP TRIGGER sowing_changed;
DROP TRIGGER sowing_removed;
CREATE TRIGGER sowing_changed AFTER UPDATE ON sowing WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'sowing', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'packet_id', old.packet_id, 'line_id', old.line_id, 'season_id', old.season_id, 'sown_on', old.sown_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at, 'grams', old.grams, 'planted_out_on', old.planted_out_on));
END;
CREATE TRIGGER sowing_removed AFTER DELETE ON sowing WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'sowing', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'packet_id', old.packet_id, 'line_id', old.line_id, 'season_id', old.season_id, 'sown_on', old.sown_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at, 'grams', old.grams, 'planted_out_on', old.planted_out_on));
END;

CREATE TRIGGER pollen_added AFTER INSERT ON pollen WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'pollen', new.id, NULL);
END;
CREATE TRIGGER pollen_changed AFTER UPDATE ON pollen WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'pollen', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'plant_id', old.plant_id, 'season_id', old.season_id, 'collected_on', old.collected_on, 'dried_on', old.dried_on, 'good_until', old.good_until, 'used_up_on', old.used_up_on, 'place', old.place, 'note', old.note, 'added_at', old.added_at));
END;
CREATE TRIGGER pollen_removed AFTER DELETE ON pollen WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'pollen', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'plant_id', old.plant_id, 'season_id', old.season_id, 'collected_on', old.collected_on, 'dried_on', old.dried_on, 'good_until', old.good_until, 'used_up_on', old.used_up_on, 'place', old.place, 'note', old.note, 'added_at', old.added_at));
END;

CREATE TRIGGER seed_out_added AFTER INSERT ON seed_out WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'seed_out', new.id, NULL);
END;
CREATE TRIGGER seed_out_changed AFTER UPDATE ON seed_out WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'seed_out', old.id, json_object('id', old.id, 'packet_id', old.packet_id, 'day', old.day, 'how', old.how, 'seeds', old.seeds, 'grams', old.grams, 'to_whom', old.to_whom, 'note', old.note));
END;
CREATE TRIGGER seed_out_removed AFTER DELETE ON seed_out WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'seed_out', old.id, json_object('id', old.id, 'packet_id', old.packet_id, 'day', old.day, 'how', old.how, 'seeds', old.seeds, 'grams', old.grams, 'to_whom', old.to_whom, 'note', old.note));
END;

CREATE TRIGGER crop_added AFTER INSERT ON crop WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'crop', new.id, NULL);
END;
CREATE TRIGGER crop_changed AFTER UPDATE ON crop WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'crop', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'title', old.title, 'base', old.base, 'added_at', old.added_at));
END;
CREATE TRIGGER crop_removed AFTER DELETE ON crop WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'crop', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'title', old.title, 'base', old.base, 'added_at', old.added_at));
END;

CREATE TRIGGER setting_added AFTER INSERT ON setting WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'setting', new.id, NULL);
END;
CREATE TRIGGER setting_changed AFTER UPDATE ON setting WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'setting', old.id, json_object('id', old.id, 'name', old.name, 'value', old.value));
END;
CREATE TRIGGER setting_removed AFTER DELETE ON setting WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'setting', old.id, json_object('id', old.id, 'name', old.name, 'value', old.value));
END;
