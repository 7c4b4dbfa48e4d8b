-- What the workshop keeps. Times are milliseconds since 1970, UTC; tokens are kept as SHA-256 only.

CREATE TABLE workshop (
  id      INTEGER PRIMARY KEY CHECK (id = 1),
  name    TEXT NOT NULL,
  unit    TEXT NOT NULL,
  book    TEXT NOT NULL DEFAULT '',
  made_at INTEGER NOT NULL
) STRICT;

CREATE TABLE account (
  id       INTEGER PRIMARY KEY,
  name     TEXT NOT NULL UNIQUE,
  role     TEXT NOT NULL CHECK (role IN ('desk', 'bench', 'keeper')),
  password TEXT NOT NULL,
  active   INTEGER NOT NULL DEFAULT 1,
  made_at  INTEGER NOT NULL
) STRICT;

CREATE TABLE session (
  token      BLOB PRIMARY KEY,
  account_id INTEGER NOT NULL REFERENCES account (id) ON DELETE CASCADE,
  expires_at INTEGER NOT NULL
) STRICT;

-- An order is its order file, as JSON; `revision` counts its changes from 1.
CREATE TABLE job_order (
  id         INTEGER PRIMARY KEY,
  reference  TEXT NOT NULL UNIQUE,
  owner      TEXT NOT NULL,
  vehicle    TEXT NOT NULL,
  body       TEXT NOT NULL,
  revision   INTEGER NOT NULL,
  stage      TEXT NOT NULL,
  due        TEXT,
  made_at    INTEGER NOT NULL,
  changed_at INTEGER NOT NULL
) STRICT;

-- Every change, with the whole order after it: what anybody did can be shown and undone.
CREATE TABLE change (
  id       INTEGER PRIMARY KEY,
  order_id INTEGER NOT NULL REFERENCES job_order (id) ON DELETE CASCADE,
  revision INTEGER NOT NULL,
  at       INTEGER NOT NULL,
  who      TEXT NOT NULL,
  what     TEXT NOT NULL,
  body     TEXT NOT NULL,
  UNIQUE (order_id, revision)
) STRICT;

CREATE TABLE note (
  id       INTEGER PRIMARY KEY,
  order_id INTEGER NOT NULL REFERENCES job_order (id) ON DELETE CASCADE,
  at       INTEGER NOT NULL,
  who      TEXT NOT NULL,
  words    TEXT NOT NULL
) STRICT;

-- Frozen for making. Never changed once written.
CREATE TABLE release (
  id       INTEGER PRIMARY KEY,
  order_id INTEGER NOT NULL REFERENCES job_order (id) ON DELETE CASCADE,
  number   INTEGER NOT NULL,
  revision INTEGER NOT NULL,
  at       INTEGER NOT NULL,
  who      TEXT NOT NULL,
  body     TEXT NOT NULL,
  UNIQUE (order_id, number)
) STRICT;

CREATE TRIGGER release_is_frozen BEFORE UPDATE ON release
BEGIN SELECT RAISE(ABORT, 'a release is never changed'); END;

-- What the owner was asked to read, again or for the first time.
CREATE TABLE question (
  id          INTEGER PRIMARY KEY,
  order_id    INTEGER NOT NULL REFERENCES job_order (id) ON DELETE CASCADE,
  pane        TEXT NOT NULL,
  reading     TEXT NOT NULL,
  words       TEXT NOT NULL,
  asked_at    INTEGER NOT NULL,
  answered_at INTEGER
) STRICT;

-- A private link by which an owner sees their own order and nothing else.
CREATE TABLE owner_link (
  token      BLOB PRIMARY KEY,
  order_id   INTEGER NOT NULL REFERENCES job_order (id) ON DELETE CASCADE,
  made_at    INTEGER NOT NULL,
  expires_at INTEGER NOT NULL,
  revoked_at INTEGER
) STRICT;

CREATE TABLE audit (
  id  INTEGER PRIMARY KEY,
  at  INTEGER NOT NULL,
  who TEXT NOT NULL,
  did TEXT NOT NULL
) STRICT;

CREATE INDEX change_of_order ON change (order_id, revision);
CREATE INDEX note_of_order ON note (order_id, at);
CREATE INDEX question_of_order ON question (order_id, answered_at);
CREATE INDEX session_expiry ON session (expires_at);
