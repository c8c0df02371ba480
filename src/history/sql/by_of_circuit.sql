-- The verdicts on a circuit ($4) of a unit ($1) by technician, rig or month ($3), in first tests or in those again ($2).
SELECT CASE $3 WHEN 'technician' THEN technician WHEN 'rig' THEN rig ELSE month END,
       COUNT(CASE WHEN verdict = 'holds' THEN 1 END),
       COUNT(CASE WHEN verdict = 'right' THEN 1 END),
       COUNT(CASE WHEN verdict = 'worn' THEN 1 END),
       COUNT(CASE WHEN verdict = 'leaks' THEN 1 END),
       COUNT(CASE WHEN verdict = 'open' THEN 1 END),
       COUNT(CASE WHEN verdict = 'tight' THEN 1 END),
       COUNT(CASE WHEN verdict = 'retest' THEN 1 END),
       COUNT(CASE WHEN verdict = 'unjudged' THEN 1 END),
       COUNT(CASE WHEN verdict = 'unfitted' THEN 1 END),
       COUNT(CASE WHEN verdict IS NULL THEN 1 END),
       SUM(test.readings),
       SUM(test.total)
FROM circuit JOIN test ON test.circuit = circuit.id JOIN record ON record.id = test.record
WHERE circuit.unit = $1 AND circuit.name = $4 AND again = $2
GROUP BY 1
