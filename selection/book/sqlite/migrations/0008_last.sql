-- The breeding book, version 8: which change the last command made, so that undo says
-- what it is before it takes back an older one. 0: none, it changed nothing; -1: not known.
ALTER TABLE change_now ADD COLUMN last INTEGER NOT NULL DEFAULT -1;
