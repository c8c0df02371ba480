-- What the decisions of the shop cost and save, by month and money. A unit saves its replacement once: what is repaired
-- again costs that much more, and what is replaced after all saves nothing.
WITH RECURSIVE tested_before(record, earlier) AS (
    SELECT again.id, first.id
    FROM account JOIN record AS again ON again.id = account.record AND again.bench = account.bench
    JOIN record AS first ON first.family = again.follows AND first.counts
    UNION
    SELECT tested_before.record, first.id
    FROM tested_before JOIN record AS again ON again.id = tested_before.earlier
    JOIN record AS first ON first.family = again.follows AND first.counts
), repaired_before AS (
    SELECT DISTINCT tested_before.record
    FROM tested_before JOIN account ON account.record = tested_before.earlier WHERE NOT replaced
)
SELECT SUBSTR(day, 1, 7) AS month, currency,
       SUM(CASE WHEN replaced THEN -1 WHEN repaired_before.record IS NULL THEN 1 ELSE 0 END),
       SUM(account.total),
       SUM(CASE WHEN replaced THEN -replacement WHEN repaired_before.record IS NULL THEN replacement ELSE 0 END
           - account.total),
       CAST(SUM(account.outside) AS BIGINT)
FROM asked_account AS account JOIN record ON record.id = account.record AND record.bench = account.bench
LEFT JOIN repaired_before ON repaired_before.record = account.record
WHERE NOT replaced OR repaired_before.record IS NOT NULL
GROUP BY month, currency
ORDER BY month, currency
