-- The verdicts on a circuit ($4) of a unit ($1) by technician, rig or month ($3), in first tests or in those again
-- ($2). Each bench is counted by itself first, wherever its rows lie.
SELECT label,
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
FROM (SELECT record.bench, CASE $3 WHEN 'technician' THEN technician WHEN 'rig' THEN rig ELSE SUBSTR(day, 1, 7) END AS label, verdict,
             COUNT(*) AS n, SUM(test.readings) AS readings, SUM(test.total) AS total,
             SUM(test.differing) AS differing
      FROM circuit JOIN test ON test.circuit = circuit.id AND test.bench = circuit.bench
      JOIN asked_record AS record ON record.id = test.record AND record.bench = test.bench
      WHERE circuit.unit = $1 AND circuit.name = $4 AND again = $2
      GROUP BY record.bench, label, verdict) AS of_benches
GROUP BY label
