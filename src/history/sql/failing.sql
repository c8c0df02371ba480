-- The verdicts on the circuits of a unit ($1), in first tests or in those again ($2). Each bench is counted by itself
-- first, wherever its rows lie.
SELECT name,
       CAST(SUM(CASE WHEN verdict = 'holds' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict = 'right' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict = 'worn' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict = 'leaks' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict = 'open' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict = 'tight' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict = 'retest' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict = 'unjudged' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict = 'unfitted' THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(CASE WHEN verdict IS NULL THEN n ELSE 0 END) AS BIGINT),
       CAST(SUM(readings) AS BIGINT),
       SUM(total),
       CAST(SUM(differing) AS BIGINT)
FROM (SELECT circuit.bench, name, verdict, COUNT(*) AS n, SUM(readings) AS readings, SUM(total) AS total,
             SUM(differing) AS differing
      FROM circuit JOIN asked_test AS test ON test.circuit = circuit.id AND test.bench = circuit.bench
      WHERE unit = $1 AND again = $2 GROUP BY circuit.bench, name, verdict) AS of_benches
GROUP BY name
