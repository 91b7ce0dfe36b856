-- Version 5: which requests of a device were taken, so that one that is sent again,
-- after a connection was lost or a button was touched twice, does nothing. A row is
-- written in one transaction with what the request entered.
CREATE TABLE request (
  id        TEXT NOT NULL CHECK (id <> ''),  -- made up by the device
  sum       TEXT NOT NULL,                   -- of what the request said: another content under the same id is another request
  at        TEXT NOT NULL,
  change_id INTEGER REFERENCES change (id) ON DELETE SET NULL, -- what it entered; NULL: nothing that the history knows
  PRIMARY KEY (id, sum)
) STRICT, WITHOUT ROWID;
CREATE INDEX request_at ON request (at);
