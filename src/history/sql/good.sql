-- What a circuit ($2) of a unit ($1) read lowest in each record.
SELECT session, family, follows, lowest, verdict
FROM circuit JOIN test ON test.circuit = circuit.id AND test.bench = circuit.bench
JOIN asked_record AS record ON record.id = test.record AND record.bench = test.bench
WHERE circuit.unit = $1 AND circuit.name = $2 AND lowest IS NOT NULL
