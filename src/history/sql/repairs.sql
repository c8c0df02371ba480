-- The circuits of a unit ($1) before and after what was decided about them; it may be another bench that tested them again.
SELECT earlier_circuit.name, earlier.decided, COUNT(*),
       COUNT(CASE WHEN later.verdict IN ('holds', 'right') THEN 1 END),
       AVG(earlier.lowest), AVG(later.lowest)
FROM asked_record AS again
JOIN test AS later ON later.record = again.id AND later.bench = again.bench
JOIN circuit AS later_circuit ON later_circuit.id = later.circuit AND later_circuit.bench = later.bench
JOIN record AS first ON first.family = again.follows AND first.counts
JOIN test AS earlier ON earlier.record = first.id AND earlier.bench = first.bench AND earlier.decided IS NOT NULL
JOIN circuit AS earlier_circuit
     ON earlier_circuit.id = earlier.circuit AND earlier_circuit.bench = earlier.bench
     AND earlier_circuit.unit = later_circuit.unit AND earlier_circuit.name = later_circuit.name
WHERE again.unit = $1 AND again.follows IS NOT NULL AND again.counts AND later.verdict NOT IN ('unjudged', 'unfitted')
GROUP BY earlier_circuit.name, earlier.decided
