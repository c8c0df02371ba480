-- Takes so many ($1) of the documents of a mode ($2) that are pending off the list, in the order in which they
-- arrived: on a server only.
WITH taken AS (
    DELETE FROM pending
    WHERE number IN (SELECT number FROM pending JOIN document USING (number) WHERE mode = $2 ORDER BY number LIMIT $1)
    RETURNING number
)
SELECT session, text FROM taken JOIN document USING (number) ORDER BY number
