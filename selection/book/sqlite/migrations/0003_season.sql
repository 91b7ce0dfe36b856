-- Version 3: the season's records, from bag to packet, and what was changed by
-- whom and when. Days are ISO 8601 dates, the garden's own. From here on
-- reading.outline is SVG path data in a JSON string, "M367.5 167.5h16v2z"; the
-- points that earlier versions wrote, [[[x,y], …], …], stay as they are.

ALTER TABLE line ADD COLUMN crop TEXT NOT NULL DEFAULT '';  -- which crop's times hold for it: 'zinnia', 'cosmos', …; empty: not said
ALTER TABLE reading ADD COLUMN correction TEXT CHECK (correction IS NULL OR json_valid(correction)); -- {"card":[[x,y]×4],"bloom":[x,y],"strokes":[…]} said by hand; NULL: nothing was

-- What the grower knows better than the built-in figures of a crop.
CREATE TABLE crop_value (
  id    INTEGER PRIMARY KEY,
  crop  TEXT NOT NULL CHECK (crop <> ''),
  field TEXT NOT NULL CHECK (field <> ''),
  value TEXT NOT NULL,
  UNIQUE (crop, field)
) STRICT;

-- Where founders came from: a bought variety, a neighbour's seed. plant.founder_group
-- is its name, compared by key.
CREATE TABLE founder_group (
  id         INTEGER PRIMARY KEY,
  name       TEXT NOT NULL CHECK (name <> ''),
  key        TEXT NOT NULL UNIQUE,
  inbreeding REAL CHECK (inbreeding BETWEEN 0 AND 1),  -- of its plants that do not say themselves; NULL: not known
  note       TEXT NOT NULL DEFAULT '',
  added_at   TEXT NOT NULL
) STRICT;

-- A seed parent and where its pollen came from, in one season.
CREATE TABLE "cross" (
  id               INTEGER PRIMARY KEY,
  name             TEXT NOT NULL CHECK (name <> ''),   -- such as X26-003D
  key              TEXT NOT NULL UNIQUE,
  line_id          INTEGER NOT NULL REFERENCES line (id), -- that the offspring will belong to
  season_id        INTEGER NOT NULL REFERENCES season (id),
  kind             TEXT NOT NULL CHECK (kind IN ('cross', 'self', 'sib', 'open')),
  seed_parent_id   INTEGER NOT NULL REFERENCES plant (id),
  pollen_parent_id INTEGER REFERENCES plant (id),      -- NULL: not known, or open-pollinated
  made_on          TEXT,                               -- NULL: not said
  seeds            INTEGER CHECK (seeds >= 0),         -- in all, where no heads were noted; NULL: not said
  note             TEXT NOT NULL DEFAULT '',
  added_at         TEXT NOT NULL,
  CHECK ((kind = 'self') = (pollen_parent_id IS NOT NULL AND pollen_parent_id = seed_parent_id)),
  CHECK (kind <> 'open' OR pollen_parent_id IS NULL)
) STRICT;
CREATE INDEX cross_season ON "cross" (season_id);
CREATE INDEX cross_seed ON "cross" (seed_parent_id);
CREATE INDEX cross_pollen ON "cross" (pollen_parent_id) WHERE pollen_parent_id IS NOT NULL;

-- One flower head of a plant, from bag to seed. Its name is the plant's with -1, -2, …
CREATE TABLE head (
  id             INTEGER PRIMARY KEY,
  name           TEXT NOT NULL CHECK (name <> ''),
  key            TEXT NOT NULL UNIQUE,
  plant_id       INTEGER NOT NULL REFERENCES plant (id),
  number         INTEGER NOT NULL CHECK (number > 0),
  season_id      INTEGER NOT NULL REFERENCES season (id),
  cross_id       INTEGER REFERENCES "cross" (id),      -- NULL: not said yet what it is for
  bagged_on      TEXT,
  stigmas_dry_on TEXT,
  harvested_on   TEXT,
  seeds          INTEGER CHECK (seeds >= 0),           -- NULL: not counted
  lost_on        TEXT,                                 -- broken, eaten, mouldy
  note           TEXT NOT NULL DEFAULT '',
  added_at       TEXT NOT NULL,
  UNIQUE (plant_id, number)
) STRICT;
CREATE INDEX head_season ON head (season_id);
CREATE INDEX head_cross ON head (cross_id) WHERE cross_id IS NOT NULL;

