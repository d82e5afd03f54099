-- by Ibis 12.0.0
SELECT
  "t3"."title",
  "t3"."shop",
  COUNT(*) AS "jobs",
  COUNT(DISTINCT "t3"."mechanic") AS "mechanics",
  SUM("t3"."active_s") AS "active_s",
  SUM("t3"."book_s") AS "book_s",
  AVG("t3"."off") AS "off",
  VARIANCE("t3"."off") AS "off_var"
FROM (
  SELECT
    "t2"."shop",
    "t2"."title",
    "t2"."job_number",
    "t2"."mechanic",
    "t2"."active_s",
    "t2"."book_s",
    LN(
      CASE
        WHEN "t2"."active_s" IS NULL
        THEN "t2"."active_s"
        ELSE GREATEST(1.0, "t2"."active_s")
      END / "t2"."book_s"
    ) AS "off"
  FROM (
    SELECT
      "t1"."shop",
      "t1"."title",
      "t1"."job_number",
      MAX("t1"."mechanic") AS "mechanic",
      SUM("t1"."active_s") AS "active_s",
      SUM("t1"."book_s") AS "book_s"
    FROM (
      SELECT
        *
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
) AS "t3"
GROUP BY
  1,
  2
