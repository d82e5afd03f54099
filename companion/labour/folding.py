"""Job logs folded into attempts at steps, inside DuckDB (the rules are in `table.py`).

A run is the stretch from one `step_begun` to the next; the step is at work in it until it is settled. Each
interval between two events belongs to the run it lies in. It is active unless the job was held or stopped,
or nobody was there (from the end of a session to the start of the next). When a session has no end the
companion died: what was seen counts as active, and the attempt is known to have a gap.

The statements work on temporary tables, a batch of logs at a time, so that memory does not grow with the
number of logs. The windows carry only numbers (a step is its hash); words are joined to the result.
"""

READ = r"""
CREATE OR REPLACE TEMP TABLE lines AS
SELECT * REPLACE (TRY_CAST("at" AS TIMESTAMP) AS "at")
FROM (
    SELECT b.log, unnest(from_json(line, '{"seq": "INTEGER", "at": "VARCHAR", "mono": "DOUBLE",
        "event": "VARCHAR", "step": "VARCHAR", "act": "VARCHAR", "book_s": "DOUBLE", "work": "VARCHAR",
        "because": "VARCHAR", "away_s": "DOUBLE", "text": "VARCHAR", "note": "INTEGER"}')),
        if(contains(line, '"job_opened"'), line, NULL) AS opening
    FROM (SELECT filename, unnest(string_split(content, chr(10))) AS line
          FROM (FROM read_text($half) UNION ALL FROM read_text($other_half))) AS t
    JOIN batch AS b ON b.path = t.filename
    WHERE ends_with(line, '}')
)
WHERE event IN ('job_opened', 'session_started', 'session_ended', 'step_begun', 'step_done', 'step_skipped',
    'step_not_needed', 'step_undone', 'job_held', 'job_carried_on', 'work_stopped', 'job_closed',
    'note_taken', 'note_dropped')
"""
"""Two readers, because DuckDB reads one list of texts on one core. A torn line, which does not end with a
brace, is left to the logbook. (Parsing every line is quicker than first choosing lines by their text, and
casting a time is quicker than letting from_json parse it.)"""

OPENINGS = """
CREATE OR REPLACE TEMP TABLE openings AS
SELECT log, "at" AS opened, unnest(from_json(opening, '{"schema": "INTEGER", "job": "VARCHAR",
    "title": "VARCHAR", "revision": "VARCHAR", "mechanic": "VARCHAR",
    "vehicle": "VARCHAR"}'))
FROM lines WHERE event = 'job_opened'
"""

MARKED = """
CREATE OR REPLACE TEMP TABLE marked AS
WITH narrow AS (
    SELECT log, seq, event, mono, epoch("at") AS wall, away_s, hash(step) AS step,
        event = 'step_begun' AS begins,
        CASE WHEN event IN ('job_held', 'work_stopped') THEN seq
             WHEN event = 'job_carried_on' THEN 0 END AS holding
    FROM lines
)
SELECT log, seq, event, step,
    count(*) FILTER (begins) OVER past AS run,
    last_value(CASE WHEN begins THEN step END IGNORE NULLS) OVER past AS at_work,
    coalesce(last_value(holding IGNORE NULLS) OVER past, 0) AS held_at,
    lead(event) OVER past = 'session_started' AS restarts,
    lead(mono) OVER past - mono AS passed_s,
    greatest(0, lead(wall) OVER past - wall) AS wall_s,
    greatest(0, lead(away_s) OVER past) AS unseen_s
FROM narrow
WINDOW past AS (PARTITION BY log ORDER BY seq ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW)
"""

INTERVALS = """
CREATE OR REPLACE TEMP TABLE intervals AS
WITH ends AS (
    SELECT log, run, min(seq) AS settled_at, min(event) AS settled_as
    FROM marked
    WHERE event IN ('step_done', 'step_skipped', 'step_not_needed') AND step = at_work
    GROUP BY log, run
)
SELECT log, seq, run, at_work, held_at, settled_at, settled_as, coalesce(seq >= settled_at, false) AS settled,
    CASE WHEN event = 'session_ended' THEN 0
         WHEN restarts THEN greatest(0, wall_s - unseen_s)
         ELSE greatest(0, coalesce(passed_s, 0)) END AS there_s,
    CASE WHEN event = 'session_ended' THEN coalesce(wall_s, 0)
         WHEN restarts THEN least(unseen_s, wall_s)
         ELSE 0 END AS away_s,
    restarts AND event <> 'session_ended' AS died
FROM marked LEFT JOIN ends USING (log, run)
WHERE run > 0
"""

RUNS = """
CREATE OR REPLACE TEMP TABLE runs AS
SELECT log, run, any_value(at_work) AS at_work, min(seq) AS began_at,
    any_value(settled_at) AS settled_at, any_value(settled_as) AS settled_as,
    coalesce(sum(there_s) FILTER (NOT settled AND held_at = 0), 0) AS active_s,
    coalesce(sum(away_s) FILTER (NOT settled), 0)
        + coalesce(sum(there_s) FILTER (NOT settled AND held_at > 0), 0) AS interrupted_s,
    coalesce(bool_or(died AND held_at = 0) FILTER (NOT settled), false) AS gap
FROM intervals
GROUP BY log, run
"""

