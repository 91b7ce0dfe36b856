-- Version 2: what phones do to colours, and what a reading tells of its bloom
-- from the middle to the rim, of the plant's tag and of the bloom's size.

-- One phone's colour model, learnt from a photo of a chart. Learning anew
-- replaces it; each reading says which model it was made with.
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

ALTER TABLE reading ADD COLUMN camera_model TEXT NOT NULL DEFAULT '';  -- the phone's model that was applied; empty: none
ALTER TABLE reading ADD COLUMN card_kind TEXT NOT NULL DEFAULT '';     -- 'grey', 'strip', 'patches'; empty: none found
ALTER TABLE reading ADD COLUMN diameter_px REAL NOT NULL DEFAULT 0;    -- of the bloom, full-size pixels; 0: not known
ALTER TABLE reading ADD COLUMN diameter_mm REAL NOT NULL DEFAULT 0;    -- 0: nothing of known size in the picture
ALTER TABLE reading ADD COLUMN radial TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(radial)); -- [{"at":0.1,"lab":[L,a,b],"share":0.2}, …] from the middle to the rim
ALTER TABLE reading ADD COLUMN zones TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(zones));   -- [{"zone":"eye","from":0.2,"to":0.4,"lab":[L,a,b],"share":0.1}, …]
ALTER TABLE reading ADD COLUMN tag TEXT CHECK (tag IS NULL OR json_valid(tag)); -- {"found","text","corners","mm","sheet"}; NULL: no tag seen

-- Up to version 1 a card was always read as one grey patch.
UPDATE reading SET card_kind = 'grey' WHERE card_found = 1;
