-- What a job's records ($1) that count found and no circuit carries, by their sessions.
SELECT session, text FROM record JOIN finding ON finding.record = record.id WHERE job = $1 AND counts ORDER BY session, n
