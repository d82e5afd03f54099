-- by Ibis 12.0.0
SELECT
  "t2"."of",
  "t2"."within",
  COUNT(*) AS "jobs",
  SUM("t2"."over_s") AS "over_s",
  AVG("t2"."over_s") AS "mean_s",
  STDDEV_SAMP("t2"."over_s") AS "deviation_s",
  MIN("t2"."first") AS "first",
  MAX("t2"."last") AS "last"
FROM (
  SELECT
    "t1"."of",
    "t1"."within",
    "t1"."job_number",
    SUM("t1"."over_s") AS "over_s",
    MIN("t1"."started") AS "first",
    MAX("t1"."started") AS "last"
  FROM (
    SELECT
      "t0"."shop",
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
      "t0"."active_s" - "t0"."book_s" AS "over_s",
      STRFTIME("t0"."started", '%Y-%m') AS "month",
      STRFTIME("t0"."started", '%Y-%m') AS "of",
      '' AS "within"
    FROM "per_job" AS "t0"
    WHERE
      NOT (
        "t0"."censored"
      ) AND "t0"."book_s" > 0
  ) AS "t1"
  GROUP BY
    1,
    2,
    3
) AS "t2"
GROUP BY
  1,
  2
