"""Job logs folded into attempts at steps, inside DuckDB (the rules are in `table.py`).

A run is the stretch from one `step_begun` to the next; the step is at work in it until it is settled. Each
interval between two events belongs to the run it lies in. It is active unless the job was held or stopped,
or nobody was there (from the end of a session to the start of the next). When a session has no end the
companion died: what was seen counts as active, and the attempt is known to have a gap.

The statements work on temporary tables, a batch of logs at a time, so that memory does not grow with the
number of logs. The windows carry only numbers; words are joined to the result.
"""

READ = r"""
CREATE OR REPLACE TEMP TABLE lines AS
SELECT b.log, unnest(from_json(line, '{"schema": "INTEGER", "seq": "INTEGER", "at": "TIMESTAMP",
    "mono": "DOUBLE", "event": "VARCHAR", "step": "VARCHAR", "act": "VARCHAR", "book_s": "DOUBLE",
    "work": "VARCHAR", "because": "VARCHAR", "away_s": "DOUBLE", "text": "VARCHAR", "note": "INTEGER",
    "job": "VARCHAR", "title": "VARCHAR", "revision": "VARCHAR", "procedure_sha256": "VARCHAR",
    "mechanic": "VARCHAR", "vehicle": "VARCHAR"}'))
FROM (SELECT filename, unnest(string_split(content, chr(10))) AS line
      FROM (FROM read_text($half) UNION ALL FROM read_text($other_half))) AS t
JOIN batch AS b ON b.path = t.filename
WHERE regexp_matches(line, '"event": ?"(step_[bdsnu]|job_[hco]|session_|work_|note_)') AND json_valid(line)
"""
"""Two readers, because DuckDB reads one list of texts on one core. A torn line is left to the logbook."""

INTERVALS = """
CREATE OR REPLACE TEMP TABLE intervals AS
WITH narrow AS (
    SELECT log, seq, event, mono, epoch("at") AS wall, away_s, hash(step) AS step,
        event = 'step_begun' AS begins,
        event IN ('step_done', 'step_skipped', 'step_not_needed') AS settles,
        CASE WHEN event IN ('job_held', 'work_stopped') THEN seq
             WHEN event = 'job_carried_on' THEN 0 END AS holding
    FROM lines
),
marked AS (
    SELECT log, seq, event, step, settles,
        count(*) FILTER (begins) OVER past AS run,
        last_value(CASE WHEN begins THEN step END IGNORE NULLS) OVER past AS at_work,
        coalesce(last_value(holding IGNORE NULLS) OVER past, 0) AS held_at,
        lead(event) OVER past = 'session_started' AS restarts,
        lead(mono) OVER past - mono AS passed_s,
        greatest(0, lead(wall) OVER past - wall) AS wall_s,
        greatest(0, lead(away_s) OVER past) AS unseen_s
    FROM narrow
    WINDOW past AS (PARTITION BY log ORDER BY seq ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW)
)
SELECT log, seq, run, held_at,
    settles AND step = at_work AS settles,
    count(*) FILTER (settles AND step = at_work)
        OVER (PARTITION BY log, run ORDER BY seq ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW) > 0
        AS settled,
    CASE WHEN event = 'session_ended' THEN 0
         WHEN restarts THEN greatest(0, wall_s - unseen_s)
         ELSE greatest(0, coalesce(passed_s, 0)) END AS there_s,
    CASE WHEN event = 'session_ended' THEN coalesce(wall_s, 0)
         WHEN restarts THEN least(unseen_s, wall_s)
         ELSE 0 END AS away_s,
    restarts AND event <> 'session_ended' AS died
FROM marked
WHERE run > 0
"""

RUNS = """
CREATE OR REPLACE TEMP TABLE runs AS
SELECT log, run, min(seq) AS began_at, min(seq) FILTER (settles) AS settled_at,
    coalesce(sum(there_s) FILTER (NOT settled AND held_at = 0), 0) AS active_s,
    coalesce(sum(away_s) FILTER (NOT settled), 0)
        + coalesce(sum(there_s) FILTER (NOT settled AND held_at > 0), 0) AS interrupted_s,
    coalesce(bool_or(died AND held_at = 0) FILTER (NOT settled), false) AS gap
FROM intervals
GROUP BY log, run
"""

