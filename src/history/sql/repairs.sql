-- The circuits of a unit ($1) before and after what was decided about them.
SELECT name, decided, n, hold_now, lowest_before, lowest_after
FROM (SELECT earlier.circuit, earlier.decided, COUNT(*) AS n,
             COUNT(CASE WHEN later.verdict IN ('holds', 'right') THEN 1 END) AS hold_now,
             AVG(earlier.lowest) AS lowest_before, AVG(later.lowest) AS lowest_after
      FROM record AS again
      JOIN record AS first ON first.family = again.follows AND first.counts
      JOIN test AS earlier ON earlier.record = first.id AND earlier.decided IS NOT NULL
      JOIN test AS later ON later.record = again.id AND later.circuit = earlier.circuit
      WHERE again.unit = $1 AND again.follows IS NOT NULL AND again.counts
        AND later.verdict NOT IN ('unjudged', 'unfitted')
      GROUP BY earlier.circuit, earlier.decided) AS repaired
JOIN circuit ON circuit.id = repaired.circuit
