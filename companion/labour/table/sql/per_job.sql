-- by Ibis 12.0.0
SELECT
  *
FROM (
  SELECT
    "t5"."shop",
    "t5"."job",
    "t5"."job_number",
    "t5"."title",
    "t5"."mechanic",
    "t5"."vehicle",
    "t5"."step",
    "t5"."work",
    "t5"."act",
    "t5"."started",
    "t5"."day",
    "t5"."active_s",
    "t5"."interrupted_s",
    "t5"."book_s",
    1 AS "attempts",
    (
      "t5"."outcome" <> 'done'
    ) OR "t5"."gap" AS "censored"
  FROM (
    SELECT
      "t3"."shop",
      "t3"."log",
      "t3"."job",
      "t3"."opened",
      "t3"."job_number",
      "t3"."title",
      "t3"."revision",
      "t3"."mechanic",
      "t3"."vehicle",
      "t3"."step",
      "t3"."work",
      "t3"."act",
      "t3"."attempt",
      "t3"."began_at",
      "t3"."started",
      "t3"."day",
      "t3"."active_s",
      "t3"."interrupted_s",
      "t3"."interrupted_by",
      "t3"."interrupted_for_s",
      "t3"."book_s",
      "t3"."outcome",
      "t3"."censored",
      "t3"."gap",
      "t3"."labour",
      "t3"."notes"
    FROM (
      SELECT
        *
      FROM "steps" AS "t0"
      WHERE
        "t0"."labour" AND "t0"."outcome" <> 'not_needed'
    ) AS "t3"
    ANTI JOIN (
      SELECT DISTINCT
        "t0"."job_number",
        "t0"."step",
        "t0"."work"
      FROM "steps" AS "t0"
      WHERE
        "t0"."labour" AND "t0"."outcome" <> 'not_needed' AND "t0"."attempt" > 1
    ) AS "t4"
      ON "t3"."job_number" = "t4"."job_number"
      AND "t3"."step" = "t4"."step"
      AND "t3"."work" = "t4"."work"
  ) AS "t5"
) AS "t7"
UNION ALL
SELECT
  *
FROM (
  SELECT
    "t8"."shop",
    "t8"."job",
    "t8"."job_number",
    "t8"."title",
    "t8"."mechanic",
    "t8"."vehicle",
    "t8"."step",
    "t8"."work",
    "t8"."act",
    "t8"."started",
    "t8"."day",
    "t8"."active_s",
    "t8"."interrupted_s",
    "t8"."book_s",
    "t8"."attempts",
    (
      "t8"."last" <> "t8"."last_done"
    ) OR (
      "t8"."gaps" > 0
    ) AS "censored"
  FROM (
    SELECT
      "t6"."job_number",
      "t6"."step",
      "t6"."work",
      ANY_VALUE("t6"."shop") AS "shop",
      ANY_VALUE("t6"."job") AS "job",
      ANY_VALUE("t6"."title") AS "title",
      ANY_VALUE("t6"."mechanic") AS "mechanic",
      ANY_VALUE("t6"."vehicle") AS "vehicle",
      ANY_VALUE("t6"."act") AS "act",
      MIN("t6"."started") AS "started",
      MIN("t6"."day") AS "day",
      SUM("t6"."active_s") AS "active_s",
      SUM("t6"."interrupted_s") AS "interrupted_s",
      FIRST("t6"."book_s" ORDER BY "t6"."attempt" DESC) AS "book_s",
      CAST(COUNT(*) AS INT) AS "attempts",
      MAX("t6"."attempt") AS "last",
      MAX(CASE WHEN "t6"."outcome" = 'done' THEN "t6"."attempt" ELSE 0 END) AS "last_done",
      SUM(CAST("t6"."gap" AS INT)) AS "gaps"
    FROM (
      SELECT
        "t3"."shop",
        "t3"."log",
        "t3"."job",
        "t3"."opened",
        "t3"."job_number",
        "t3"."title",
        "t3"."revision",
        "t3"."mechanic",
        "t3"."vehicle",
        "t3"."step",
        "t3"."work",
        "t3"."act",
        "t3"."attempt",
        "t3"."began_at",
        "t3"."started",
        "t3"."day",
        "t3"."active_s",
        "t3"."interrupted_s",
        "t3"."interrupted_by",
        "t3"."interrupted_for_s",
        "t3"."book_s",
        "t3"."outcome",
        "t3"."censored",
        "t3"."gap",
        "t3"."labour",
        "t3"."notes"
      FROM (
        SELECT
          *
        FROM "steps" AS "t0"
        WHERE
          "t0"."labour" AND "t0"."outcome" <> 'not_needed'
      ) AS "t3"
      SEMI JOIN (
        SELECT DISTINCT
          "t0"."job_number",
          "t0"."step",
          "t0"."work"
        FROM "steps" AS "t0"
        WHERE
          "t0"."labour" AND "t0"."outcome" <> 'not_needed' AND "t0"."attempt" > 1
      ) AS "t4"
        ON "t3"."job_number" = "t4"."job_number"
        AND "t3"."step" = "t4"."step"
        AND "t3"."work" = "t4"."work"
    ) AS "t6"
    GROUP BY
      1,
      2,
      3
  ) AS "t8"
) AS "t9"
