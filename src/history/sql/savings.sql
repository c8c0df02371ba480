-- What the decisions of the shop cost and save, by month and money. A unit saves its replacement once: what is repaired
-- again costs that much more, and what is replaced after all saves nothing. Neither does a unit that is left amiss, and
-- of one whose earlier test has no account it is not known what it has cost already.
WITH RECURSIVE tested_before(record, earlier, follows) AS (
    SELECT again.id, first.id, first.follows
    FROM record AS again JOIN account ON account.record = again.id AND account.bench = again.bench
    JOIN record AS first ON first.family = again.follows AND first.counts
    WHERE again.follows IS NOT NULL
    UNION
    SELECT tested_before.record, first.id, first.follows
    FROM tested_before JOIN record AS first ON first.family = tested_before.follows AND first.counts
), repaired_before AS (
    SELECT DISTINCT tested_before.record
    FROM tested_before JOIN account ON account.record = tested_before.earlier WHERE NOT replaced
), tested_later AS (
    SELECT follows AS family FROM record WHERE follows IS NOT NULL AND counts
), left_later(record, follows) AS (
    SELECT first.id, first.follows
    FROM record AS again JOIN record AS first ON first.family = again.follows AND first.counts
    WHERE again.follows IS NOT NULL AND again.counts AND again.n_left > 0
      AND again.family NOT IN (SELECT family FROM tested_later)
    UNION
    SELECT first.id, first.follows
    FROM left_later JOIN record AS first ON first.family = left_later.follows AND first.counts
)
SELECT SUBSTR(day, 1, 7) AS month, currency,
       SUM(CASE WHEN replaced THEN -1 WHEN repaired_before.record IS NULL THEN 1 ELSE 0 END),
       SUM(account.total),
       SUM(CASE WHEN replaced THEN -replacement WHEN repaired_before.record IS NULL THEN replacement ELSE 0 END
           - account.total),
       CAST(SUM(account.outside) AS BIGINT)
FROM asked_account AS account JOIN record ON record.id = account.record AND record.bench = account.bench
LEFT JOIN repaired_before ON repaired_before.record = account.record
WHERE (repaired_before.record IS NOT NULL OR (NOT replaced AND record.follows IS NULL))
  AND account.record NOT IN (SELECT record FROM left_later)
  AND NOT (n_left > 0 AND record.family NOT IN (SELECT family FROM tested_later))
GROUP BY month, currency
ORDER BY month, currency
