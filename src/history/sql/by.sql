-- The verdicts on a unit ($1) by technician, rig or month ($3), in first tests or in those again ($2).
SELECT CASE $3 WHEN 'technician' THEN technician WHEN 'rig' THEN rig ELSE month END,
       SUM(n_holds), SUM(n_right), SUM(n_worn), SUM(n_leaks), SUM(n_open), SUM(n_tight), SUM(n_retest), SUM(n_unjudged),
       SUM(n_unfitted), SUM(n_untested), SUM(readings), SUM(total)
FROM record
WHERE unit = $1 AND counts AND (follows IS NOT NULL) = $2
GROUP BY 1
