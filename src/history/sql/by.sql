-- The verdicts on a unit ($1) by technician, rig or month ($3), in first tests or in those again ($2). Each bench is
-- summed by itself first, wherever its rows lie.
SELECT label, CAST(SUM(n_holds) AS BIGINT), CAST(SUM(n_right) AS BIGINT), CAST(SUM(n_worn) AS BIGINT),
       CAST(SUM(n_leaks) AS BIGINT), CAST(SUM(n_open) AS BIGINT), CAST(SUM(n_tight) AS BIGINT),
       CAST(SUM(n_retest) AS BIGINT), CAST(SUM(n_unjudged) AS BIGINT), CAST(SUM(n_unfitted) AS BIGINT),
       CAST(SUM(n_untested) AS BIGINT), CAST(SUM(readings) AS BIGINT), SUM(total),
       CAST(SUM(differing) AS BIGINT)
FROM (SELECT bench, CASE $3 WHEN 'technician' THEN technician WHEN 'rig' THEN rig ELSE SUBSTR(day, 1, 7) END AS label,
             SUM(n_holds) AS n_holds, SUM(n_right) AS n_right, SUM(n_worn) AS n_worn, SUM(n_leaks) AS n_leaks,
             SUM(n_open) AS n_open, SUM(n_tight) AS n_tight, SUM(n_retest) AS n_retest, SUM(n_unjudged) AS n_unjudged,
             SUM(n_unfitted) AS n_unfitted, SUM(n_untested) AS n_untested, SUM(readings) AS readings, SUM(total) AS total,
             SUM(differing) AS differing
      FROM asked_record
      WHERE unit = $1 AND counts AND (follows IS NOT NULL) = $2
      GROUP BY bench, label) AS of_benches
GROUP BY label
