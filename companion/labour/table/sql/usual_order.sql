-- by Ibis 12.0.0
WITH "t1" AS (
  SELECT
    *
  FROM "steps" AS "t0"
  WHERE
    "t0"."attempt" = 1
), "t6" AS (
  SELECT
    "t5"."title",
    "t5"."step",
    "t5"."work",
    "t5"."at",
    "t5"."jobs",
    "t5"."usual",
    CASE
      WHEN "t5"."usual"
      THEN (
        ROW_NUMBER() OVER (
          PARTITION BY "t5"."title", "t5"."usual"
          ORDER BY "t5"."at" ASC, "t5"."step" ASC, "t5"."work" ASC
          ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING
        ) - 1
      ) + 1
      ELSE 0
    END AS "rank"
  FROM (
    SELECT
      "t4"."title",
      "t4"."step",
      "t4"."work",
      "t4"."at",
      "t4"."jobs",
      (
        "t4"."jobs" * 2
      ) >= MAX("t4"."jobs") OVER (
        PARTITION BY "t4"."title"
        ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING
      ) AS "usual"
    FROM (
      SELECT
        "t2"."title",
        "t2"."step",
        "t2"."work",
        AVG("t2"."began_at") AS "at",
        COUNT(*) AS "jobs"
      FROM "t1" AS "t2"
      GROUP BY
        1,
        2,
        3
    ) AS "t4"
  ) AS "t5"
)
SELECT
  "t20"."title",
  "t20"."step",
  "t20"."work",
  CASE
    WHEN "t20"."usual"
    THEN CAST("t20"."rank" AS DOUBLE)
    ELSE "t20"."after" + 0.5
  END AS "place",
  "t20"."at"
FROM (
  SELECT
    "t8"."title",
    "t8"."step",
    "t8"."work",
    "t8"."at",
    "t8"."jobs",
    "t8"."usual",
    "t8"."rank",
    "t19"."title" AS "title_right",
    "t19"."step" AS "step_right",
    "t19"."work" AS "work_right",
    "t19"."after"
  FROM "t6" AS "t8"
  LEFT OUTER JOIN (
    SELECT
      "t17"."title",
      "t17"."step",
      "t17"."work",
      AVG("t17"."after") AS "after"
    FROM (
      SELECT
        *
      FROM (
        SELECT
          "t15"."title",
          "t15"."step",
          "t15"."work",
          "t15"."job_number",
          "t15"."began_at",
          "t15"."usual",
          "t15"."rank",
          MAX("t15"."rank") OVER (
            PARTITION BY "t15"."title", "t15"."job_number"
            ORDER BY "t15"."began_at" ASC
            ROWS BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW
          ) AS "after"
        FROM (
          SELECT
            "t3"."title",
            "t3"."step",
            "t3"."work",
            "t3"."job_number",
            "t3"."began_at",
            "t9"."usual",
            "t9"."rank"
          FROM "t1" AS "t3"
          SEMI JOIN (
            SELECT DISTINCT
              *
            FROM (
              SELECT
                "t3"."title",
                "t3"."job_number"
              FROM "t1" AS "t3"
              SEMI JOIN (
                SELECT
                  *
                FROM "t6" AS "t7"
                WHERE
                  NOT (
                    "t7"."usual"
                  )
              ) AS "t11"
                ON "t3"."title" = "t11"."title"
                AND "t3"."step" = "t11"."step"
                AND "t3"."work" = "t11"."work"
            ) AS "t12"
          ) AS "t14"
            ON "t3"."title" = "t14"."title" AND "t3"."job_number" = "t14"."job_number"
          INNER JOIN "t6" AS "t9"
            ON "t3"."title" = "t9"."title"
            AND "t3"."step" = "t9"."step"
            AND "t3"."work" = "t9"."work"
        ) AS "t15"
      ) AS "t16"
      WHERE
        NOT (
          "t16"."usual"
        )
    ) AS "t17"
    GROUP BY
      1,
      2,
      3
  ) AS "t19"
    ON "t8"."title" = "t19"."title"
    AND "t8"."step" = "t19"."step"
    AND "t8"."work" = "t19"."work"
) AS "t20"
