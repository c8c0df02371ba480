-- The circuits of a unit ($1) before and after what was decided about them; it may be another bench
-- that tested them again.
WITH later AS MATERIALIZED (
    SELECT follows, circuit.unit, name, test.verdict, lowest
    FROM asked_record AS record JOIN test ON test.record = record.id AND test.bench = record.bench
    JOIN circuit ON circuit.id = test.circuit AND circuit.bench = test.bench
    WHERE record.unit = $1 AND follows IS NOT NULL AND counts AND verdict NOT IN ('unjudged', 'unfitted')
), earlier AS MATERIALIZED (
    SELECT family, circuit.unit, name, decided, lowest
    FROM record JOIN test ON test.record = record.id AND test.bench = record.bench
    JOIN circuit ON circuit.id = test.circuit AND circuit.bench = test.bench
    WHERE record.unit = $1 AND counts AND decided IS NOT NULL
      AND family IN (SELECT follows FROM later)
)
SELECT earlier.name, decided, COUNT(*), COUNT(CASE WHEN verdict IN ('holds', 'right') THEN 1 END),
       AVG(earlier.lowest), AVG(later.lowest)
FROM later JOIN earlier ON earlier.family = later.follows AND earlier.unit = later.unit AND earlier.name = later.name
GROUP BY earlier.name, decided
