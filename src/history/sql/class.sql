-- The readings of the latest record of each technician of a unit ($1).
SELECT technician, name, standard
FROM (SELECT id, technician,
             ROW_NUMBER() OVER (PARTITION BY technician ORDER BY finished DESC, session DESC) AS back
      FROM record WHERE unit = $1 AND counts) AS latest
JOIN test ON test.record = latest.id
JOIN reading ON reading.record = latest.id AND reading.circuit = test.circuit
JOIN circuit ON circuit.id = test.circuit
WHERE back = 1
ORDER BY technician, circuit.id, n
