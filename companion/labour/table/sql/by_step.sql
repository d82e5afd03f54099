-- by Ibis 12.0.0
SELECT
  "t6"."title",
  "t6"."step",
  "t6"."work",
  MAX("t6"."act") AS "act",
  FIRST("t6"."book_s" ORDER BY "t6"."job_number" DESC) FILTER(WHERE
    "t6"."book_s" > 0) AS "book_s",
  COUNT(*) AS "jobs",
  COUNT(DISTINCT "t6"."mechanic") AS "mechanics",
  SUM(CAST("t6"."censored" AS BIGINT)) AS "unfinished",
  SUM(CAST("t6"."attempts" > 1 AS BIGINT)) AS "repeated",
  EXP(AVG("t6"."log_s") FILTER(WHERE
    NOT (
      "t6"."censored"
    ))) AS "seen_s",
  AVG("t6"."active_s") FILTER(WHERE
    NOT (
      "t6"."censored"
    )) AS "mean_s",
  STDDEV_SAMP("t6"."active_s") FILTER(WHERE
    NOT (
      "t6"."censored"
    )) AS "deviation_s",
  SUM("t6"."interrupted_s") AS "interrupted_s",
  VAR_POP("t6"."log_s") FILTER(WHERE
    NOT (
      "t6"."censored"
    )) AS "log_var",
  VAR_POP("t6"."number") FILTER(WHERE
    NOT (
      "t6"."censored"
    )) AS "number_var",
  COVAR_POP("t6"."log_s", "t6"."number") FILTER(WHERE
    NOT (
      "t6"."censored"
    )) AS "both_cov"
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
    "t5"."attempts",
    "t5"."censored",
    "t5"."number",
    LN(
      CASE
        WHEN "t5"."active_s" IS NULL
        THEN "t5"."active_s"
        ELSE GREATEST(0.1, "t5"."active_s")
      END
    ) AS "log_s"
  FROM (
    SELECT
      "t1"."shop",
      "t1"."job",
      "t1"."job_number",
      "t1"."title",
      "t1"."mechanic",
      "t1"."vehicle",
      "t1"."step",
      "t1"."work",
      "t1"."act",
      "t1"."started",
      "t1"."day",
      "t1"."active_s",
      "t1"."interrupted_s",
      "t1"."book_s",
      "t1"."attempts",
      "t1"."censored",
      "t4"."number"
    FROM "per_job" AS "t1"
    INNER JOIN (
      SELECT
        "t2"."title",
        "t2"."job_number",
        CAST(ROW_NUMBER() OVER (
          PARTITION BY "t2"."title"
          ORDER BY "t2"."job_number" ASC
          ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING
        ) - 1 AS DOUBLE) AS "number"
      FROM (
        SELECT DISTINCT
          "t0"."title",
          "t0"."job_number"
        FROM "per_job" AS "t0"
      ) AS "t2"
    ) AS "t4"
      ON "t1"."title" = "t4"."title" AND "t1"."job_number" = "t4"."job_number"
  ) AS "t5"
) AS "t6"
GROUP BY
  1,
  2,
  3
