-- The verdicts on a unit ($1) by technician, rig or month ($3), in first tests or in those again ($2).
SELECT CASE $3 WHEN 'technician' THEN technician WHEN 'rig' THEN rig ELSE month END,
       SUM(holds), SUM(worn), SUM(leaks), SUM(retest), SUM(unjudged), SUM(untested), SUM(readings), SUM(total)
FROM record
WHERE unit = $1 AND counts AND (follows IS NOT NULL) = $2
GROUP BY 1
