-- Written by TestNewest from the migrations: change those.

CREATE TABLE line (
  id       INTEGER PRIMARY KEY,
  name     TEXT NOT NULL CHECK (name <> ''),
  key      TEXT NOT NULL UNIQUE,
  note     TEXT NOT NULL DEFAULT '',
  added_at TEXT NOT NULL
, crop TEXT NOT NULL DEFAULT '') STRICT;

CREATE TABLE target (
  id       INTEGER PRIMARY KEY,
  line_id  INTEGER NOT NULL REFERENCES line (id) ON DELETE CASCADE,
  aim      TEXT NOT NULL CHECK (aim IN ('move', 'hold')),
  l        REAL NOT NULL,
  a        REAL NOT NULL,
  b        REAL NOT NULL,
  within   REAL NOT NULL CHECK (within > 0),          -- tolerance, Delta E 2000
  source   TEXT NOT NULL DEFAULT '',                  -- where the shade came from, in words
  measured INTEGER NOT NULL DEFAULT 0 CHECK (measured IN (0, 1)), -- 1: from a photo
  set_at   TEXT NOT NULL
, second_l REAL, second_a REAL, second_b REAL) STRICT;

CREATE INDEX target_line ON target (line_id, id);

CREATE TABLE season (
  id   INTEGER PRIMARY KEY,
  name TEXT NOT NULL CHECK (name <> ''),
  key  TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE plant (
  id                 INTEGER PRIMARY KEY,
  name               TEXT NOT NULL CHECK (name <> ''), -- the id on its tag
  key                TEXT NOT NULL UNIQUE,
  line_id            INTEGER NOT NULL REFERENCES line (id),
  season_id          INTEGER NOT NULL REFERENCES season (id),
  status             TEXT NOT NULL DEFAULT 'growing'
                     CHECK (status IN ('growing', 'kept', 'reserve', 'passed', 'off-type', 'lost')),
  seed_parent_id     INTEGER REFERENCES plant (id),    -- NULL: not known
  pollen_parent_id   INTEGER REFERENCES plant (id),    -- NULL: not known, or open-pollinated
  founder_group      TEXT NOT NULL DEFAULT '',         -- of a founder: the variety or lot it came from
  founder_inbreeding REAL CHECK (founder_inbreeding BETWEEN 0 AND 1), -- NULL: not known
  note               TEXT NOT NULL DEFAULT '',
  added_at           TEXT NOT NULL, sowing_id INTEGER REFERENCES sowing (id), clone_of_id INTEGER REFERENCES plant (id), cloned_by TEXT NOT NULL DEFAULT '' CHECK (cloned_by IN ('', 'tuber', 'cutting', 'division')), place TEXT NOT NULL DEFAULT '',
  CHECK (seed_parent_id <> id),
  CHECK (pollen_parent_id <> id)
) STRICT;

CREATE INDEX plant_line ON plant (line_id, season_id);

CREATE INDEX plant_season ON plant (season_id);

CREATE INDEX plant_seed_parent ON plant (seed_parent_id) WHERE seed_parent_id IS NOT NULL;

CREATE INDEX plant_pollen_parent ON plant (pollen_parent_id) WHERE pollen_parent_id IS NOT NULL;

CREATE TABLE photo (
  id        INTEGER PRIMARY KEY,
  sha256    TEXT NOT NULL UNIQUE CHECK (length(sha256) = 64),
  plant_id  INTEGER REFERENCES plant (id),             -- NULL: not known which plant it shows
  season_id INTEGER NOT NULL REFERENCES season (id),
  path      TEXT NOT NULL UNIQUE CHECK (path LIKE 'photos/%'),
  name      TEXT NOT NULL,                             -- the file name it came with
  bytes     INTEGER NOT NULL CHECK (bytes >= 0),
  taken_at  TEXT,                                      -- NULL: not written in the photo
  camera    TEXT NOT NULL DEFAULT '',                  -- make and model
  width     INTEGER NOT NULL DEFAULT 0,                -- as displayed; 0: could not be opened
  height    INTEGER NOT NULL DEFAULT 0,
  added_at  TEXT NOT NULL
) STRICT;

CREATE INDEX photo_plant ON photo (plant_id);

CREATE INDEX photo_season ON photo (season_id, plant_id);

CREATE TABLE reading (
  id           INTEGER PRIMARY KEY,
  photo_id     INTEGER REFERENCES photo (id),
  plant_id     INTEGER REFERENCES plant (id),
  season_id    INTEGER REFERENCES season (id),
  source       TEXT NOT NULL,                          -- 'photo', or the instrument
  method       INTEGER NOT NULL,                       -- version of the way of measuring; 0: an instrument's
  status       TEXT NOT NULL CHECK (status IN ('ok', 'check', 'refused')),
  reason       TEXT NOT NULL DEFAULT '',               -- why to be checked, or refused, and what to do
  l            REAL,
  a            REAL,
  b            REAL,
  hex          TEXT NOT NULL DEFAULT '',               -- nearest sRGB colour
  colour_name  TEXT NOT NULL DEFAULT '',
  precision_de REAL NOT NULL DEFAULT 0,                -- standard error when plants are compared, Delta E 2000
  trueness_de  REAL NOT NULL DEFAULT 0,                -- standard error against an instrument
  se_l         REAL,                                   -- precision as standard error of l, a, b
  se_a         REAL,
  se_b         REAL,
  spread_l     REAL,                                   -- robust standard deviation within the petals
  spread_a     REAL,
  spread_b     REAL,
  colours      TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(colours)), -- [{"lab":[L,a,b],"share":0.7}, …]
  flags        TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(flags)),   -- ["card-uneven", …]
  profile      TEXT NOT NULL DEFAULT '',               -- colour profile that the photo was read by
  card_found   INTEGER NOT NULL DEFAULT 0 CHECK (card_found IN (0, 1)),
  card_corners TEXT CHECK (card_corners IS NULL OR json_valid(card_corners)), -- [[x,y] × 4], pixels as displayed
  gain_r       REAL NOT NULL DEFAULT 1,                -- light correction, linear
  gain_g       REAL NOT NULL DEFAULT 1,
  gain_b       REAL NOT NULL DEFAULT 1,
  cct          REAL NOT NULL DEFAULT 0,                -- colour temperature of the light, kelvin; 0: unknown
  ev           REAL NOT NULL DEFAULT 0,                -- exposure against the card, stops
  petal_pixels INTEGER NOT NULL DEFAULT 0,
  petal_share  REAL NOT NULL DEFAULT 0,                -- of the photo's area
  bloom_x      REAL,                                   -- middle of the bloom
  bloom_y      REAL,
  outline      TEXT CHECK (outline IS NULL OR json_valid(outline)), -- [[[x,y], …], …] around the petals
  measured_at  TEXT NOT NULL, camera_model TEXT NOT NULL DEFAULT '', card_kind TEXT NOT NULL DEFAULT '', diameter_px REAL NOT NULL DEFAULT 0, diameter_mm REAL NOT NULL DEFAULT 0, radial TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(radial)), zones TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(zones)), tag TEXT CHECK (tag IS NULL OR json_valid(tag)), correction TEXT CHECK (correction IS NULL OR json_valid(correction)), sum TEXT NOT NULL DEFAULT '',
  CHECK ((source = 'photo' AND photo_id IS NOT NULL AND plant_id IS NULL AND season_id IS NULL)
      OR (source <> 'photo' AND source <> '' AND photo_id IS NULL AND plant_id IS NOT NULL AND season_id IS NOT NULL)),
  CHECK ((status = 'refused') = (l IS NULL)),
  CHECK ((l IS NULL) = (a IS NULL) AND (l IS NULL) = (b IS NULL)),
  CHECK (status <> 'refused' OR reason <> '')
) STRICT;

