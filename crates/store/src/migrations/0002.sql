-- Photos from owners and the workshop. They are encoded anew before they are kept, so that nothing a
-- camera writes beside the picture (place, time, owner) stays in them.
CREATE TABLE photo (
  id       INTEGER PRIMARY KEY,
  order_id INTEGER NOT NULL REFERENCES job_order (id) ON DELETE CASCADE,
  at       INTEGER NOT NULL,
  who      TEXT NOT NULL,
  words    TEXT NOT NULL,
  width    INTEGER NOT NULL,
  height   INTEGER NOT NULL,
  jpeg     BLOB NOT NULL
) STRICT;

CREATE INDEX photo_of_order ON photo (order_id, id);

-- Long work, which is finished once whatever happens to the program in between. A worker holds a
-- task by a lease that it renews; each taking counts as an attempt, and only the latest may finish.
CREATE TABLE task (
  id           INTEGER PRIMARY KEY,
  release_id   INTEGER NOT NULL UNIQUE REFERENCES release (id) ON DELETE CASCADE,
  state        TEXT NOT NULL CHECK (state IN ('waiting', 'running', 'done', 'failed', 'cancelled')),
  attempt      INTEGER NOT NULL DEFAULT 0,
  leased_until INTEGER NOT NULL DEFAULT 0,
  part_done    REAL NOT NULL DEFAULT 0,
  words        TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE INDEX task_by_state ON task (state, id);

-- Every file of a release as one ZIP: what was cut can always be had again, as it was.
CREATE TABLE release_files (
  release_id INTEGER PRIMARY KEY REFERENCES release (id) ON DELETE CASCADE,
  zip        BLOB NOT NULL
) STRICT;

-- The glass book as it was at a release, which its outline rests on; none in releases from before.
ALTER TABLE release ADD COLUMN book TEXT;
