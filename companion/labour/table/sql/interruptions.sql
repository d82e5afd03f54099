-- by Ibis 12.0.0
SELECT
  "t3"."title",
  "t3"."step",
  "t3"."work",
  "t3"."reason",
  COUNT(*) AS "times",
  SUM("t3"."seconds") AS "seconds"
FROM (
  SELECT
    "t2"."title",
    "t2"."step",
    "t2"."work",
    "t2"."pair"."f1" AS "reason",
    "t2"."pair"."f2" AS "seconds"
  FROM (
    SELECT
      "t1"."title",
      "t1"."step",
      "t1"."work",
      UNNEST("t1"."pair") AS "pair"
    FROM (
      SELECT
        "t0"."title",
        "t0"."step",
        "t0"."work",
        CASE
          WHEN "t0"."interrupted_by" IS NULL OR "t0"."interrupted_for_s" IS NULL
          THEN NULL
          ELSE LIST_APPLY(
            RANGE(1, GREATEST(LENGTH("t0"."interrupted_by"), LENGTH("t0"."interrupted_for_s")) + 1),
            LAMBDA i : {'f1': "t0"."interrupted_by"[i], 'f2': "t0"."interrupted_for_s"[i]}
          )
        END AS "pair"
      FROM "steps" AS "t0"
      WHERE
        ARRAY_LENGTH("t0"."interrupted_by") > 0
    ) AS "t1"
  ) AS "t2"
) AS "t3"
GROUP BY
  1,
  2,
  3,
  4
