-- The breeding book, version 1.
--
-- Any SQLite tool can read it. Times are ISO 8601 text in UTC; a photo's
-- taken_at is as its camera wrote it, which mostly knows no zone. Colours are
-- CIE L*a*b* under D65, 2 degree observer. Lists are JSON text. A key column
-- is its name in lower case (Unicode NFC), so that names are unique whatever
-- their case.

-- A line or variety that is bred.
CREATE TABLE line (
  id       INTEGER PRIMARY KEY,
  name     TEXT NOT NULL CHECK (name <> ''),
  key      TEXT NOT NULL UNIQUE,
  note     TEXT NOT NULL DEFAULT '',
  added_at TEXT NOT NULL
) STRICT;

-- What a line is bred for. Nothing is overwritten: the newest (largest id) of
-- a line counts, the others are its history.
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
) STRICT;
CREATE INDEX target_line ON target (line_id, id);

-- A growing season, such as 2026.
CREATE TABLE season (
  id   INTEGER PRIMARY KEY,
  name TEXT NOT NULL CHECK (name <> ''),
  key  TEXT NOT NULL UNIQUE
) STRICT;

-- One plant. Its season is that in which it was sown; photos have their own.
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
  added_at           TEXT NOT NULL,
  CHECK (seed_parent_id <> id),
  CHECK (pollen_parent_id <> id)
) STRICT;
CREATE INDEX plant_line ON plant (line_id, season_id);
CREATE INDEX plant_season ON plant (season_id);
CREATE INDEX plant_seed_parent ON plant (seed_parent_id) WHERE seed_parent_id IS NOT NULL;
CREATE INDEX plant_pollen_parent ON plant (pollen_parent_id) WHERE pollen_parent_id IS NOT NULL;

-- A photo, known by its content. The file lies at path, from the book's
-- folder, and is never changed.
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

-- One measurement: of a photo, whose plant and season then count, or by an
-- instrument, of a plant in a season. Measuring a photo again adds a row, and
-- the newest (largest id) counts. A refused reading has a reason and no colour.
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
  measured_at  TEXT NOT NULL,
  CHECK ((source = 'photo' AND photo_id IS NOT NULL AND plant_id IS NULL AND season_id IS NULL)
      OR (source <> 'photo' AND source <> '' AND photo_id IS NULL AND plant_id IS NOT NULL AND season_id IS NOT NULL)),
  CHECK ((status = 'refused') = (l IS NULL)),
  CHECK ((l IS NULL) = (a IS NULL) AND (l IS NULL) = (b IS NULL)),
  CHECK (status <> 'refused' OR reason <> '')
) STRICT;
CREATE INDEX reading_photo ON reading (photo_id, id);
CREATE INDEX reading_plant ON reading (plant_id, season_id) WHERE plant_id IS NOT NULL;

-- The readings that count, with the plant and season that they are of.
CREATE VIEW counting_reading AS
SELECT r.id AS reading_id, p.name AS plant, n.name AS line, s.name AS season, f.path AS photo,
       r.source, r.status, r.reason, r.l, r.a, r.b, r.precision_de, r.trueness_de, r.measured_at
FROM reading r
LEFT JOIN photo f ON f.id = r.photo_id
LEFT JOIN plant p ON p.id = coalesce(r.plant_id, f.plant_id)
LEFT JOIN line n ON n.id = p.line_id
JOIN season s ON s.id = coalesce(r.season_id, f.season_id)
WHERE r.photo_id IS NULL OR r.id = (SELECT max(id) FROM reading WHERE photo_id = r.photo_id);
