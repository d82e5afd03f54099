-- by Ibis 12.0.0
WITH "t1" AS (
  SELECT
    *
  FROM "per_job" AS "t0"
  WHERE
    NOT (
      "t0"."censored"
    )
)
SELECT
  "t7"."title",
  "t7"."step",
  "t7"."work",
  "t7"."job_number",
  "t7"."job",
  "t7"."mechanic",
  "t7"."vehicle",
  "t7"."active_s"
FROM (
  SELECT
    "t3"."shop",
    "t3"."job",
    "t3"."job_number",
    "t3"."title",
    "t3"."mechanic",
    "t3"."vehicle",
    "t3"."step",
    "t3"."work",
    "t3"."act",
    "t3"."started",
    "t3"."day",
    "t3"."active_s",
    "t3"."interrupted_s",
    "t3"."book_s",
    "t3"."attempts",
    "t3"."censored",
    "t6"."limit_s",
    "t6"."of"
  FROM "t1" AS "t3"
  INNER JOIN (
    SELECT
      *
    FROM (
      SELECT
        "t2"."title",
        "t2"."step",
        "t2"."work",
        QUANTILE_CONT("t2"."active_s", 0.9) AS "limit_s",
        COUNT(*) AS "of"
      FROM "t1" AS "t2"
      GROUP BY
        1,
        2,
        3
    ) AS "t4"
    WHERE
      "t4"."of" >= 10
  ) AS "t6"
    ON "t3"."title" = "t6"."title"
    AND "t3"."step" = "t6"."step"
    AND "t3"."work" = "t6"."work"
) AS "t7"
WHERE
  "t7"."active_s" > "t7"."limit_s"