CREATE INDEX reading_photo ON reading (photo_id, id);

CREATE INDEX reading_plant ON reading (plant_id, season_id) WHERE plant_id IS NOT NULL;

CREATE VIEW counting_reading AS
SELECT r.id AS reading_id, p.name AS plant, n.name AS line, s.name AS season, f.path AS photo,
       r.source, r.status, r.reason, r.l, r.a, r.b, r.precision_de, r.trueness_de, r.measured_at
FROM reading r
LEFT JOIN photo f ON f.id = r.photo_id
LEFT JOIN plant p ON p.id = coalesce(r.plant_id, f.plant_id)
LEFT JOIN line n ON n.id = p.line_id
JOIN season s ON s.id = coalesce(r.season_id, f.season_id)
WHERE r.photo_id IS NULL OR r.id = (SELECT max(id) FROM reading WHERE photo_id = r.photo_id);

CREATE TABLE camera_model (
  id        INTEGER PRIMARY KEY,
  camera    TEXT NOT NULL CHECK (camera <> ''),        -- make and model as its photos say them
  key       TEXT NOT NULL UNIQUE,
  model     TEXT NOT NULL CHECK (json_valid(model)),   -- curve and correction
  kind      TEXT NOT NULL,                             -- 'gains', 'matrix', 'root-polynomial'
  patches   INTEGER NOT NULL CHECK (patches >= 0),     -- how many it was learnt from
  loo_de    REAL NOT NULL CHECK (loo_de >= 0),         -- mean leave-one-out error, Delta E 2000
  photo     TEXT NOT NULL DEFAULT '',                  -- name of the chart's photo
  learnt_at TEXT NOT NULL
) STRICT;

