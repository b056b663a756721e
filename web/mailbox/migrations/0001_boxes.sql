-- Days are counted from 1970-01-01 in UTC; nothing finer is kept. Of an address only the first 16 bytes of its SHA-256 are kept, of a right its SHA-256.

-- state: 0 open, 1 closed, 2 deleted. bytes: what the box counts against its limit, itself included; 0 only while it is being made.
CREATE TABLE box (
  name    BLOB    NOT NULL PRIMARY KEY,
  owner   BLOB    NOT NULL,
  expires INTEGER NOT NULL,
  state   INTEGER NOT NULL,
  letters INTEGER NOT NULL,
  bytes   INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX box_expires ON box (expires);

-- seq counts from 1 without gaps within a box, and box.letters is the last.
CREATE TABLE letter (
  box  BLOB    NOT NULL,
  seq  INTEGER NOT NULL,
  id   BLOB    NOT NULL,
  body BLOB    NOT NULL,
  PRIMARY KEY (box, seq),
  UNIQUE (box, id)
) STRICT;

-- sum: a digest of the bytes, by which a repeat is told from other bytes. blob: where they are.
CREATE TABLE chunk (
  box      BLOB    NOT NULL,
  parcel   BLOB    NOT NULL,
  position INTEGER NOT NULL,
  size     INTEGER NOT NULL,
  sum      BLOB    NOT NULL,
  blob     TEXT    NOT NULL,
  PRIMARY KEY (box, parcel, position)
) STRICT, WITHOUT ROWID;

-- Blobs that belong to no chunk, or to none yet: removed once the day is past.
CREATE TABLE waste (
  blob TEXT    NOT NULL PRIMARY KEY,
  day  INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX waste_day ON waste (day);

-- One row: the sum of box.bytes.
CREATE TABLE store (
  id    INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
  bytes INTEGER NOT NULL
) STRICT;

INSERT INTO store (id, bytes) VALUES (1, 0);
