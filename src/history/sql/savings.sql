-- What the decisions of the shop cost and save, by month and money. A unit saves its replacement once: what is repaired
-- again costs that much more, and what is replaced after all saves nothing. Neither does a unit that is left amiss, and of
-- one whose earlier test has no account it is not known what it has cost already.
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
), tested_after(record, later, family) AS (
    SELECT record.id, record.id, record.family
    FROM account JOIN record ON record.id = account.record AND record.bench = account.bench
    UNION
    SELECT tested_after.record, again.id, again.family
    FROM tested_after JOIN record AS again ON again.follows = tested_after.family AND again.counts
), left_amiss AS (
    SELECT DISTINCT tested_after.record
    FROM tested_after JOIN record ON record.id = tested_after.later
    WHERE record.n_worn + record.n_leaks + record.n_open + record.n_tight > 0
      AND NOT EXISTS (SELECT 1 FROM record AS again WHERE again.follows = tested_after.family AND again.counts)
      AND EXISTS (SELECT 1 FROM test
                  WHERE test.record = record.id AND test.bench = record.bench
                    AND test.verdict IN ('worn', 'leaks', 'open', 'tight')
                    AND (test.decided IS NULL OR test.decided = 'leave it as it is'))
)
SELECT SUBSTR(day, 1, 7) AS month, currency,
       SUM(CASE WHEN replaced THEN -1 WHEN repaired_before.record IS NULL THEN 1 ELSE 0 END),
       SUM(account.total),
       SUM(CASE WHEN replaced THEN -replacement WHEN repaired_before.record IS NULL THEN replacement ELSE 0 END
           - account.total),
       CAST(SUM(account.outside) AS BIGINT)
FROM asked_account AS account JOIN record ON record.id = account.record AND record.bench = account.bench
LEFT JOIN repaired_before ON repaired_before.record = account.record
LEFT JOIN left_amiss ON left_amiss.record = account.record
WHERE left_amiss.record IS NULL
  AND (repaired_before.record IS NOT NULL OR (NOT replaced AND record.follows IS NULL))
GROUP BY month, currency
ORDER BY month, currency