-- A day on which a head was pollinated.
CREATE TABLE pollination (
  id      INTEGER PRIMARY KEY,
  head_id INTEGER NOT NULL REFERENCES head (id) ON DELETE CASCADE,
  day     TEXT NOT NULL,
  note    TEXT NOT NULL DEFAULT '',
  UNIQUE (head_id, day)
) STRICT;

-- One lot of seed in one envelope.
CREATE TABLE packet (
  id            INTEGER PRIMARY KEY,
  name          TEXT NOT NULL CHECK (name <> ''),      -- such as P26-003S
  key           TEXT NOT NULL UNIQUE,
  line_id       INTEGER NOT NULL REFERENCES line (id),
  season_id     INTEGER NOT NULL REFERENCES season (id), -- in which the seed grew, or came
  cross_id      INTEGER REFERENCES "cross" (id),       -- NULL: bought, or given
  founder_group TEXT NOT NULL DEFAULT '',              -- of bought seed
  seeds         INTEGER CHECK (seeds >= 0),            -- NULL: not counted
  made_on       TEXT,
  dried_on      TEXT,                                  -- NULL: not dry yet, or not said
  place         TEXT NOT NULL DEFAULT '',              -- where it is kept
  paper         TEXT NOT NULL DEFAULT '',              -- what it is kept in
  note          TEXT NOT NULL DEFAULT '',
  added_at      TEXT NOT NULL
) STRICT;
CREATE INDEX packet_season ON packet (season_id);
CREATE INDEX packet_cross ON packet (cross_id) WHERE cross_id IS NOT NULL;

-- The heads whose seed went into a packet.
CREATE TABLE packet_head (
  id        INTEGER PRIMARY KEY,
  packet_id INTEGER NOT NULL REFERENCES packet (id) ON DELETE CASCADE,
  head_id   INTEGER NOT NULL REFERENCES head (id),
  UNIQUE (packet_id, head_id)
) STRICT;
CREATE INDEX packet_head_head ON packet_head (head_id);

-- Some seeds of a packet laid out to see how many sprout.
CREATE TABLE germination_test (
  id         INTEGER PRIMARY KEY,
  packet_id  INTEGER NOT NULL REFERENCES packet (id) ON DELETE CASCADE,
  started_on TEXT NOT NULL,
  seeds      INTEGER NOT NULL CHECK (seeds > 0),
  read_on    TEXT,                                     -- NULL: not read yet
  sprouted   INTEGER CHECK (sprouted BETWEEN 0 AND seeds),
  note       TEXT NOT NULL DEFAULT '',
  CHECK ((read_on IS NULL) = (sprouted IS NULL))
) STRICT;
CREATE INDEX germination_packet ON germination_test (packet_id);

-- Seeds of a packet sown on one day; the plants that came of them name it.
CREATE TABLE sowing (
  id        INTEGER PRIMARY KEY,
  name      TEXT NOT NULL CHECK (name <> ''),          -- such as S27-002T
  key       TEXT NOT NULL UNIQUE,
  packet_id INTEGER NOT NULL REFERENCES packet (id),
  line_id   INTEGER NOT NULL REFERENCES line (id),
  season_id INTEGER NOT NULL REFERENCES season (id),
  sown_on   TEXT,
  seeds     INTEGER NOT NULL CHECK (seeds > 0),
  note      TEXT NOT NULL DEFAULT '',
  added_at  TEXT NOT NULL
) STRICT;
CREATE INDEX sowing_packet ON sowing (packet_id);
CREATE INDEX sowing_season ON sowing (season_id);

ALTER TABLE plant ADD COLUMN sowing_id INTEGER REFERENCES sowing (id); -- NULL: not from a packet of this book
CREATE INDEX plant_sowing ON plant (sowing_id) WHERE sowing_id IS NOT NULL;

