-- What a circuit ($2) of a unit ($1) read lowest in each record.
SELECT session, family, follows, lowest, verdict
FROM record
JOIN circuit ON circuit.unit = record.unit
JOIN test ON test.record = record.id AND test.circuit = circuit.id
WHERE record.unit = $1 AND counts AND circuit.name = $2 AND lowest IS NOT NULL