CREATE TABLE crop_value (
  id    INTEGER PRIMARY KEY,
  crop  TEXT NOT NULL CHECK (crop <> ''),
  field TEXT NOT NULL CHECK (field <> ''),
  value TEXT NOT NULL,
  UNIQUE (crop, field)
) STRICT;

CREATE TABLE founder_group (
  id         INTEGER PRIMARY KEY,
  name       TEXT NOT NULL CHECK (name <> ''),
  key        TEXT NOT NULL UNIQUE,
  inbreeding REAL CHECK (inbreeding BETWEEN 0 AND 1),  -- of its plants that do not say themselves; NULL: not known
  note       TEXT NOT NULL DEFAULT '',
  added_at   TEXT NOT NULL
) STRICT;

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
  added_at         TEXT NOT NULL, pollen_id INTEGER REFERENCES pollen (id),
  CHECK ((kind = 'self') = (pollen_parent_id IS NOT NULL AND pollen_parent_id = seed_parent_id)),
  CHECK (kind <> 'open' OR pollen_parent_id IS NULL)
) STRICT;

CREATE INDEX cross_season ON "cross" (season_id);

CREATE INDEX cross_seed ON "cross" (seed_parent_id);

CREATE INDEX cross_pollen ON "cross" (pollen_parent_id) WHERE pollen_parent_id IS NOT NULL;

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
  added_at       TEXT NOT NULL, emasculated_on TEXT,
  UNIQUE (plant_id, number)
) STRICT;

CREATE INDEX head_season ON head (season_id);

CREATE INDEX head_cross ON head (cross_id) WHERE cross_id IS NOT NULL;

CREATE TABLE pollination (
  id      INTEGER PRIMARY KEY,
  head_id INTEGER NOT NULL REFERENCES head (id) ON DELETE CASCADE,
  day     TEXT NOT NULL,
  note    TEXT NOT NULL DEFAULT '',
  UNIQUE (head_id, day)
) STRICT;

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
, grams REAL CHECK (grams > 0), seeds_by_weight INTEGER NOT NULL DEFAULT 0 CHECK (seeds_by_weight IN (0, 1))) STRICT;

CREATE INDEX packet_season ON packet (season_id);

CREATE INDEX packet_cross ON packet (cross_id) WHERE cross_id IS NOT NULL;

CREATE TABLE packet_head (
  id        INTEGER PRIMARY KEY,
  packet_id INTEGER NOT NULL REFERENCES packet (id) ON DELETE CASCADE,
  head_id   INTEGER NOT NULL REFERENCES head (id),
  UNIQUE (packet_id, head_id)
) STRICT;

CREATE INDEX packet_head_head ON packet_head (head_id);

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
, grams REAL CHECK (grams > 0), planted_out_on TEXT) STRICT;

CREATE INDEX sowing_packet ON sowing (packet_id);

CREATE INDEX sowing_season ON sowing (season_id);

CREATE INDEX plant_sowing ON plant (sowing_id) WHERE sowing_id IS NOT NULL;

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

CREATE TABLE change (
  id     INTEGER PRIMARY KEY,
  at     TEXT NOT NULL,
  who    TEXT NOT NULL DEFAULT '',
  what   TEXT NOT NULL,                                -- in words: 'head M-07-1 bagged'
  undoes INTEGER REFERENCES change (id),               -- the change that this one took back; NULL: none
  undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1))
, sum TEXT NOT NULL DEFAULT '') STRICT;

CREATE TABLE changed_row (
  id        INTEGER PRIMARY KEY,
  change_id INTEGER NOT NULL REFERENCES change (id),
  tbl       TEXT NOT NULL,
  row       INTEGER NOT NULL,
  before    TEXT,                                      -- JSON of the row; NULL: it was not there
  last      INTEGER                                    -- of an import: all rows from row to last, which were not there; NULL: row alone
) STRICT;

CREATE INDEX changed_row_change ON changed_row (change_id, id);

CREATE TABLE change_now (
  one       INTEGER PRIMARY KEY CHECK (one = 1),
  change_id INTEGER
, last INTEGER NOT NULL DEFAULT -1) STRICT;

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

CREATE TRIGGER head_added AFTER INSERT ON head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'head', new.id, NULL);
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

CREATE TRIGGER photo_assigned AFTER UPDATE OF plant_id ON photo WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'photo', old.id, json_object('id', old.id, 'plant_id', old.plant_id));
END;

CREATE TABLE request (
  id        TEXT NOT NULL CHECK (id <> ''),  -- made up by the device
  sum       TEXT NOT NULL,                   -- of what the request said: another content under the same id is another request
  at        TEXT NOT NULL,
  change_id INTEGER REFERENCES change (id) ON DELETE SET NULL, -- what it entered; NULL: nothing that the history knows
  PRIMARY KEY (id, sum)
) STRICT, WITHOUT ROWID;

