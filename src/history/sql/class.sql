-- The readings of the latest record of each technician of a unit ($1), but for those of which no two takes agree.
-- Names that differ by case and by blanks around them are one technician, who is called as in the latest.
SELECT technician, name, standard, session
FROM (SELECT id, bench, session, TRIM(technician) AS technician,
             ROW_NUMBER() OVER (PARTITION BY LOWER(TRIM(technician)) ORDER BY finished DESC, session DESC) AS back
      FROM asked_record WHERE unit = $1 AND counts) AS latest
JOIN test ON test.record = latest.id AND test.bench = latest.bench
JOIN reading ON reading.record = latest.id AND reading.circuit = test.circuit AND reading.bench = test.bench
JOIN circuit ON circuit.id = test.circuit AND circuit.bench = test.bench
WHERE back = 1 AND standard IS NOT NULL
ORDER BY LOWER(technician), circuit.id, n
