-- The breeding book, version 4: a sum over each reading and each change, by which a
-- flipped bit is noticed. It is the beginning of the SHA-256 of their columns as text;
-- empty: not known.
ALTER TABLE reading ADD COLUMN sum TEXT NOT NULL DEFAULT '';
ALTER TABLE change ADD COLUMN sum TEXT NOT NULL DEFAULT '';