CREATE INDEX request_at ON request (at);

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

CREATE INDEX cross_stored_pollen ON "cross" (pollen_id) WHERE pollen_id IS NOT NULL;

CREATE INDEX plant_clone ON plant (clone_of_id) WHERE clone_of_id IS NOT NULL;

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

CREATE TABLE crop (
  id       INTEGER PRIMARY KEY,
  name     TEXT NOT NULL CHECK (name <> ''),           -- in one word
  key      TEXT NOT NULL UNIQUE,
  title    TEXT NOT NULL CHECK (title <> ''),
  base     TEXT NOT NULL CHECK (base <> ''),           -- the built-in crop whose values it takes
  added_at TEXT NOT NULL
) STRICT;

CREATE TABLE setting (
  id    INTEGER PRIMARY KEY,
  name  TEXT NOT NULL UNIQUE CHECK (name <> ''),
  value TEXT NOT NULL
) STRICT;

CREATE TRIGGER plant_changed AFTER UPDATE ON plant WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'plant', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'status', old.status, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'founder_group', old.founder_group, 'founder_inbreeding', old.founder_inbreeding, 'note', old.note, 'added_at', old.added_at, 'sowing_id', old.sowing_id, 'clone_of_id', old.clone_of_id, 'cloned_by', old.cloned_by, 'place', old.place));
END;

CREATE TRIGGER plant_removed AFTER DELETE ON plant WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'plant', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'status', old.status, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'founder_group', old.founder_group, 'founder_inbreeding', old.founder_inbreeding, 'note', old.note, 'added_at', old.added_at, 'sowing_id', old.sowing_id, 'clone_of_id', old.clone_of_id, 'cloned_by', old.cloned_by, 'place', old.place));
END;

CREATE TRIGGER cross_changed AFTER UPDATE ON "cross" WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'cross', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'kind', old.kind, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'made_on', old.made_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at, 'pollen_id', old.pollen_id));
END;

CREATE TRIGGER cross_removed AFTER DELETE ON "cross" WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'cross', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'kind', old.kind, 'seed_parent_id', old.seed_parent_id, 'pollen_parent_id', old.pollen_parent_id, 'made_on', old.made_on, 'seeds', old.seeds, 'note', old.note, 'added_at', old.added_at, 'pollen_id', old.pollen_id));
END;

CREATE TRIGGER head_changed AFTER UPDATE ON head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'head', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'plant_id', old.plant_id, 'number', old.number, 'season_id', old.season_id, 'cross_id', old.cross_id, 'bagged_on', old.bagged_on, 'stigmas_dry_on', old.stigmas_dry_on, 'harvested_on', old.harvested_on, 'seeds', old.seeds, 'lost_on', old.lost_on, 'note', old.note, 'added_at', old.added_at, 'emasculated_on', old.emasculated_on));
END;

CREATE TRIGGER head_removed AFTER DELETE ON head WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'head', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'plant_id', old.plant_id, 'number', old.number, 'season_id', old.season_id, 'cross_id', old.cross_id, 'bagged_on', old.bagged_on, 'stigmas_dry_on', old.stigmas_dry_on, 'harvested_on', old.harvested_on, 'seeds', old.seeds, 'lost_on', old.lost_on, 'note', old.note, 'added_at', old.added_at, 'emasculated_on', old.emasculated_on));
END;

CREATE TRIGGER packet_changed AFTER UPDATE ON packet WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'cross_id', old.cross_id, 'founder_group', old.founder_group, 'seeds', old.seeds, 'made_on', old.made_on, 'dried_on', old.dried_on, 'place', old.place, 'paper', old.paper, 'note', old.note, 'added_at', old.added_at, 'grams', old.grams, 'seeds_by_weight', old.seeds_by_weight));
END;

CREATE TRIGGER packet_removed AFTER DELETE ON packet WHEN (SELECT change_id FROM change_now) IS NOT NULL BEGIN
  INSERT INTO changed_row (change_id, tbl, row, before) VALUES ((SELECT change_id FROM change_now), 'packet', old.id, json_object('id', old.id, 'name', old.name, 'key', old.key, 'line_id', old.line_id, 'season_id', old.season_id, 'cross_id', old.cross_id, 'founder_group', old.founder_group, 'seeds', old.seeds, 'made_on', old.made_on, 'dried_on', old.dried_on, 'place', old.place, 'paper', old.paper, 'note', old.note, 'added_at', old.added_at, 'grams', old.grams, 'seeds_by_weight', old.seeds_by_weight));
END;

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

INSERT INTO change_now VALUES (1, NULL, -1);
