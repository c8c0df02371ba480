-- The circuits of a unit ($1) before and after what was decided about them; it may be another bench that tested them again.
SELECT earlier_circuit.name, earlier.decided, COUNT(*),
       COUNT(CASE WHEN later.verdict IN ('holds', 'right') THEN 1 END),
       AVG(earlier.lowest), AVG(later.lowest)
FROM record AS again
JOIN test AS later ON later.record = again.id AND later.bench = again.bench
JOIN circuit AS later_circuit ON later_circuit.id = later.circuit AND later_circuit.bench = later.bench
JOIN record AS first ON first.family = again.follows AND first.counts
JOIN circuit AS earlier_circuit
     ON earlier_circuit.unit = $1 AND earlier_circuit.name = later_circuit.name AND earlier_circuit.bench = first.bench
JOIN test AS earlier ON earlier.record = first.id AND earlier.circuit = earlier_circuit.id AND earlier.bench = first.bench
WHERE again.unit = $1 AND again.follows IS NOT NULL AND again.counts AND later.verdict NOT IN ('unjudged', 'unfitted')
      AND first.unit = $1 AND earlier.decided IS NOT NULL
GROUP BY earlier_circuit.name, earlier.decided