-- What plants are scored on beside colour.
CREATE TABLE trait (
  id     INTEGER PRIMARY KEY,
  name   TEXT NOT NULL CHECK (name <> ''),
  key    TEXT NOT NULL UNIQUE,
  unit   TEXT NOT NULL DEFAULT '',                     -- 'cm', 'days'; empty: a scale
  low    REAL,                                         -- least and greatest value; NULL: any
  high   REAL,
  better TEXT NOT NULL DEFAULT '' CHECK (better IN ('', 'more', 'less')),
  words  TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(words)), -- what the whole steps from low on mean, ["single", …, "fully double"]
  note   TEXT NOT NULL DEFAULT ''
) STRICT;

-- One score. The newest (largest id) of a plant and trait counts.
CREATE TABLE score (
  id        INTEGER PRIMARY KEY,
  plant_id  INTEGER NOT NULL REFERENCES plant (id),
  trait_id  INTEGER NOT NULL REFERENCES trait (id),
  value     REAL NOT NULL,
  scored_on TEXT,
  note      TEXT NOT NULL DEFAULT '',
  added_at  TEXT NOT NULL
) STRICT;
CREATE INDEX score_plant ON score (plant_id, trait_id, id);

-- Who changed what and when. The rows it touched are in changed_row.
CREATE TABLE change (
  id     INTEGER PRIMARY KEY,
  at     TEXT NOT NULL,
  who    TEXT NOT NULL DEFAULT '',
  what   TEXT NOT NULL,                                -- in words: 'head M-07-1 bagged'
  undoes INTEGER REFERENCES change (id),               -- the change that this one took back; NULL: none
  undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1))
) STRICT;

-- A row as it was before a change; the triggers below fill it.
CREATE TABLE changed_row (
  id        INTEGER PRIMARY KEY,
  change_id INTEGER NOT NULL REFERENCES change (id),
  tbl       TEXT NOT NULL,
  row       INTEGER NOT NULL,
  before    TEXT,                                      -- JSON of the row; NULL: it was not there
  last      INTEGER                                    -- of an import: all rows from row to last, which were not there; NULL: row alone
) STRICT;
CREATE INDEX changed_row_change ON changed_row (change_id, id);

-- The change being made, within its transaction; NULL: nothing is noted.
CREATE TABLE change_now (
  one       INTEGER PRIMARY KEY CHECK (one = 1),
  change_id INTEGER
) STRICT;
INSERT INTO change_now VALUES (1, NULL);

-- Every change of what the grower entered is noted, so that it can be undone.
-- Photos and readings are not: measuring adds, and changes nothing.

CREATE TRIGGER line_added AFTER INSERT ON line WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'line', new.id, NULL);
END;
CREATE TRIGGER line_changed AFTER UPDATE ON line WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'line', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'note', old.note, 'added_at', old.added_at, 'crop', old.crop));
END;
CREATE TRIGGER line_removed AFTER DELETE ON line WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'line', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'note', old.note, 'added_at', old.added_at, 'crop', old.crop));
END;

CREATE TRIGGER target_added AFTER INSERT ON target WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'target', new.id, NULL);
END;
CREATE TRIGGER target_changed AFTER UPDATE ON target WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'target', old.id, json_object('id', old.id, 'line_id', old.line_id, 'aim', old.aim, 'l', old.l, 'a', old.a, 'b', old.b, 'within', old.within, 'source', old.source, 'measured', old.measured, 'set_at', old.set_at));
END;
CREATE TRIGGER target_removed AFTER DELETE ON target WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'target', old.id, json_object('id', old.id, 'line_id', old.line_id, 'aim', old.aim, 'l', old.l, 'a', old.a, 'b', old.b, 'within', old.within, 'source', old.source, 'measured', old.measured, 'set_at', old.set_at));
END;