INTERRUPTIONS = """
CREATE OR REPLACE TEMP TABLE interruptions AS
WITH stretches AS (
    SELECT log, run, held_at, min(seq) AS seq, sum(away_s + if(held_at > 0, there_s, 0)) AS seconds
    FROM intervals WHERE NOT settled AND (held_at > 0 OR away_s > 0)
    GROUP BY log, run, held_at
)
SELECT s.log, s.run, list(CASE WHEN h.event IS NULL THEN 'away'
                               WHEN h.event = 'work_stopped' THEN 'work stopped'
                               ELSE coalesce(nullif(h.because, ''), 'held') END ORDER BY s.seq) AS reasons,
    list(s.seconds ORDER BY s.seq) AS seconds
FROM stretches AS s LEFT JOIN lines AS h ON h.log = s.log AND h.seq = s.held_at AND s.held_at > 0
GROUP BY s.log, s.run
"""

NOTES = """
CREATE OR REPLACE TEMP TABLE notes AS
SELECT i.log, i.run, list(l.text ORDER BY l.seq) AS notes
FROM lines AS l
JOIN intervals AS i ON i.log = l.log AND i.seq = l.seq
WHERE l.event = 'note_taken' AND NOT i.settled
  AND NOT EXISTS (FROM lines AS d WHERE d.event = 'note_dropped' AND d.log = l.log AND d.note = l.note)
GROUP BY i.log, i.run
"""

ATTEMPTS = """
CREATE OR REPLACE TEMP TABLE attempts AS
WITH worded AS (
    SELECT r.*, b.step, b.work, b.act, b.book_s, b."at" AS started
    FROM runs AS r JOIN lines AS b ON b.log = r.log AND b.seq = r.began_at
),
numbered AS (
    SELECT *, 1 + coalesce(count(settled_at) OVER (PARTITION BY log, step ORDER BY run
        ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING), 0) AS attempt
    FROM worded
)
SELECT n.log, n.step, n.attempt, arg_max(n.work, n.run) AS work, arg_max(n.act, n.run) AS act,
    arg_max(n.book_s, n.run) AS book_s, min(n.began_at) AS began_at, min(n.started) AS started,
    max(n.settled_at) AS settled_at, sum(n.active_s) AS active_s, sum(n.interrupted_s) AS interrupted_s,
    coalesce(flatten(list(i.reasons ORDER BY n.run) FILTER (i.reasons IS NOT NULL)), []) AS interrupted_by,
    coalesce(flatten(list(i.seconds ORDER BY n.run) FILTER (i.reasons IS NOT NULL)), []) AS interrupted_for_s,
    coalesce(flatten(list(t.notes ORDER BY n.run) FILTER (t.notes IS NOT NULL)), []) AS notes,
    bool_or(n.gap) AS gap
FROM numbered AS n
LEFT JOIN interruptions AS i ON i.log = n.log AND i.run = n.run
LEFT JOIN notes AS t ON t.log = n.log AND t.run = n.run
GROUP BY n.log, n.step, n.attempt
"""

STEPS = """
CREATE OR REPLACE TEMP TABLE fresh AS
WITH undone AS (
    SELECT a.log, a.step, a.attempt
    FROM (SELECT log, step, seq FROM lines WHERE event = 'step_undone') AS u
    ASOF JOIN (SELECT log, step, attempt, settled_at FROM attempts WHERE settled_at IS NOT NULL) AS a
        ON a.log = u.log AND a.step = u.step AND a.settled_at < u.seq
    GROUP BY ALL
),
ended AS (
    SELECT a.*, CASE WHEN u.attempt IS NOT NULL THEN 'undone'
                     WHEN s.event IS NULL THEN 'unfinished'
                     ELSE s.event[6:] END AS outcome
    FROM attempts AS a
    LEFT JOIN lines AS s ON s.log = a.log AND s.seq = a.settled_at
    LEFT JOIN undone AS u ON u.log = a.log AND u.step = a.step AND u.attempt = a.attempt
)
SELECT b.name AS log, o.job, o."at" AS opened, o.title, o.revision, o.procedure_sha256 AS procedure,
    coalesce(o.mechanic, '') AS mechanic, coalesce(o.vehicle, '') AS vehicle,
    e.step, coalesce(e.work, '') AS work, e.act, e.attempt, e.began_at, e.started, e.active_s,
    e.interrupted_s, e.interrupted_by, e.interrupted_for_s, e.book_s, e.outcome,
    e.outcome <> 'done' OR e.gap AS censored, e.gap, e.act <> 'wait' AS labour, e.notes
FROM ended AS e
JOIN lines AS o ON o.log = e.log AND o.event = 'job_opened'
JOIN batch AS b ON b.log = e.log
"""

FOLD = (READ, INTERVALS, RUNS, INTERRUPTIONS, NOTES, ATTEMPTS, STEPS)
"""In this order, these turn the logs listed in `batch` (log, path, name) into the table `fresh`."""