NUMBERED = """
CREATE OR REPLACE TEMP TABLE numbered AS
SELECT *, 1 + count(settled_at) OVER (PARTITION BY log, at_work ORDER BY run
    ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW) - if(settled_at IS NULL, 0, 1) AS attempt
FROM runs
"""

INTERRUPTIONS = """
CREATE OR REPLACE TEMP TABLE interruptions AS
WITH stretches AS (
    SELECT log, run, held_at, min(seq) AS seq, sum(away_s + if(held_at > 0, there_s, 0)) AS seconds
    FROM intervals WHERE NOT settled AND (held_at > 0 OR away_s > 0)
    GROUP BY log, run, held_at
)
SELECT n.log, n.at_work, n.attempt,
    list(CASE WHEN h.event IS NULL THEN 'away'
              WHEN h.event = 'work_stopped' THEN 'work stopped'
              ELSE coalesce(nullif(h.because, ''), 'held') END ORDER BY s.seq) AS interrupted_by,
    list(s.seconds ORDER BY s.seq) AS interrupted_for_s
FROM stretches AS s
JOIN numbered AS n ON n.log = s.log AND n.run = s.run
LEFT JOIN lines AS h ON h.log = s.log AND h.seq = s.held_at AND s.held_at > 0
GROUP BY n.log, n.at_work, n.attempt
"""

NOTES = """
CREATE OR REPLACE TEMP TABLE notes AS
SELECT n.log, n.at_work, n.attempt, list(l.text ORDER BY l.seq) AS notes
FROM lines AS l
JOIN intervals AS i ON i.log = l.log AND i.seq = l.seq
JOIN numbered AS n ON n.log = i.log AND n.run = i.run
WHERE l.event = 'note_taken' AND NOT i.settled
  AND NOT EXISTS (FROM lines AS d WHERE d.event = 'note_dropped' AND d.log = l.log AND d.note = l.note)
GROUP BY n.log, n.at_work, n.attempt
"""

ATTEMPTS = """
CREATE OR REPLACE TEMP TABLE attempts AS
SELECT log, at_work, attempt, min(began_at) AS began_at, max(settled_at) AS settled_at,
    max(settled_as) AS settled_as, sum(active_s) AS active_s, sum(interrupted_s) AS interrupted_s,
    bool_or(gap) AS gap
FROM numbered
GROUP BY log, at_work, attempt
"""

UNDONE = """
CREATE OR REPLACE TEMP TABLE undone AS
SELECT a.log, a.at_work, a.attempt, true AS undone
FROM (SELECT log, hash(step) AS at_work, seq FROM lines WHERE event = 'step_undone') AS u
ASOF JOIN (SELECT log, at_work, attempt, settled_at FROM attempts WHERE settled_at IS NOT NULL) AS a
    ON a.log = u.log AND a.at_work = u.at_work AND a.settled_at < u.seq
GROUP BY ALL
"""

STEPS = """
INSERT INTO all_steps BY NAME
SELECT b.name AS log, o.job, o.opened, o.title, o.revision,
    coalesce(o.mechanic, '') AS mechanic, coalesce(o.vehicle, '') AS vehicle,
    l.step, coalesce(l.work, '') AS work, l.act, a.attempt, a.began_at,
    l."at" AS started, a.active_s,
    a.interrupted_s, coalesce(i.interrupted_by, []) AS interrupted_by,
    coalesce(i.interrupted_for_s, []) AS interrupted_for_s, l.book_s,
    CASE WHEN u.undone THEN 'undone' WHEN a.settled_as IS NULL THEN 'unfinished'
         ELSE a.settled_as[6:] END AS outcome,
    outcome <> 'done' OR a.gap AS censored, a.gap, l.act <> 'wait' AS labour, coalesce(t.notes, []) AS notes
FROM attempts AS a
JOIN lines AS l ON l.log = a.log AND l.seq = a.began_at
JOIN openings AS o ON o.log = a.log
JOIN batch AS b ON b.log = a.log
LEFT JOIN undone AS u ON u.log = a.log AND u.at_work = a.at_work AND u.attempt = a.attempt
LEFT JOIN interruptions AS i ON i.log = a.log AND i.at_work = a.at_work AND i.attempt = a.attempt
LEFT JOIN notes AS t ON t.log = a.log AND t.at_work = a.at_work AND t.attempt = a.attempt
"""

FOLD = (OPENINGS, MARKED, INTERVALS, RUNS, NUMBERED, INTERRUPTIONS, NOTES, ATTEMPTS, UNDONE, STEPS)
"""After `READ`, in this order: the logs listed in `batch` (log, path, name) are added to `all_steps`."""
