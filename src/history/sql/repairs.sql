-- The circuits of a unit ($1) before and after what was decided about them; it may be another bench that tested them again.
SELECT was.name, before.decided, COUNT(*), COUNT(CASE WHEN after.verdict IN ('holds', 'right') THEN 1 END),
       AVG(before.lowest), AVG(after.lowest)
FROM asked_record AS later
JOIN record AS earlier ON earlier.family = later.follows AND earlier.counts AND earlier.unit = later.unit
JOIN test AS before ON before.record = earlier.id AND before.bench = earlier.bench AND before.decided IS NOT NULL
JOIN circuit AS was ON was.id = before.circuit AND was.bench = before.bench
JOIN circuit AS now ON now.unit = was.unit AND now.name = was.name AND now.bench = later.bench
JOIN test AS after ON after.record = later.id AND after.circuit = now.id AND after.bench = later.bench
    AND after.verdict NOT IN ('unjudged', 'unfitted')
WHERE later.unit = $1 AND later.follows IS NOT NULL AND later.counts
GROUP BY was.name, before.decided
