-- by Ibis 12.0.0
WITH "t2" AS (
  SELECT
    *
  FROM "per_job" AS "t1"
  WHERE
    NOT (
      "t1"."censored"
    )
)
SELECT
  "t12"."title",
  "t12"."step",
  "t12"."work",
  "t12"."job_number",
  "t12"."job",
  "t12"."mechanic",
  "t12"."vehicle",
  "t12"."active_s",
  "t5"."attempt",
  "t5"."notes"
FROM (
  SELECT
    "t10"."title",
    "t10"."step",
    "t10"."work",
    "t10"."job_number",
    "t10"."job",
    "t10"."mechanic",
    "t10"."vehicle",
    "t10"."active_s"
  FROM (
    SELECT
      "t6"."shop",
      "t6"."job",
      "t6"."job_number",
      "t6"."title",
      "t6"."mechanic",
      "t6"."vehicle",
      "t6"."step",
      "t6"."work",
      "t6"."act",
      "t6"."started",
      "t6"."day",
      "t6"."active_s",
      "t6"."interrupted_s",
      "t6"."book_s",
      "t6"."attempts",
      "t6"."censored",
      "t9"."limit_s",
      "t9"."of"
    FROM "t2" AS "t6"
    INNER JOIN (
      SELECT
        *
      FROM (
        SELECT
          "t4"."title",
          "t4"."step",
          "t4"."work",
          QUANTILE_CONT("t4"."active_s", 0.9) AS "limit_s",
          COUNT(*) AS "of"
        FROM "t2" AS "t4"
        GROUP BY
          1,
          2,
          3
      ) AS "t7"
      WHERE
        "t7"."of" >= 10
    ) AS "t9"
      ON "t6"."title" = "t9"."title"
      AND "t6"."step" = "t9"."step"
      AND "t6"."work" = "t9"."work"
  ) AS "t10"
  WHERE
    "t10"."active_s" > "t10"."limit_s"
) AS "t12"
INNER JOIN (
  SELECT
    "t0"."title",
    "t0"."step",
    "t0"."work",
    "t0"."job_number",
    "t0"."attempt",
    "t0"."notes"
  FROM "steps" AS "t0"
  WHERE
    ARRAY_LENGTH("t0"."notes") > 0
) AS "t5"
  ON "t12"."title" = "t5"."title"
  AND "t12"."step" = "t5"."step"
  AND "t12"."work" = "t5"."work"
  AND "t12"."job_number" = "t5"."job_number"