CREATE TRIGGER season_added AFTER INSERT ON season WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'season', new.id, NULL);
END;
CREATE TRIGGER season_changed AFTER UPDATE ON season WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'season', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key));
END;
CREATE TRIGGER season_removed AFTER DELETE ON season WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'season', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key));
END;

CREATE TRIGGER plant_added AFTER INSERT ON plant WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'plant', new.id, NULL);
END;
CREATE TRIGGER plant_changed AFTER UPDATE ON plant WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'plant', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'status', old.status, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'founder_group', old.founder_group, 'founder_inbreeding', old.founder_inbreeding, 'note', old.note, 'added_at', old.added_at, 'sowing_id', old.sowing_id));
END;
CREATE TRIGGER plant_removed AFTER DELETE ON plant WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'plant', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'status', old.status, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'founder_group', old.founder_group, 'founder_inbreeding', old.founder_inbreeding, 'note', old.note, 'added_at', old.added_at, 'sowing_id', old.sowing_id));
END;

CREATE TRIGGER founder_group_added AFTER INSERT ON founder_group WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'founder_group', new.id, NULL);
END;
CREATE TRIGGER founder_group_changed AFTER UPDATE ON founder_group WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'founder_group', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'inbreeding', old.inbreeding, 'note', old.note, 'added_at', old.added_at));
END;
CREATE TRIGGER founder_group_removed AFTER DELETE ON founder_group WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'founder_group', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'inbreeding', old.inbreeding, 'note', old.note, 'added_at', old.added_at));
END;

CREATE TRIGGER cross_added AFTER INSERT ON "cross" WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'cross', new.id, NULL);
END;
CREATE TRIGGER cross_changed AFTER UPDATE ON "cross" WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'cross', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'kind', old.kind, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'made_on', old.made_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at));
END;
CREATE TRIGGER cross_removed AFTER DELETE ON "cross" WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'cross', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'kind', old.kind, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'made_on', old.made_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at));
END;

CREATE TRIGGER head_added AFTER INSERT ON head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'head', new.id, NULL);
END;
CREATE TRIGGER head_changed AFTER UPDATE ON head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'head', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'plant_id', old.plant_id, 'number', old.number, 'season_id', old.season_id, 'cross_id', old.cross_id, 'bagged_on', old.bagged_on, 'stigmas_dry_on', old.stigmas_dry_on, 'harvested_on', old.harvested_on, 'seeds', old.seeds, 'lost_on', old.lost_on, 'note', old.note, 'added_at', old.added_at));
END;
CREATE TRIGGER head_removed AFTER DELETE ON head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'head', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'plant_id', old.plant_id, 'number', old.number, 'season_id', old.season_id, 'cross_id', old.cross_id, 'bagged_on', old.bagged_on, 'stigmas_dry_on', old.stigmas_dry_on, 'harvested_on', old.harvested_on, 'seeds', old.seeds, 'lost_on', old.lost_on, 'note', old.note, 'added_at', old.added_at));
END;

CREATE TRIGGER pollination_added AFTER INSERT ON pollination WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'pollination', new.id, NULL);
END;
CREATE TRIGGER pollination_changed AFTER UPDATE ON pollination WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'pollination', old.id, json_object('id', old.id, 'head_id', old.head_id, 'day', old.day, 'note', old.note));
END;
CREATE TRIGGER pollination_removed AFTER DELETE ON pollination WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'pollination', old.id, json_object('id', old.id, 'head_id', old.head_id, 'day', old.day, 'note', old.note));
END;

CREATE TRIGGER packet_added AFTER INSERT ON packet WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet', new.id, NULL);
END;
CREATE TRIGGER packet_changed AFTER UPDATE ON packet WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'cross_id', old.cross_id, 'founder_group', old.founder_group, 'seeds', old.seeds, 'made_on', old.made_on, 'dried_on', old.dried_on, 'place', old.place, 'paper', old.paper, 'note', old.note, 'added_at', old.added_at));
END;
CREATE TRIGGER packet_removed AFTER DELETE ON packet WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'cross_id', old.cross_id, 'founder_group', old.founder_group, 'seeds', old.seeds, 'made_on', old.made_on, 'dried_on', old.dried_on, 'place', old.place, 'paper', old.paper, 'note', old.note, 'added_at', old.added_at));
END;

