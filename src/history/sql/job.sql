-- The circuits of a job's records ($1) that count, in the order in which they were tested: an amendment was tested
-- when what it amends was.
SELECT session, tested, technician, record.unit, circuit.name, verdict, decided, wanted, follows IS NOT NULL
FROM (SELECT record.*, COALESCE((SELECT MAX(checked) FROM rig_check WHERE rig_check.record = record.id), finished) AS tested
      FROM record WHERE job = $1 AND counts) AS record
LEFT JOIN test ON test.record = record.id
LEFT JOIN circuit ON circuit.id = test.circuit
ORDER BY tested, record.finished, session, circuit.id
