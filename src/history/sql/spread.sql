-- The standard readings of a circuit ($2) of a unit ($1) and their verdicts, in first tests or in those again ($3).
-- Those with limits of their own are of another place; those of which no two takes agree have no figure.
SELECT standard, verdict
FROM circuit JOIN asked_reading AS reading ON reading.circuit = circuit.id AND reading.bench = circuit.bench
WHERE unit = $1 AND name = $2 AND again = $3 AND apart IS NULL