CREATE TRIGGER packet_head_added AFTER INSERT ON packet_head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet_head', new.id, NULL);
END;
CREATE TRIGGER packet_head_changed AFTER UPDATE ON packet_head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet_head', old.id, json_object('id', old.id, 'packet_id', old.packet_id, 'head_id', old.head_id));
END;
CREATE TRIGGER packet_head_removed AFTER DELETE ON packet_head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet_head', old.id, json_object('id', old.id, 'packet_id', old.packet_id, 'head_id', old.head_id));
END;

CREATE TRIGGER germination_test_added AFTER INSERT ON germination_test WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'germination_test', new.id, NULL);
END;
CREATE TRIGGER germination_test_changed AFTER UPDATE ON germination_test WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'germination_test', old.id, json_object('id', old.id, 'packet_id', old.packet_id, 'started_on', old.started_on, 'seeds', old.seeds, 'read_on', old.read_on, 'sprouted', old.sprouted, 'note', old.note));
END;
CREATE TRIGGER germination_test_removed AFTER DELETE ON germination_test WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'germination_test', old.id, json_object('id', old.id, 'packet_id', old.packet_id, 'started_on', old.started_on, 'seeds', old.seeds, 'read_on', old.read_on, 'sprouted', old.sprouted, 'note', old.note));
END;

CREATE TRIGGER sowing_added AFTER INSERT ON sowing WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'sowing', new.id, NULL);
END;
CREATE TRIGGER sowing_changed AFTER UPDATE ON sowing WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'sowing', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'packet_id', old.packet_id, 'line_id', old.line_id, 'season_id', old.season_id, 'sown_on', old.sown_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at));
END;
CREATE TRIGGER sowing_removed AFTER DELETE ON sowing WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'sowing', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'packet_id', old.packet_id, 'line_id', old.line_id, 'season_id', old.season_id, 'sown_on', old.sown_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at));
END;

CREATE TRIGGER trait_added AFTER INSERT ON trait WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'trait', new.id, NULL);
END;
CREATE TRIGGER trait_changed AFTER UPDATE ON trait WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'trait', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'unit', old.unit, 'low', old.low, 'high', old.high, 'better', old.better, 'words', old.words, 'note', old.note));
END;
CREATE TRIGGER trait_removed AFTER DELETE ON trait WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'trait', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'unit', old.unit, 'low', old.low, 'high', old.high, 'better', old.better, 'words', old.words, 'note', old.note));
END;

CREATE TRIGGER score_added AFTER INSERT ON score WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'score', new.id, NULL);
END;
CREATE TRIGGER score_changed AFTER UPDATE ON score WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'score', old.id, json_object('id', old.id, 'plant_id', old.plant_id, 'trait_id', old.trait_id, 'value', old.value, 'scored_on', old.scored_on, 'note', old.note, 'added_at', old.added_at));
END;
CREATE TRIGGER score_removed AFTER DELETE ON score WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'score', old.id, json_object('id', old.id, 'plant_id', old.plant_id, 'trait_id', old.trait_id, 'value', old.value, 'scored_on', old.scored_on, 'note', old.note, 'added_at', old.added_at));
END;

CREATE TRIGGER crop_value_added AFTER INSERT ON crop_value WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'crop_value', new.id, NULL);
END;
CREATE TRIGGER crop_value_changed AFTER UPDATE ON crop_value WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'crop_value', old.id, json_object('id', old.id, 'crop', old.crop, 'field', old.field, 'value', old.value));
END;
CREATE TRIGGER crop_value_removed AFTER DELETE ON crop_value WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'crop_value', old.id, json_object('id', old.id, 'crop', old.crop, 'field', old.field, 'value', old.value));
END;

-- Of a photo only which plant it shows is the grower's word.
CREATE TRIGGER photo_assigned AFTER UPDATE OF plant_id ON photo WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'photo', old.id, json_object('id', old.id, 'plant_id', old.plant_id));
END;
