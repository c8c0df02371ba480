-- What other limits need to judge the readings of a circuit ($2) of a unit ($1) again, those of a record together.
SELECT session, verdict, confidence, standard, normal, rectangle, apart
FROM circuit JOIN reading ON reading.circuit = circuit.id AND reading.bench = circuit.bench
JOIN asked_record AS record ON record.id = reading.record AND record.bench = reading.bench
WHERE circuit.unit = $1 AND circuit.name = $2 AND verdict NOT IN ('unjudged', 'unfitted')
ORDER BY circuit.bench, reading.record
