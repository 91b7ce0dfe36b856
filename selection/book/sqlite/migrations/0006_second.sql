-- The breeding book, version 6: a target for the second colour of striped and edged
-- petals; NULL: none. The tolerance is the first's.
ALTER TABLE target ADD COLUMN second_l REAL;
ALTER TABLE target ADD COLUMN second_a REAL;
ALTER TABLE target ADD COLUMN second_b REAL;
