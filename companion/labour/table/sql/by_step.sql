-- by Ibis 12.0.0
SELECT
  "t1"."title",
  "t1"."step",
  "t1"."work",
  MAX("t1"."act") AS "act",
  MAX("t1"."book_s") AS "book_s",
  COUNT(*) AS "jobs",
  COUNT(DISTINCT "t1"."mechanic") AS "mechanics",
  SUM(CAST("t1"."censored" AS BIGINT)) AS "unfinished",
  SUM(CAST("t1"."attempts" > 1 AS BIGINT)) AS "repeated",
  EXP(AVG("t1"."log_s") FILTER(WHERE
    NOT (
      "t1"."censored"
    ))) AS "seen_s",
  AVG("t1"."active_s") FILTER(WHERE
    NOT (
      "t1"."censored"
    )) AS "mean_s",
  STDDEV_SAMP("t1"."active_s") FILTER(WHERE
    NOT (
      "t1"."censored"
    )) AS "deviation_s",
  SUM("t1"."interrupted_s") AS "interrupted_s",
  VAR_POP("t1"."log_s") FILTER(WHERE
    NOT (
      "t1"."censored"
    )) AS "log_var",
  VAR_POP("t1"."number") FILTER(WHERE
    NOT (
      "t1"."censored"
    )) AS "number_var",
  COVAR_POP("t1"."log_s", "t1"."number") FILTER(WHERE
    NOT (
      "t1"."censored"
    )) AS "both_cov"
FROM (
  SELECT
    "t0"."job",
    "t0"."job_number",
    "t0"."title",
    "t0"."mechanic",
    "t0"."vehicle",
    "t0"."step",
    "t0"."work",
    "t0"."act",
    "t0"."started",
    "t0"."day",
    "t0"."active_s",
    "t0"."interrupted_s",
    "t0"."book_s",
    "t0"."attempts",
    "t0"."censored",
    LN(
      CASE
        WHEN "t0"."active_s" IS NULL
        THEN "t0"."active_s"
        ELSE GREATEST(0.1, "t0"."active_s")
      END
    ) AS "log_s",
    CAST("t0"."job_number" AS DOUBLE) AS "number"
  FROM "per_job" AS "t0"
) AS "t1"
GROUP BY
  1,
  2,
  3
